"""Hand-written twins of the reads: an engine's contents, a lot's whereabouts, a set's history, what is on hand, the audit.

Their answers are plain tuples with the fields of the program's own answers, in the same order.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import fields
from typing import Any

from api.measure.by_hand import Refused, Rows, marks, one, read_date, read_moment, rows
from inventory.domain.whereabouts import Conservation

Answer = tuple[Any, ...]
#: Kinds of places that are more than our books' own.
_REAL = ("shelf", "cart", "bench", "engine", "van", "quarantine", "outside work", "old-unit crate")


def contents(place: int, rank: Mapping[str, int]) -> tuple[Answer, ...]:
    """What sits in an engine now; `rank`: use positions in map order."""
    there = rows(
        """SELECT s.id, s.name, i.id, n.number, n.name, n.tracked_by, l.code, r.number, i.member, kp.number, kl.code, i.base,
                  b.amount, t.serial_id
           FROM inventory_balance b JOIN inventory_spot s ON s.id = b.spot_id JOIN inventory_item i ON i.id = b.item_id
           JOIN inventory_part n ON n.id = i.part_id LEFT JOIN inventory_lot l ON l.id = i.lot_id
           LEFT JOIN inventory_serial r ON r.id = i.serial_id LEFT JOIN inventory_item k ON k.id = i.from_kit_id
           LEFT JOIN inventory_setmatch t ON t.serial_id = i.serial_id
           LEFT JOIN inventory_part kp ON kp.id = k.part_id LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
           WHERE b.place_id = %s AND b.amount > 0""",
        [place],
    )
    if any(row[-1] is not None for row in there):
        raise Refused("a set that was matched again")
    came = rows(
        """SELECT m.to_spot_id, m.item_id, m.amount, m.act_id, p.kind, j.number, fu.username, cu.username, f.reused, m.id
           FROM inventory_spot s JOIN inventory_movement m ON m.to_spot_id = s.id
           JOIN inventory_spot o ON o.id = m.from_spot_id JOIN inventory_place p ON p.id = o.place_id
           LEFT JOIN kits_fitting f ON f.spot_id = m.to_spot_id AND f.act_id = m.act_id AND f.item_id = m.item_id
           LEFT JOIN kits_job j ON j.id = f.job_id LEFT JOIN inventory_person fu ON fu.id = f.fitter_id
           LEFT JOIN inventory_person cu ON cu.id = f.checker_id WHERE s.place_id = %s ORDER BY m.id, f.id DESC""",
        [place],
    )
    acts = _acts({row[3] for row in came})
    newest = sorted((row for row in came if row[3] in acts), key=lambda row: (acts[row[3]][1], row[-1]), reverse=True)
    left = {(row[0], row[2]): row[-2] for row in there}
    since: dict[tuple[int, int], tuple[Any, ...]] = {}
    for row in newest:
        if left.get(row[:2], 0) > 0:
            since[row[:2]] = row
            left[row[:2]] -= row[2]
    said = []
    for spot, name, item, part, words, tracked, lot, serial, member, kit, kit_lot, base, amount, _ in there:
        arrival = since[spot, item]
        act, occurred, recorded, kind, by, subject = acts[arrival[3]]
        job, fitter, checker, reused = arrival[5:9]
        said.append(
            (name, item, part, words, lot or "", serial or "", member, " ".join(t for t in (kit, kit_lot) if t), base, amount,
             occurred, recorded, act, kind, by, fitter or "", checker or "", job or subject, bool(reused),
             arrival[4] == "before our records", tracked == "lot" and lot is None, ())
        )  # fmt: skip
    return tuple(sorted(said, key=lambda row: (rank.get(row[0], len(rank)), row[0], row[1])))


def _acts(ids: Collection[int]) -> dict[int, tuple[Any, ...]]:
    """Acts that count: (id, occurred, recorded, kind, who, subject); what took something back or was taken back is left out."""
    found = rows(
        f"""SELECT a.id, a.occurred_at, a.recorded_at, a.kind, u.username, a.subject FROM inventory_act a
            JOIN inventory_person u ON u.id = a.actor_id WHERE a.id IN ({marks(len(ids))}) AND a.corrects_id IS NULL""",
        [*ids],
    )
    gone = {
        row[0]
        for row in rows(f"SELECT corrects_id FROM inventory_act WHERE corrects_id IN ({marks(len(ids))})", [*ids])
    }
    return {row[0]: (row[0], read_moment(row[1]), read_moment(row[2]), *row[3:]) for row in found if row[0] not in gone}


def whereabouts(lot: int) -> Answer:
    """Where the pieces of a lot are, with the sum; a lot that is in no kit, in no opened tube, and came out of no engine."""
    head = one(
        """SELECT l.code, n.number, n.base, l.received_on, l.expires_on,
                  EXISTS (SELECT 1 FROM inventory_stop x LEFT JOIN inventory_free f ON f.stop_id = x.id
                          WHERE x.lot_id = l.id AND f.stop_id IS NULL),
                  EXISTS (SELECT 1 FROM inventory_innerlot k WHERE k.lot_id = l.id),
                  EXISTS (SELECT 1 FROM inventory_item i WHERE i.lot_id = l.id AND (i.tube_id IS NOT NULL OR i.member <> '')),
                  EXISTS (SELECT 1 FROM inventory_item i JOIN inventory_balance b ON b.item_id = i.id
                          WHERE i.part_id = l.part_id AND i.lot_id IS NULL AND i.serial_id IS NULL
                            AND i.from_kit_id IS NOT NULL AND i.tube_id IS NULL AND b.real AND b.amount > 0)
           FROM inventory_lot l JOIN inventory_part n ON n.id = l.part_id WHERE l.id = %s""",
        [lot],
    )
    if any(head[6:]):
        raise Refused("in kits, in tubes, or with pieces whose lot nobody knows")
    standings = rows(
        """SELECT p.code, p.kind, t.code, s.name, b.amount, b.held, p.id, s.id FROM inventory_item i
           JOIN inventory_balance b ON b.item_id = i.id JOIN inventory_place p ON p.id = b.place_id
           JOIN inventory_spot s ON s.id = b.spot_id LEFT JOIN inventory_site t ON t.id = p.site_id
           WHERE i.lot_id = %s ORDER BY p.code, s.name, b.item_id""",
        [lot],
    )
    kinds = {row[7]: row[1] for row in standings}
    steps = rows(
        """SELECT m.act_id, m.from_spot_id, m.to_spot_id, m.amount FROM inventory_item i
           JOIN inventory_movement m ON m.item_id = i.id WHERE i.lot_id = %s""",
        [lot],
    )
    acts = {row[0] for row in steps}
    back = rows(
        f"""SELECT id, corrects_id FROM inventory_act WHERE corrects_id IN ({marks(len(acts))})""",
        [*acts],
    )
    gone = {act for pair in back for act in pair}
    moved = [(kinds[out], kinds[into], amount) for act, out, into, amount in steps if act not in gone]
    standings = [row for row in standings if row[4] > 0 and row[1] in _REAL]
    total = _sum(moved, standings)
    if total["difference"] or any(kind == "engine" for kind, _, _ in moved):
        raise Refused("the sum is off, or pieces came out of engines")
    places: dict[tuple[str, ...], list[int]] = defaultdict(lambda: [0, 0])
    for code, kind, site, spot, amount, held, *_ in standings:
        if kind != "engine":
            places[code, kind, site or "", spot][0] += amount
            places[code, kind, site or "", spot][1] += held
    engines = tuple((row[6], row[0], row[3], row[4], "") for row in standings if row[1] == "engine")
    return (
        lot, head[0], head[1], head[2], read_date(head[3]), read_date(head[4]), bool(head[5]),
        tuple(total[field.name] for field in fields(Conservation)),
        tuple((*where, loose, 0, 0, 0, held) for where, (loose, held) in places.items()), engines, (), (), (), (), (), (),
    )  # fmt: skip


def _sum(moved: Rows, standings: Rows) -> dict[str, int]:
    out: dict[str, int] = defaultdict(int)
    into: dict[str, int] = defaultdict(int)
    for source, target, amount in moved:
        out[source] += int(amount)
        into[target] += int(amount)
    total: dict[str, int] = dict.fromkeys((field.name for field in fields(Conservation)), 0)
    total |= {
        "received_loose": out["supplier"],
        "found": out["before our records"] - into["before our records"],
        "brought": out["owner"],
        "counted_over": out["count difference"],
        "in_engines": sum(row[4] for row in standings if row[1] == "engine"),
        "loose": sum(row[4] for row in standings if row[1] != "engine"),
        "scrapped": into["scrap"] - out["scrap"],
        "returned": into["supplier"],
        "counted_short": into["count difference"],
        "given_to_owner": into["owner"],
        "opened": into["conversion"] - out["conversion"],
    }
    came = sum(total[name] for name in ("received_loose", "found", "brought", "counted_over"))
    total["difference"] = 2 * came - sum(total.values())
    return total


def history(part: str, serial: str) -> Answer:
    """The life of a set that was received, moved between real places, never broken and not matched again."""
    head = one(
        """SELECT r.id, r.number, n.number, m.serial_id IS NOT NULL, k.serial_id,
                  EXISTS (SELECT 1 FROM inventory_setmatchmember x JOIN inventory_item i ON i.id = x.item_id
                          WHERE i.serial_id = r.id)
                  OR EXISTS (SELECT 1 FROM inventory_setmatch t WHERE t.serial_id = r.id)
                  OR EXISTS (SELECT 1 FROM inventory_corevalue v WHERE v.serial_id = r.id) FROM inventory_serial r
           JOIN inventory_part n ON n.id = r.part_id LEFT JOIN inventory_matchedset m ON m.serial_id = r.id
           LEFT JOIN inventory_setbreak k ON k.serial_id = r.id WHERE n.number = %s AND r.number = %s""",
        [part, serial],
    )
    if head[4] is not None or head[5]:
        raise Refused("a broken set, or one that was matched again")
    steps = rows(
        """SELECT m.item_id, i.member, a.id, a.kind, a.subject, a.occurred_at, a.recorded_at, u.username, a.reason,
                  fp.code, fs.name, fp.kind, tp.code, ts.name, tp.kind, m.amount, a.corrects_id, c.id
           FROM inventory_item i JOIN inventory_movement m ON m.item_id = i.id JOIN inventory_act a ON a.id = m.act_id
           JOIN inventory_person u ON u.id = a.actor_id LEFT JOIN inventory_act c ON c.corrects_id = a.id
           JOIN inventory_spot fs ON fs.id = m.from_spot_id JOIN inventory_place fp ON fp.id = fs.place_id
           JOIN inventory_spot ts ON ts.id = m.to_spot_id JOIN inventory_place tp ON tp.id = ts.place_id
           WHERE i.serial_id = %s ORDER BY a.occurred_at, m.id""",
        [head[0]],
    )
    now = rows(
        """SELECT i.id, i.member, p.code, p.kind, s.name FROM inventory_item i JOIN inventory_balance b ON b.item_id = i.id
           JOIN inventory_place p ON p.id = b.place_id JOIN inventory_spot s ON s.id = b.spot_id
           WHERE i.serial_id = %s AND b.real AND b.amount > 0 ORDER BY i.member""",
        [head[0]],
    )
    holds = rows(
        """SELECT h.id, h.act_id, a.occurred_at, u.username, a.subject, p.code, h.needed_on, e.how, x.occurred_at, e.why
           FROM inventory_item i JOIN inventory_hold h ON h.item_id = i.id JOIN inventory_act a ON a.id = h.act_id
           JOIN inventory_person u ON u.id = a.actor_id JOIN inventory_spot s ON s.id = h.to_spot_id
           JOIN inventory_place p ON p.id = s.place_id LEFT JOIN inventory_holdend e ON e.hold_id = h.id
           LEFT JOIN inventory_act x ON x.id = e.act_id WHERE i.serial_id = %s ORDER BY h.id""",
        [head[0]],
    )
    return (
        head[0], head[1], head[2], bool(head[3]), True, "", (), "", "", "", None, "", tuple(now), tuple(_step(row) for row in steps),
        tuple((*row[:2], read_moment(row[2]), *row[3:6], read_date(row[6]), row[7] or "", read_moment(row[8]), row[9] or "")
              for row in holds),
        (), (), (),
    )  # fmt: skip


def _step(row: tuple[Any, ...]) -> Answer:
    sides: list[str] = []
    for kind, place, spot in ((row[11], row[9], row[10]), (row[14], row[12], row[13])):
        sides += [place, spot] if kind in _REAL else ["", ""]
    if row[14] not in _REAL or (row[11] not in _REAL and row[11] != "supplier"):
        raise Refused("more than received and moved")
    said = "received from the supplier" if row[11] == "supplier" else ""
    return (*row[:5], read_moment(row[5]), read_moment(row[6]), *row[7:9], *sides, said, *row[15:])


def on_hand(part: int) -> tuple[Answer, ...]:
    """Where a part stands in the shop, engines left out."""
    ids = [
        row[0] for row in rows("SELECT id FROM inventory_balance WHERE part_id = %s AND in_shop AND amount > 0", [part])
    ]
    found = rows(
        f"""SELECT b.item_id, t.code, p.code, p.kind, s.name, l.code, r.number, i.member, x.number, i.base,
                  CASE WHEN x.id IS NOT NULL THEN x.use_by ELSE l.expires_on END AS use_by, l.received_on, b.amount, b.held,
                  b.pickable, EXISTS (SELECT 1 FROM inventory_stop y LEFT JOIN inventory_free f ON f.stop_id = y.id
                      WHERE f.stop_id IS NULL AND (y.item_id = i.id OR y.lot_id = i.lot_id OR y.lot_id IN (
                      SELECT n.lot_id FROM inventory_innerlot n WHERE n.kit_lot_id = i.lot_id)))
           FROM inventory_balance b JOIN inventory_item i ON i.id = b.item_id JOIN inventory_place p ON p.id = b.place_id
           JOIN inventory_spot s ON s.id = b.spot_id LEFT JOIN inventory_site t ON t.id = p.site_id
           LEFT JOIN inventory_lot l ON l.id = i.lot_id LEFT JOIN inventory_serial r ON r.id = i.serial_id
           LEFT JOIN inventory_tube x ON x.id = i.tube_id WHERE b.id IN ({marks(len(ids))})
           ORDER BY COALESCE(t.code, ''), p.walk_order, p.code,
             COALESCE(CASE WHEN x.id IS NOT NULL THEN x.use_by ELSE l.expires_on END, '9999-12-31'), COALESCE(l.code, ''),
             s.name, b.item_id""",
        ids,
    )
    return tuple(
        (row[0], row[1] or "", *row[2:5], row[5] or "", row[6] or "", row[7], row[8] or "", row[9], read_date(row[10]),
         read_date(row[11]), row[12], row[13], row[12] - row[13] if row[14] and not row[15] else 0,
         row[3] == "quarantine", bool(row[15]))
        for row in found
    )  # fmt: skip


#: All checks in one statement, sums and open holds made once.
_AUDIT = """WITH sums AS MATERIALIZED (
              SELECT item_id, spot_id, SUM(amount) AS amount FROM (
                SELECT item_id, to_spot_id AS spot_id, amount FROM inventory_movement
                UNION ALL SELECT item_id, from_spot_id, -amount FROM inventory_movement) m GROUP BY item_id, spot_id),
            held AS MATERIALIZED (
              SELECT o.item_id, o.spot_id, SUM(o.amount) AS held FROM (
                SELECT h.item_id, h.from_spot_id AS spot_id, h.amount FROM inventory_hold h
                WHERE NOT EXISTS (SELECT 1 FROM inventory_holdend e WHERE e.hold_id = h.id)
                UNION ALL SELECT k.item_id, k.spot_id, k.amount FROM inventory_keptpiece k
                WHERE NOT EXISTS (SELECT 1 FROM inventory_keptend e WHERE e.kept_id = k.id)) o GROUP BY 1, 2),
            picked AS MATERIALIZED (
              SELECT e.act_id, h.item_id, h.from_spot_id, h.to_spot_id, SUM(e.picked) AS picked, MIN(h.id) AS hold_id
              FROM inventory_holdend e JOIN inventory_hold h ON h.id = e.hold_id WHERE e.picked > 0 GROUP BY 1, 2, 3, 4),
            stands AS MATERIALIZED (
              SELECT b.*, p.kind, p.real AS place_real, i.lot_id, i.serial_id, i.member, i.single AS item_single,
                     i.part_id AS item_part, o.place_id AS spot_place
              FROM inventory_balance b JOIN inventory_item i ON i.id = b.item_id JOIN inventory_spot o ON o.id = b.spot_id
              JOIN inventory_place p ON p.id = o.place_id),
            matched AS (
              SELECT x.item_id FROM inventory_setmatchmember x JOIN inventory_setmatch t ON t.serial_id = x.match_id
              WHERE NOT EXISTS (SELECT 1 FROM inventory_act c WHERE c.corrects_id = t.act_id))
            SELECT 'balance-is-the-sum', b.id FROM inventory_balance b LEFT JOIN sums s
              ON s.item_id = b.item_id AND s.spot_id = b.spot_id WHERE b.amount <> COALESCE(s.amount, 0)
            UNION ALL SELECT 'balance-exists', s.item_id FROM sums s LEFT JOIN inventory_balance b
              ON b.item_id = s.item_id AND b.spot_id = s.spot_id WHERE b.id IS NULL AND s.amount <> 0
            UNION ALL SELECT 'held-is-the-open-holds', b.id FROM inventory_balance b LEFT JOIN held h
              ON h.item_id = b.item_id AND h.spot_id = b.spot_id WHERE b.held <> COALESCE(h.held, 0)
            UNION ALL SELECT 'hold-has-a-balance', h.item_id FROM held h LEFT JOIN inventory_balance b
              ON b.item_id = h.item_id AND b.spot_id = h.spot_id WHERE b.id IS NULL
            UNION ALL SELECT 'kept-once-a-lot', k.lot_id FROM inventory_keptpiece k JOIN inventory_item i ON i.id = k.item_id
              WHERE NOT EXISTS (SELECT 1 FROM inventory_keptend e WHERE e.kept_id = k.id)
              GROUP BY k.lot_id HAVING COUNT(*) > 1 OR SUM(CASE WHEN i.lot_id = k.lot_id THEN 0 ELSE 1 END) > 0
            UNION ALL SELECT 'real-place-not-negative', id FROM stands
              WHERE place_real AND (amount < 0 OR held < 0 OR held > amount)
            UNION ALL SELECT 'balance-says-what-its-item-and-place-say', id FROM stands
              WHERE part_id <> item_part OR place_id <> spot_place OR real <> place_real OR single <> item_single
                 OR pickable <> (kind = 'shelf' AND member = '') OR in_shop <> (place_real AND kind <> 'engine')
            UNION ALL SELECT 'single-in-one-place', item_id FROM stands WHERE item_single AND place_real AND amount <> 0
              GROUP BY item_id HAVING COUNT(*) > 1 OR SUM(amount) <> 1
            UNION ALL SELECT 'set-whole-or-broken', s.serial_id FROM stands s LEFT JOIN inventory_setbreak k
              ON k.serial_id = s.serial_id WHERE s.serial_id IS NOT NULL AND s.place_real AND s.amount > 0
                 AND ((s.member <> '') <> (k.serial_id IS NOT NULL))
            UNION ALL SELECT 'broken-set-left-three', k.serial_id FROM inventory_setbreak k LEFT JOIN inventory_item i
              ON i.serial_id = k.serial_id AND i.member <> '' LEFT JOIN inventory_movement m ON m.item_id = i.id AND m.act_id = k.act_id
              LEFT JOIN inventory_spot o ON o.id = m.to_spot_id LEFT JOIN inventory_place p ON p.id = o.place_id
                AND p.kind = CASE WHEN i.member = k.damaged THEN 'scrap' WHEN k.missing LIKE '%%' || i.member || '%%'
                  THEN 'count difference' ELSE 'quarantine' END
              GROUP BY k.serial_id HAVING COUNT(p.id) <> 3
            UNION ALL SELECT 'hold-picked-within-amount', h.id FROM inventory_hold h JOIN inventory_holdend e
              ON e.hold_id = h.id WHERE e.picked > h.amount
            UNION ALL SELECT 'picked-hold-was-moved', t.hold_id FROM picked t LEFT JOIN (
                SELECT act_id, item_id, from_spot_id, to_spot_id, SUM(amount) AS amount FROM inventory_movement
                WHERE act_id IN (SELECT act_id FROM picked) GROUP BY 1, 2, 3, 4) m ON m.act_id = t.act_id AND m.item_id = t.item_id
                AND m.from_spot_id = t.from_spot_id AND m.to_spot_id = t.to_spot_id WHERE t.picked <> COALESCE(m.amount, 0)
            UNION ALL SELECT 'lot-adds-up-to-received', lot_id FROM stands WHERE lot_id IS NOT NULL
              GROUP BY lot_id HAVING SUM(amount) <> 0
            UNION ALL SELECT 'receipt-line-was-moved', t.id FROM (
                SELECT receipt_id, item_id, SUM(amount) AS amount, MIN(id) AS id FROM inventory_receiptline
                GROUP BY receipt_id, item_id) t LEFT JOIN (
                SELECT m.act_id, m.item_id, SUM(m.amount) AS amount FROM inventory_movement m WHERE m.from_spot_id IN (
                  SELECT o.id FROM inventory_spot o JOIN inventory_place p ON p.id = o.place_id WHERE p.kind = 'supplier')
                GROUP BY m.act_id, m.item_id) m ON m.act_id = t.receipt_id AND m.item_id = t.item_id
                WHERE t.amount <> COALESCE(m.amount, 0)
            UNION ALL SELECT 'member-of-one-set', item_id FROM matched GROUP BY item_id HAVING COUNT(*) > 1
            UNION ALL SELECT 'member-not-loose', m.item_id FROM matched m CROSS JOIN inventory_balance b
              JOIN inventory_place p ON p.id = b.place_id WHERE b.item_id = m.item_id AND p.real AND b.amount > 0
            UNION ALL SELECT 'made-up-kit-holds-what-went-in', a.act_id FROM inventory_kitassembly a
              JOIN inventory_movement m ON m.act_id = a.act_id JOIN inventory_item i ON i.id = m.item_id
              LEFT JOIN inventory_innerlot n ON n.kit_lot_id = a.lot_id AND n.lot_id = i.lot_id
              WHERE i.lot_id IS NOT NULL GROUP BY a.act_id, a.lot_id, a.boxes, i.lot_id, n.amount
              HAVING SUM(m.amount) <> a.boxes * CASE WHEN i.lot_id = a.lot_id THEN 1 ELSE COALESCE(n.amount, 0) END
            UNION ALL SELECT 'deposit-adds-up', d.id FROM inventory_deposit d WHERE d.outstanding_coins <> COALESCE((
              SELECT SUM(CASE WHEN (e.what = 'paid') = (e.reverses_id IS NULL) THEN e.coins ELSE -e.coins END)
              FROM inventory_depositentry e WHERE e.deposit_id = d.id), 0)
            UNION ALL SELECT 'entry-takes-back-its-like', r.id FROM inventory_depositentry r
              JOIN inventory_depositentry w ON w.id = r.reverses_id
              WHERE r.deposit_id <> w.deposit_id OR r.what <> w.what OR r.coins <> w.coins OR w.reverses_id IS NOT NULL
            UNION ALL SELECT 'act-has-an-outcome', a.id FROM inventory_act a
              WHERE NOT EXISTS (SELECT 1 FROM inventory_outcome o WHERE o.act_id = a.id)
            UNION ALL SELECT 'correction-reverses-every-row', c.id FROM inventory_act c WHERE c.corrects_id IS NOT NULL AND (
              EXISTS (SELECT 1 FROM inventory_movement m WHERE m.act_id = c.corrects_id AND NOT EXISTS (
                SELECT 1 FROM inventory_movement r WHERE r.act_id = c.id AND r.item_id = m.item_id
                  AND r.from_spot_id = m.to_spot_id AND r.to_spot_id = m.from_spot_id AND r.amount = m.amount))
              OR (SELECT COUNT(*) FROM inventory_movement m WHERE m.act_id = c.corrects_id)
              <> (SELECT COUNT(*) FROM inventory_movement r WHERE r.act_id = c.id))"""


def audit() -> Rows:
    """Every broken invariant as (its name, row id)."""
    return rows(_AUDIT)
