"""What the audit looks at in the rows of the rebuilds. The stores' app imports every module of this name when it is ready."""

from __future__ import annotations

from inventory.queries.audit import also_check
from inventory.queries.audit_checks import Check

_STANDING = """SELECT x.claim_id, '{what}' AS what, x.id FROM kits_claim{what} x
    WHERE NOT EXISTS (SELECT 1 FROM kits_claim{what} y WHERE y.instead_of_id = x.id AND y.claim_id = x.claim_id)"""

also_check(
    Check(
        "claim-closed-with-its-cause",
        "claimend",
        """SELECT e.id, e.claim_id FROM kits_claimend e
           LEFT JOIN kits_claimcause c ON c.id = e.cause_id LEFT JOIN kits_claimanswer a ON a.id = e.answer_id
           WHERE e.what = 'closed' AND (c.id IS NULL OR a.id IS NULL OR c.claim_id <> e.claim_id OR a.claim_id <> e.claim_id)""",
        "closes claim {0} without a cause or an answer of it",
    ),
    Check(
        "claim-ends-in-turn",
        "claimend",
        """SELECT e.id, e.claim_id, e.what, COALESCE(e.earlier, 'open') FROM (
               SELECT id, claim_id, what, LAG(what) OVER (PARTITION BY claim_id ORDER BY id) AS earlier FROM kits_claimend) e
           WHERE (e.what = 'opened again') = (e.earlier IS NULL OR e.earlier = 'opened again')""",
        "claim {0} was {1} when it was {2}",
    ),
    Check(
        "claim-has-one-cause-and-answer",
        "ownerclaim",
        f"""SELECT s.claim_id, COUNT(*), MAX(s.what) FROM ({_STANDING.format(what="cause")}
                UNION ALL {_STANDING.format(what="answer")}) s GROUP BY s.claim_id, s.what HAVING COUNT(*) > 1""",
        "{0} of its entries say what its {1} is, none of them in place of another",
    ),
    Check(
        "outside-loss-left-the-machinist",
        "outsideloss",
        """SELECT x.id, x.amount, w.item_id, COALESCE(SUM(m.amount), 0) FROM kits_outsideloss x
           JOIN kits_outsidework w ON w.id = x.outside_work_id
           LEFT JOIN inventory_movement m ON m.act_id = x.act_id AND m.item_id = w.item_id AND m.from_spot_id = w.spot_id
               AND m.to_spot_id IN (SELECT s.id FROM inventory_spot s JOIN inventory_place p ON p.id = s.place_id
                                    WHERE p.kind = 'count difference')
           GROUP BY x.id, x.amount, w.item_id HAVING x.amount <> COALESCE(SUM(m.amount), 0)""",
        "says that {0} of item {1} were lost there, its act took {2} from there",
    ),
    Check(
        "outside-lost-no-more-than-sent",
        "outsidework",
        """SELECT w.id, w.amount, SUM(x.amount) FROM kits_outsidework w JOIN kits_outsideloss x ON x.outside_work_id = w.id
           WHERE NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = x.act_id)
           GROUP BY w.id, w.amount HAVING SUM(x.amount) > w.amount""",
        "{0} were sent, {1} of them are on record as lost there",
    ),
)
