"""The invariants of the books, each as a query over the rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.queries.audit_sums import IN_TRANSIT
from inventory.queries.certificates import file_differs
from inventory.queries.value_points import not_the_walk


@dataclass(frozen=True, slots=True)
class Check:
    """An invariant as a query that returns (row id, values…) for each row that breaks it, and the sentence over the values.

    recompute   where no query can tell: takes a row, and returns the values where it breaks the invariant, None where it does not
    """

    invariant: str
    table: str
    sql: str
    sentence: str
    recompute: Callable[..., Sequence[Any] | None] | None = None


_SUMS = """
    SELECT item_id, spot_id, SUM(amount) AS amount FROM (
        SELECT item_id, to_spot_id AS spot_id, amount FROM inventory_movement
        UNION ALL SELECT item_id, from_spot_id, -amount FROM inventory_movement
    ) m GROUP BY item_id, spot_id
"""
_OPEN_HOLDS = """
    SELECT item_id, spot_id, SUM(amount) AS held FROM (
        SELECT h.item_id, h.from_spot_id AS spot_id, h.amount FROM inventory_hold h
        LEFT JOIN inventory_holdend e ON e.hold_id = h.id WHERE e.hold_id IS NULL
        UNION ALL SELECT k.item_id, k.spot_id, k.amount FROM inventory_keptpiece k
        LEFT JOIN inventory_keptend e ON e.kept_id = k.id WHERE e.kept_id IS NULL
    ) o GROUP BY item_id, spot_id
"""
_MATCHED = """
    SELECT x.item_id, x.match_id FROM inventory_setmatchmember x JOIN inventory_setmatch t ON t.serial_id = x.match_id
    WHERE NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = t.act_id)
"""
#: A row x of an act that was not taken back.
_COUNTS = "NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = x.act_id)"


def _within(invariant: str, table: str, rows: str, column: str, sentence: str) -> Check:
    """What the rows that count say of a line is no more, in all, than the line itself says."""
    sql = f"""SELECT l.id, l.{column}, SUM(x.{column}) FROM inventory_{table} l JOIN inventory_{rows} x ON x.line_id = l.id
              WHERE {_COUNTS} GROUP BY l.id, l.{column} HAVING SUM(x.{column}) > l.{column}"""
    return Check(invariant, table, sql, sentence)


CHECKS = (
    Check(
        "balance-is-the-sum",
        "balance",
        f"""SELECT b.id, b.amount, COALESCE(s.amount, 0), b.item_id, b.spot_id FROM inventory_balance b
            LEFT JOIN ({_SUMS}) s ON s.item_id = b.item_id AND s.spot_id = b.spot_id
            WHERE b.amount <> COALESCE(s.amount, 0)""",
        "says {0}, the movements add up to {1} (item {2}, spot {3})",
    ),
    Check(
        "balance-exists",
        "item",
        """SELECT m.item_id, m.spot_id, SUM(m.amount) FROM (
               SELECT item_id, to_spot_id AS spot_id, amount FROM inventory_movement
               UNION ALL SELECT item_id, from_spot_id, -amount FROM inventory_movement) m
           WHERE NOT EXISTS (SELECT 1 FROM inventory_balance b WHERE b.item_id = m.item_id AND b.spot_id = m.spot_id)
           GROUP BY m.item_id, m.spot_id HAVING SUM(m.amount) <> 0""",
        "has no balance at spot {0}, the movements add up to {1}",
    ),
    Check(
        "held-is-the-open-holds",
        "balance",
        f"""SELECT b.id, b.held, COALESCE(h.held, 0) FROM inventory_balance b
            LEFT JOIN ({_OPEN_HOLDS}) h ON h.item_id = b.item_id AND h.spot_id = b.spot_id
            WHERE b.held <> COALESCE(h.held, 0)""",
        "says {0} held, the open holds and what is kept add up to {1}",
    ),
    Check(
        "hold-has-a-balance",
        "item",
        f"""SELECT h.item_id, h.spot_id, h.held FROM ({_OPEN_HOLDS}) h
            LEFT JOIN inventory_balance b ON b.item_id = h.item_id AND b.spot_id = h.spot_id WHERE b.id IS NULL""",
        "is held at spot {0} ({1}), but never stood there",
    ),
    Check(
        "kept-once-a-lot",
        "lot",
        """SELECT k.lot_id, COUNT(*), SUM(CASE WHEN i.lot_id = k.lot_id THEN 0 ELSE 1 END) FROM inventory_keptpiece k
           JOIN inventory_item i ON i.id = k.item_id LEFT JOIN inventory_keptend e ON e.kept_id = k.id
           WHERE e.kept_id IS NULL
           GROUP BY k.lot_id HAVING COUNT(*) > 1 OR SUM(CASE WHEN i.lot_id = k.lot_id THEN 0 ELSE 1 END) > 0""",
        "{0} pieces of it are kept, {1} of them of another lot",
    ),
    Check(
        "real-place-not-negative",
        "balance",
        """SELECT b.id, b.amount, b.held FROM inventory_balance b JOIN inventory_place p ON p.id = b.place_id
           WHERE p.real AND (b.amount < 0 OR b.held < 0 OR b.held > b.amount)""",
        "amount {0}, held {1}",
    ),
    Check(
        "balance-says-what-its-item-and-place-say",
        "balance",
        """SELECT b.id, b.part_id, i.part_id, b.place_id, s.place_id FROM inventory_balance b
           JOIN inventory_item i ON i.id = b.item_id JOIN inventory_spot s ON s.id = b.spot_id
           JOIN inventory_place p ON p.id = s.place_id
           WHERE b.part_id <> i.part_id OR b.place_id <> s.place_id OR b.real <> p.real OR b.single <> i.single
              OR b.pickable <> (p.kind = 'shelf' AND i.member = '')
              OR b.in_shop <> (p.real AND p.kind <> 'engine')""",
        "part {0} against {1}, place {2} against {3}, or its marks differ",
    ),
    Check(
        "single-in-one-place",
        "item",
        """SELECT b.item_id, COUNT(*), SUM(b.amount) FROM inventory_balance b JOIN inventory_item i ON i.id = b.item_id
           JOIN inventory_place p ON p.id = b.place_id WHERE i.single AND p.real AND b.amount <> 0
           GROUP BY b.item_id HAVING COUNT(*) > 1 OR SUM(b.amount) <> 1""",
        "stands in {0} places, {1} in all",
    ),
    Check(
        "set-whole-or-broken",
        "serial",
        """SELECT i.serial_id, i.member, b.amount FROM inventory_item i JOIN inventory_balance b ON b.item_id = i.id
           JOIN inventory_place p ON p.id = b.place_id LEFT JOIN inventory_setbreak k ON k.serial_id = i.serial_id
           WHERE p.real AND b.amount > 0 AND ((i.member <> '' AND k.serial_id IS NULL)
              OR (i.member = '' AND k.serial_id IS NOT NULL))""",
        "member '{0}' stands in a real place ({1}) against what the break record says",
    ),
    Check(
        "broken-set-left-three",
        "serial",
        # By damage to scrap, what was not there to the count difference, the rest to quarantine: each member, by the act of the break.
        """SELECT k.serial_id, x.member FROM inventory_setbreak k
           CROSS JOIN (SELECT 'liner' AS member UNION ALL SELECT 'piston' UNION ALL SELECT 'pin') x
           WHERE NOT EXISTS (SELECT 1 FROM inventory_movement m JOIN inventory_item i ON i.id = m.item_id
               JOIN inventory_spot s ON s.id = m.to_spot_id JOIN inventory_place p ON p.id = s.place_id
               WHERE m.act_id = k.act_id AND i.serial_id = k.serial_id AND i.member = x.member
                 AND p.kind = CASE WHEN k.damaged = x.member THEN 'scrap'
                                   WHEN k.missing LIKE '%' || x.member || '%' THEN 'count difference' ELSE 'quarantine' END)""",
        "its {0} did not go where the break record says",
    ),
    Check(
        "member-of-one-set",
        "item",
        f"""SELECT m.item_id, COUNT(*) FROM ({_MATCHED}) m GROUP BY m.item_id HAVING COUNT(*) > 1""",
        "is a member of {0} sets at a time",
    ),
    Check(
        "member-not-loose",
        "item",
        # Asked of each member, of which there are few: never of every balance.
        f"""SELECT m.item_id, r.number, b.amount FROM ({_MATCHED}) m JOIN inventory_serial r ON r.id = m.match_id
            CROSS JOIN inventory_balance b WHERE b.item_id = m.item_id AND b.amount > 0
              AND (SELECT p.real FROM inventory_place p WHERE p.id = b.place_id)""",
        "went into set {0}, and {1} of it stands somewhere",
    ),
    Check(
        "hold-picked-within-amount",
        "hold",
        """SELECT h.id, h.amount, e.picked FROM inventory_hold h JOIN inventory_holdend e ON e.hold_id = h.id
           WHERE e.picked > h.amount""",
        "amount {0}, picked {1}",
    ),
    Check(
        "picked-hold-was-moved",
        "hold",
        # What does not agree is found first, by act and way; only then the holds it belongs to.
        """WITH broken AS MATERIALIZED (
             SELECT t.*, COALESCE(m.amount, 0) AS moved FROM (
               SELECT e.act_id, h.item_id, h.from_spot_id, h.to_spot_id, SUM(e.picked) AS picked FROM inventory_holdend e
               JOIN inventory_hold h ON h.id = e.hold_id WHERE e.picked > 0
               GROUP BY e.act_id, h.item_id, h.from_spot_id, h.to_spot_id) t
             LEFT JOIN (SELECT act_id, item_id, from_spot_id, to_spot_id, SUM(amount) AS amount FROM inventory_movement
                        WHERE act_id IN (SELECT act_id FROM inventory_holdend WHERE picked > 0)
                        GROUP BY act_id, item_id, from_spot_id, to_spot_id) m
               ON m.act_id = t.act_id AND m.item_id = t.item_id AND m.from_spot_id = t.from_spot_id
              AND m.to_spot_id = t.to_spot_id
             WHERE t.picked <> COALESCE(m.amount, 0))
           SELECT h.id, x.picked, x.moved FROM broken x JOIN inventory_holdend e ON e.act_id = x.act_id AND e.picked > 0
           JOIN inventory_hold h ON h.id = e.hold_id AND h.item_id = x.item_id AND h.from_spot_id = x.from_spot_id
            AND h.to_spot_id = x.to_spot_id""",
        "{0} were picked by its act, {1} moved",
    ),
    Check(
        "hold-ends-once",
        "hold",
        """SELECT hold_id, COUNT(*) FROM inventory_holdend GROUP BY hold_id HAVING COUNT(*) > 1""",
        "has {0} ends",
    ),
    Check(
        "lent-adds-up",
        "loan",
        # What was held for the donor is what stays held for it and what the borrower holds: the same thing at the same spot, by one act.
        """SELECT l.request_id, d.amount, COALESCE(r.amount, 0), COALESCE(g.amount, 0), q.amount FROM inventory_loan l
           JOIN inventory_loanrequest q ON q.id = l.request_id JOIN inventory_hold d ON d.id = q.hold_id
           LEFT JOIN inventory_holdend e ON e.hold_id = d.id AND e.act_id = l.act_id AND e.how = 'released'
           LEFT JOIN inventory_hold r ON r.id = l.rest_id AND r.act_id = l.act_id AND r.item_id = d.item_id
            AND r.from_spot_id = d.from_spot_id AND r.to_spot_id = d.to_spot_id
           LEFT JOIN (SELECT x.loan_id, SUM(h.amount) AS amount FROM inventory_lenthold x
               JOIN inventory_loan l2 ON l2.request_id = x.loan_id JOIN inventory_loanrequest q2 ON q2.id = x.loan_id
               JOIN inventory_hold d2 ON d2.id = q2.hold_id
               JOIN inventory_hold h ON h.id = x.hold_id AND h.act_id = l2.act_id AND h.item_id = d2.item_id
                AND h.from_spot_id = d2.from_spot_id AND h.to_spot_id = q2.to_spot_id
               GROUP BY x.loan_id) g ON g.loan_id = l.request_id
           WHERE e.hold_id IS NULL OR COALESCE(g.amount, 0) <> q.amount
              OR d.amount <> COALESCE(r.amount, 0) + COALESCE(g.amount, 0)""",
        "{0} were held for the donor; {1} stay, {2} are held for the borrower, {3} were asked for",
    ),
    Check(
        "lent-by-consent",
        "loan",
        """SELECT l.request_id, q.asked_of_id FROM inventory_loan l JOIN inventory_loanrequest q ON q.id = l.request_id
           JOIN inventory_act a ON a.id = q.act_id WHERE a.actor_id = q.asked_of_id OR NOT EXISTS (
             SELECT 1 FROM inventory_loananswer w JOIN inventory_act b ON b.id = w.act_id
             WHERE w.request_id = q.id AND w.agreed AND b.actor_id = q.asked_of_id)""",
        "was lent without the word of person {0}, who was asked",
    ),
    Check(
        "lot-adds-up-to-received",
        "lot",
        """SELECT l.id, l.code, -SUM(CASE WHEN p.kind = 'supplier' THEN b.amount ELSE 0 END), SUM(b.amount)
           FROM inventory_lot l JOIN inventory_item i ON i.lot_id = l.id JOIN inventory_balance b ON b.item_id = i.id
           JOIN inventory_place p ON p.id = b.place_id GROUP BY l.id, l.code HAVING SUM(b.amount) <> 0""",
        "{0}: {1} received, all places together differ from that by {2}",
    ),
    Check(
        "receipt-line-was-moved",
        "receiptline",
        """SELECT r.id, r.amount, COALESCE(m.amount, 0) FROM inventory_receiptline r LEFT JOIN (
               SELECT m.act_id, m.item_id, SUM(m.amount) AS amount FROM inventory_movement m WHERE m.from_spot_id IN (
                 SELECT s.id FROM inventory_spot s JOIN inventory_place p ON p.id = s.place_id WHERE p.kind = 'supplier')
               GROUP BY m.act_id, m.item_id) m
             ON m.act_id = r.receipt_id AND m.item_id = r.item_id
           JOIN (SELECT receipt_id, item_id, SUM(amount) AS amount FROM inventory_receiptline GROUP BY receipt_id, item_id) t
             ON t.receipt_id = r.receipt_id AND t.item_id = r.item_id
           WHERE t.amount <> COALESCE(m.amount, 0)""",
        "{0} on the receipt, {1} moved in",
    ),
    Check(
        "made-up-kit-holds-what-went-in",
        "kitassembly",
        # By lot: what the boxes are said to hold against what their act put in; and the boxes themselves.
        """WITH moved AS (
             SELECT a.act_id, i.lot_id, a.lot_id AS box, SUM(CASE WHEN tp.kind = 'conversion' THEN m.amount ELSE 0 END) AS went,
                    SUM(CASE WHEN fp.kind = 'conversion' THEN m.amount ELSE 0 END) AS came
             FROM inventory_kitassembly a JOIN inventory_movement m ON m.act_id = a.act_id
             JOIN inventory_item i ON i.id = m.item_id AND i.lot_id IS NOT NULL
             JOIN inventory_spot ts ON ts.id = m.to_spot_id JOIN inventory_place tp ON tp.id = ts.place_id
             JOIN inventory_spot fs ON fs.id = m.from_spot_id JOIN inventory_place fp ON fp.id = fs.place_id
             GROUP BY a.act_id, i.lot_id, a.lot_id)
           SELECT a.act_id, l.code, n.amount * a.boxes, COALESCE(m.went, 0) FROM inventory_kitassembly a
           JOIN inventory_innerlot n ON n.kit_lot_id = a.lot_id JOIN inventory_lot l ON l.id = n.lot_id
           LEFT JOIN moved m ON m.act_id = a.act_id AND m.lot_id = n.lot_id WHERE n.amount * a.boxes <> COALESCE(m.went, 0)
           UNION ALL
           SELECT m.act_id, l.code, 0, m.went FROM moved m JOIN inventory_lot l ON l.id = m.lot_id
           WHERE m.lot_id <> m.box AND NOT EXISTS (
               SELECT 1 FROM inventory_innerlot n WHERE n.kit_lot_id = m.box AND n.lot_id = m.lot_id)
           UNION ALL
           SELECT a.act_id, l.code, a.boxes, COALESCE(m.came, 0) FROM inventory_kitassembly a
           JOIN inventory_lot l ON l.id = a.lot_id LEFT JOIN moved m ON m.act_id = a.act_id AND m.lot_id = a.lot_id
           WHERE a.boxes <> COALESCE(m.came, 0)""",
        "of lot {0}, {1} by the record of its boxes, {2} moved by its act",
    ),
    Check(
        "order-line-delivered-is-its-own",
        "receiptline",
        # Another part only where the two records were joined, by which deliveries are booked under the one that is kept.
        """SELECT r.id, o.number, i.part_id, l.part_id FROM inventory_receiptline r
           JOIN inventory_orderline l ON l.id = r.order_line_id JOIN inventory_purchaseorder o ON o.id = l.order_id
           JOIN inventory_item i ON i.id = r.item_id JOIN inventory_receipt t ON t.act_id = r.receipt_id
           WHERE t.supplier_id <> o.supplier_id OR (i.part_id <> l.part_id AND NOT EXISTS (
             SELECT 1 FROM inventory_partjoin j WHERE j.joined_id = l.part_id AND j.kept_id = i.part_id))""",
        "answers order {0} with part {1} where {2} was ordered, or came from another supplier",
    ),
    Check(
        "delivered-is-accepted-rejected-or-in-inspection",
        "receiptline",
        f"""SELECT r.id, r.amount, COALESCE(a.amount, 0), COALESCE(b.before, 0), COALESCE(b.after, 0),
                   COALESCE(g.amount, 0)
            FROM inventory_receiptline r LEFT JOIN inventory_setaside s ON s.line_id = r.id
            LEFT JOIN (SELECT x.line_id, SUM(x.amount) AS amount FROM inventory_accepted x WHERE {_COUNTS}
                       GROUP BY x.line_id) a ON a.line_id = r.id
            LEFT JOIN (SELECT x.line_id, SUM(CASE WHEN x.after THEN 0 ELSE x.amount END) AS before,
                              SUM(CASE WHEN x.after THEN x.amount ELSE 0 END) AS after
                       FROM inventory_reject x WHERE {_COUNTS} GROUP BY x.line_id) b ON b.line_id = r.id
            LEFT JOIN (SELECT x.line_id, SUM(x.amount) AS amount FROM inventory_asidegone x WHERE {_COUNTS}
                       GROUP BY x.line_id) g ON g.line_id = r.id
            WHERE COALESCE(a.amount, 0) + COALESCE(b.before, 0) + COALESCE(g.amount, 0) > r.amount
               OR (s.line_id IS NULL AND COALESCE(a.amount, 0) + COALESCE(g.amount, 0) > 0)
               OR COALESCE(b.after, 0) > CASE WHEN s.line_id IS NULL THEN r.amount - COALESCE(b.before, 0)
                                              ELSE COALESCE(a.amount, 0) END""",
        "{0} delivered, {1} accepted after inspection, {2} rejected before it was accepted and {3} after, {4} gone",
    ),
    _within("given-up-within-ordered", "orderline", "orderlineend", "amount", "{0} ordered, {1} given up"),
    Check(
        "returned-within-rejected",
        "reject",
        f"""SELECT b.id, b.amount, SUM(r.amount) FROM inventory_reject b JOIN inventory_supplierreturnline r ON r.reject_id = b.id
            JOIN inventory_supplierreturn x ON x.act_id = r.sent_id WHERE {_COUNTS}
            GROUP BY b.id, b.amount HAVING SUM(r.amount) > b.amount""",
        "{0} rejected, {1} sent back for it",
    ),
    Check(
        "returned-line-was-moved",
        "supplierreturnline",
        """SELECT MIN(r.id), SUM(r.amount), COALESCE(MAX(m.amount), 0) FROM inventory_supplierreturnline r LEFT JOIN (
               SELECT m.act_id, m.item_id, SUM(m.amount) AS amount FROM inventory_movement m WHERE m.to_spot_id IN (
                 SELECT s.id FROM inventory_spot s JOIN inventory_place p ON p.id = s.place_id WHERE p.kind = 'supplier')
               GROUP BY m.act_id, m.item_id) m ON m.act_id = r.sent_id AND m.item_id = r.item_id
           GROUP BY r.sent_id, r.item_id HAVING SUM(r.amount) <> COALESCE(MAX(m.amount), 0)""",
        "{0} on the return note, {1} moved out",
    ),
    _within(
        "credit-within-claim", "supplierreturnline", "credit", "coins", "{0} coins asked for, {1} credited or refused"
    ),
    Check(
        "in-transit-is-what-the-note-says",
        "transfernote",
        IN_TRANSIT,
        "of item {0}, {1} are in transit by its lines, {2} stand in the van",
    ),
    Check(
        "certificate-file-is-as-entered",
        "certificatefile",
        "SELECT sha256, size_bytes FROM inventory_certificatefile ORDER BY sha256",
        "has {0} bytes on record; {1} are kept, with the checksum {2}",
        recompute=file_differs,
    ),
    Check(
        "deposit-adds-up",
        "deposit",
        # Paid less refunded less lost; an entry that takes another back counts the other way round.
        """SELECT d.id, d.outstanding_coins, COALESCE(e.coins, 0) FROM inventory_deposit d LEFT JOIN (
               SELECT deposit_id, SUM(coins * CASE WHEN (what = 'paid') = (reverses_id IS NULL) THEN 1 ELSE -1 END) AS coins
               FROM inventory_depositentry GROUP BY deposit_id) e ON e.deposit_id = d.id
           WHERE d.outstanding_coins <> COALESCE(e.coins, 0)""",
        "{0} coins are said to be outstanding, its entries add up to {1}",
    ),
    Check(
        "entry-takes-back-its-like",
        "depositentry",
        """SELECT r.id, r.coins, w.coins FROM inventory_depositentry r JOIN inventory_depositentry w ON w.id = r.reverses_id
           WHERE r.deposit_id <> w.deposit_id OR r.what <> w.what OR r.coins <> w.coins OR w.reverses_id IS NOT NULL""",
        "takes {0} coins back where {1} were entered, or another deposit's",
    ),
    Check(
        "demand-mark-says-something-new",
        "demandmark",
        # The first word on a month marks it, each later one says the opposite of the one before.
        """SELECT m.act_id, m.month FROM (SELECT act_id, month, CASE WHEN exceptional THEN 1 ELSE 0 END AS said,
               LAG(CASE WHEN exceptional THEN 1 ELSE 0 END) OVER (PARTITION BY part_id, month ORDER BY act_id) AS before
               FROM inventory_demandmark) m
           WHERE m.said = COALESCE(m.before, 0)""",
        "says of {0} what was said of it already",
    ),
    Check(
        "act-has-an-outcome",
        "act",
        """SELECT a.id, a.kind FROM inventory_act a LEFT JOIN inventory_outcome o ON o.act_id = a.id
           WHERE o.act_id IS NULL""",
        "{0} has no stored outcome",
    ),
    Check(
        "correction-reverses-every-row",
        "act",
        """SELECT c.id, c.corrects_id FROM inventory_act c WHERE c.corrects_id IS NOT NULL AND (
             EXISTS (SELECT 1 FROM inventory_movement m WHERE m.act_id = c.corrects_id AND NOT EXISTS (
                 SELECT 1 FROM inventory_movement r WHERE r.act_id = c.id AND r.item_id = m.item_id
                 AND r.from_spot_id = m.to_spot_id AND r.to_spot_id = m.from_spot_id AND r.amount = m.amount))
             OR (SELECT COUNT(*) FROM inventory_movement m WHERE m.act_id = c.corrects_id)
              <> (SELECT COUNT(*) FROM inventory_movement r WHERE r.act_id = c.id))""",
        "does not reverse act {0} row by row",
    ),
    Check(
        "correction-has-its-moment",
        "act",
        """SELECT c.id, c.occurred_at, c.corrects_id, a.occurred_at FROM inventory_act c
           JOIN inventory_act a ON a.id = c.corrects_id WHERE c.occurred_at <> a.occurred_at""",
        "takes effect at {0}, what it takes back, act {1}, at {2}",
    ),
    Check(
        "value-carried-is-the-walk",
        "valuecarried",
        """SELECT v.id FROM inventory_valuecarried v
           WHERE v.acts = (SELECT COUNT(*) FROM inventory_act a WHERE a.occurred_at <= v.upto) ORDER BY v.id""",
        "up to {0} it is not what the walk comes to: {1}",
        not_the_walk,
    ),
)
