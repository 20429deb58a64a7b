"""Hand-written twins of holding, picking and handing over a kit: the same decision, rows and answer with few statements.

They know the plain case only, and refuse where something stands that would need more (findings, choices, parts that go
back, replacements, shorts). Nothing of the services is used here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from api.measure.by_hand import (
    Refused,
    begin_act,
    bump,
    do,
    document,
    end_act,
    flat,
    job_for_update,
    json_kind,
    lock_parts,
    marks,
    moment,
    move,
    on_postgresql,
    one,
    read_date,
    read_json,
    rows,
    values,
)
from api.measure.twin_list import Line, cart_document, lines_of, list_document
from inventory.queries.days import shop_day

Body = dict[str, Any]
#: What may not stand on a job that the twin holds for.
_PLAIN = ("jobfinding", "jobchoice", "removal", "inspection", "notneeded", "jobhold")

_OPERATIONS = """
    SELECT r.id, p.code, r.revision FROM kits_joboperation o
    JOIN kits_procedurerevision r ON r.id = o.procedure_revision_id JOIN kits_procedure p ON p.id = r.procedure_id
    WHERE o.job_id = %s ORDER BY o.id"""


def hold(*, actor: int, key: UUID, at: datetime, job: str) -> Body:
    """The twin of holding a kit."""
    with transaction.atomic(durable=True):
        request: Body = {"job": job, "steps": [], "until": None, "lots": {}, "lots_reason": ""}
        act = begin_act("hold", key, actor, at, job, request)
        row = job_for_update("j.number = %s", [job])
        job_id, _, version, site, fit_on, _, cart_spot = row[:7]
        exists = ", ".join(f"EXISTS(SELECT 1 FROM kits_{table} WHERE job_id = %s)" for table in _PLAIN)
        *plain, held_before, margin, tray_limit = one(
            f"""SELECT {exists}, (SELECT COUNT(*) FROM kits_picklist WHERE job_id = %s),
                (SELECT value FROM inventory_shopsetting WHERE name = 'margin_days'),
                (SELECT value FROM inventory_shopsetting WHERE name = 'tray_limit_mg')""",
            [job_id] * (len(_PLAIN) + 1),
        )
        operations = rows(_OPERATIONS, [job_id])
        if any(plain) or held_before or len(operations) != 1:
            raise Refused("more than a plain job")
        revision, code, _ = operations[0]
        lines = lines_of(revision, code)
        lock_parts(site, [line.part for line in lines])
        fits_on = read_date(fit_on) or date.max
        good = max(fits_on, shop_day(at)) + timedelta(days=14 if margin is None else read_json(margin))
        taken = _allocate(lines, site, good)
        listed = list_document(row, operations[0], lines, fits_on)
        cart = cart_document(lines, 12_000_000 if tray_limit is None else read_json(tray_limit))
        body = _write_holds(
            act, at, job_id, cart_spot, held_before + 1, fits_on, taken, listed | {"steps": [], "cart": cart}
        )
        bump(job_id, version)
        body |= {"open_choices": [], "buy_in": [], "tools": listed["tools"], "cart": cart}
        end_act(act, body)
        return body


@dataclass(frozen=True, slots=True)
class _Taken:
    line: Line
    standing: tuple[Any, ...]
    shares: list[list[Any]]

    @property
    def amount(self) -> int:
        return sum(int(share[2]) for share in self.shares)


def _allocate(lines: Sequence[Line], site: int, good: date) -> list[_Taken]:
    """First to expire first among what is good, in one lot where a lot has enough.

    "+ 0" keeps SQLite from starting at all items that are no tube, or at all places of the site.
    """
    parts = [line.part for line in lines]
    free = f"SELECT id FROM inventory_balance WHERE pickable AND amount > 0 AND part_id IN ({marks(len(parts))})"
    ids = [row[0] for row in rows(free, parts)]
    standings = rows(
        f"""SELECT b.part_id, b.item_id, b.spot_id, b.amount - b.held, l.code, s.number, l.expires_on, p.code, o.name
            FROM inventory_balance b JOIN inventory_item i ON i.id = b.item_id JOIN inventory_place p ON p.id = b.place_id
            JOIN inventory_spot o ON o.id = b.spot_id LEFT JOIN inventory_lot l ON l.id = i.lot_id
            LEFT JOIN inventory_serial s ON s.id = i.serial_id
            WHERE b.id IN ({marks(len(ids))}) AND b.amount > b.held AND p.site_id + 0 = %s
              AND i.tube_id + 0 IS NULL AND (l.expires_on IS NULL OR l.expires_on >= %s)
              AND NOT EXISTS (SELECT 1 FROM inventory_stop t LEFT JOIN inventory_free f ON f.stop_id = t.id
                  WHERE f.stop_id IS NULL AND (t.item_id = i.id OR t.lot_id = i.lot_id OR t.lot_id IN (
                  SELECT n.lot_id FROM inventory_innerlot n WHERE n.kit_lot_id = i.lot_id)))
            ORDER BY b.part_id, COALESCE(l.expires_on, '9999-12-31'), l.received_on, l.code, s.number, p.walk_order, b.item_id,
                     b.spot_id""",
        [*ids, site, good if on_postgresql() else good.isoformat()],
    )
    by_part: dict[int, list[tuple[Any, ...]]] = {}
    for standing in standings:
        by_part.setdefault(standing[0], []).append(standing)
    taken = []
    for line in lines:
        shelf = by_part.get(line.part, [])
        whole = next((standing for standing in shelf if standing[3] >= line.amount), None)
        if whole is not None:
            taken.append(_Taken(line, whole, [[name, 1, amount] for name, amount in line.uses]))
            continue
        if len(shelf) < len(line.uses) or any(amount > 1 for _, amount in line.uses):
            raise Refused(f"{line.part_number} is short or split")
        for (name, amount), standing in zip(line.uses, shelf, strict=False):
            taken.append(_Taken(line, standing, [[name, 1, amount]]))
    return sorted(taken, key=lambda one: (one.line.number, one.standing[1], one.standing[2]))


def _write_holds(
    act: int, at: datetime, job: int, cart: int, number: int, fit_on: date, taken: Sequence[_Taken], listed: Body
) -> Body:
    day = fit_on if on_postgresql() else fit_on.isoformat()
    made = rows(
        f"""INSERT INTO inventory_hold (act_id, item_id, from_spot_id, to_spot_id, amount, needed_on, until)
            VALUES {values(len(taken), 7)} RETURNING item_id, from_spot_id, id""",
        flat([(act, one.standing[1], one.standing[2], cart, one.amount, day, None) for one in taken]),
    )
    ids = {(item, spot): hold for item, spot, hold in made}
    changed = do(
        f"""UPDATE inventory_balance SET held = inventory_balance.held + d.amount,
                last_at = {"GREATEST" if on_postgresql() else "MAX"}(inventory_balance.last_at, %s)
            FROM (WITH v(item, spot, amount) AS (VALUES {values(len(taken), 3, ("bigint",) * 3)}) SELECT * FROM v) AS d
            WHERE inventory_balance.item_id = d.item AND inventory_balance.spot_id = d.spot""",
        [moment(at), *flat([(one.standing[1], one.standing[2], one.amount) for one in taken])],
    )
    if changed != len(taken):
        raise Refused("a balance is missing")
    (pick_list,) = one(
        "INSERT INTO kits_picklist (job_id, act_id, number, document, last_tray)"
        f" VALUES {values(1, 5, ('', '', '', json_kind(), ''))} RETURNING id",
        [job, act, number, document(listed), len(listed["cart"]["trays"])],
    )
    trays = {one["line"]: tray["tray"] for tray in listed["cart"]["trays"] for one in tray["lines"]}
    kinds = ("", "", "", "", json_kind())
    do(
        f"""INSERT INTO kits_jobhold (hold_id, job_id, pick_list_id, wanted_id, positions, on_approval, tray, line)
            VALUES {values(len(taken), 8, kinds)}""",
        flat(
            [
                (ids[one.standing[1], one.standing[2]], job, pick_list, one.line.part, document(one.shares), False,
                 trays.get(one.line.number, 0), one.line.number)
                for one in taken
            ]
        ),
    )  # fmt: skip
    held = []
    for one_taken in taken:
        _, item, spot, _, lot, serial, use_by, place, spot_name = one_taken.standing
        use = read_date(use_by)
        held.append(
            {
                "hold": ids[item, spot], "part": one_taken.line.part_number, "wanted": one_taken.line.part_number,
                "item": item, "lot": lot or "", "serial": serial or "", "tube": "",
                "use_by": use.isoformat() if use else None, "place": place, "spot": spot_name,
                "amount": one_taken.amount, "positions": one_taken.shares, "tray": trays.get(one_taken.line.number, 0),
                "on_approval": False, "look": "",
            }
        )  # fmt: skip
    return {"pick_list": pick_list, "number": number, "held": held, "shorts": []}


def _plain_text(text: str) -> str:
    return "".join(letter for letter in text.upper() if letter.isalnum())


def pick(*, actor: int, key: UUID, at: datetime, pick_list: int, scans: Sequence[Mapping[str, Any]], job: str) -> Body:
    """The twin of picking: each scan {"hold", "scanned"} for the whole line; `job` as it is written over the act."""
    with transaction.atomic(durable=True):
        asked = [{"hold": scan["hold"], "scanned": scan["scanned"], "amount": None, "bin": ""} for scan in scans]
        act = begin_act("pick", key, actor, at, job, {"pick_list": pick_list, "scans": asked})
        where = "j.id = (SELECT job_id FROM kits_picklist WHERE id = %s)"
        job_id, number, version, _, fit_on, _, cart_spot = job_for_update(where, [pick_list])[:7]
        ids = [scan["hold"] for scan in scans]
        wanted = marks(len(ids))
        pairs = rows(
            f"""SELECT i.part_id, p.site_id FROM inventory_hold h JOIN inventory_item i ON i.id = h.item_id
                JOIN inventory_spot s ON s.id = h.from_spot_id JOIN inventory_place p ON p.id = s.place_id
                WHERE h.id IN ({wanted})""",
            ids,
        )
        lock_parts(pairs[0][1], [pair[0] for pair in pairs])
        found = rows(
            f"""SELECT h.id, h.item_id, h.from_spot_id, h.to_spot_id, h.amount, n.number, l.code, s.number, t.number,
                       COALESCE(t.use_by, l.expires_on), p.code, e.hold_id, k.pick_list_id,
                       EXISTS (SELECT 1 FROM inventory_stop x LEFT JOIN inventory_free f ON f.stop_id = x.id
                           WHERE f.stop_id IS NULL AND (x.item_id = i.id OR x.lot_id = i.lot_id OR x.lot_id IN (
                           SELECT m.lot_id FROM inventory_innerlot m WHERE m.kit_lot_id = i.lot_id)))
                FROM inventory_hold h JOIN inventory_item i ON i.id = h.item_id JOIN inventory_part n ON n.id = i.part_id
                JOIN inventory_spot o ON o.id = h.from_spot_id JOIN inventory_place p ON p.id = o.place_id
                JOIN kits_jobhold k ON k.hold_id = h.id LEFT JOIN inventory_holdend e ON e.hold_id = h.id
                LEFT JOIN inventory_lot l ON l.id = i.lot_id LEFT JOIN inventory_serial s ON s.id = i.serial_id
                LEFT JOIN inventory_tube t ON t.id = i.tube_id WHERE h.id IN ({wanted})""",
            ids,
        )
        holds = {row[0]: row for row in found}
        day = max(read_date(fit_on) or date.max, shop_day(at))
        for scan in scans:
            row = holds[scan["hold"]]
            label = row[7] or row[8] or row[6] or row[5]
            use_by = read_date(row[9])
            if row[11] is not None or row[12] != pick_list or row[13] or (use_by is not None and use_by < day):
                raise Refused("a hold that ended, of another list, stopped, or expired")
            if _plain_text(scan["scanned"]) != _plain_text(label):
                raise Refused("a wrong scan")
        do(
            f"INSERT INTO inventory_holdend (hold_id, act_id, how, picked, why) VALUES {values(len(ids), 5)}",
            flat([(hold, act, "picked", holds[hold][4], "") for hold in ids]),
        )
        move(act, at, [(holds[one][1], holds[one][4], holds[one][2], holds[one][3], holds[one][4]) for one in ids])
        bump(job_id, version)
        (left,) = one(
            """SELECT COUNT(*) FROM kits_jobhold k LEFT JOIN inventory_holdend e ON e.hold_id = k.hold_id
               WHERE k.pick_list_id = %s AND e.hold_id IS NULL""",
            [pick_list],
        )
        picked = [
            {"hold": hold, "part": holds[hold][5], "lot": holds[hold][6] or "", "serial": holds[hold][7] or "",
             "amount": holds[hold][4], "from": holds[hold][10]}
            for hold in ids
        ]  # fmt: skip
        body = {"job": number, "picked": picked, "left": left}
        end_act(act, body)
        return body


def hand_over(*, actor: int, key: UUID, at: datetime, pick_list: int, received_by: int, job: str) -> Body:
    """The twin of handing over with nothing missing of the list of now."""
    with transaction.atomic(durable=True):
        request = {"pick_list": pick_list, "received_by": received_by, "missing": []}
        act = begin_act("hand over", key, actor, at, job, request)
        where = "j.id = (SELECT job_id FROM kits_picklist WHERE id = %s)"
        row = job_for_update(where, [pick_list])
        job_id, number, version, site = row[:4]
        exists = ", ".join(
            f"EXISTS(SELECT 1 FROM kits_{table} WHERE job_id = %s)" for table in (*_PLAIN[:-1], "fitting", "extra")
        )
        if any(one(f"SELECT {exists}", [job_id] * (len(_PLAIN) + 1))):
            raise Refused("more than a plain job")
        operations = rows(_OPERATIONS, [job_id])
        if len(operations) != 1:
            raise Refused("more than a plain job")
        lines = lines_of(*operations[0][:2])
        open_lines, kinds_kept_apart, listed = one(
            """SELECT (SELECT COUNT(*) FROM kits_jobhold k LEFT JOIN inventory_holdend e ON e.hold_id = k.hold_id
                       WHERE k.pick_list_id = pl.id AND e.hold_id IS NULL),
                      (SELECT COUNT(*) FROM inventory_replacement WHERE no_mix_on <> '' AND NOT withdrawn), pl.document
               FROM kits_picklist pl WHERE pl.id = %s""",
            [pick_list],
        )
        if open_lines or kinds_kept_apart:
            raise Refused("open lines, or kinds that must not be mixed")
        on_cart = rows(
            """SELECT b.item_id, b.amount, b.spot_id, n.number, l.code, s.number, t.number FROM inventory_balance b
               JOIN inventory_item i ON i.id = b.item_id JOIN inventory_part n ON n.id = i.part_id
               JOIN inventory_place p ON p.id = b.place_id
               LEFT JOIN inventory_lot l ON l.id = i.lot_id LEFT JOIN inventory_serial s ON s.id = i.serial_id
               LEFT JOIN inventory_tube t ON t.id = i.tube_id
               WHERE b.place_id = %s AND b.amount > 0 ORDER BY b.part_id, p.walk_order, b.item_id, b.spot_id""",
            [row[5]],
        )
        brought = Counter[str]()
        for _, amount, _, part, *_ in on_cart:
            brought[part] += amount
        wanted = Counter[str]()
        for line in lines:
            wanted[line.part_number] += line.amount
        if wanted - brought:
            raise Refused("something of the list of now is not on the cart")
        move(act, at, [(item, amount, spot, row[8], 0) for item, amount, spot, *_ in on_cart])
        do(
            f"""INSERT INTO kits_handover (pick_list_id, act_id, received_by_id, missing)
                VALUES {values(1, 4, ("", "", "", json_kind()))}""",
            [pick_list, act, received_by, "[]"],
        )
        lent = _lend(act, job_id, site, [tool["tool"] for tool in read_json(listed)["tools"]])
        bump(job_id, version)
        moved = [
            {"part": part, "lot": lot or "", "serial": serial or "", "tube": tube or "", "amount": amount}
            for _, amount, _, part, lot, serial, tube in on_cart
        ]
        nothing: Body = {"missing": [], "absent": [], "not_missing": [], "to_count": []}
        body = {"job": number, "moved": moved, **nothing, "tools": lent, "tools_short": []}
        end_act(act, body)
        return body


def _lend(act: int, job: int, site: int, tools: Sequence[str]) -> list[str]:
    if on_postgresql():
        do("SELECT pg_advisory_xact_lock(hashtext(%s))", [f"crib {site}"])
    free = rows(
        f"""SELECT c.tool, c.count - COUNT(l.id), SUM(CASE WHEN l.job_id = %s THEN 1 ELSE 0 END) FROM kits_cribtool c
            LEFT JOIN (SELECT l.* FROM kits_toolloan l LEFT JOIN kits_toolback b ON b.loan_id = l.id
                       WHERE b.loan_id IS NULL) l ON l.site_id = c.site_id AND l.tool = c.tool
            WHERE c.site_id = %s AND c.tool IN ({marks(len(tools))}) GROUP BY c.tool, c.count""",
        [job, site, *tools],
    )
    left = {tool: count for tool, count, mine in free if not mine}
    if any(left.get(tool, 0) < 1 for tool in tools):
        raise Refused("a tool is lent to the job, or the crib has none left")
    do(
        f"INSERT INTO kits_toolloan (job_id, act_id, site_id, tool) VALUES {values(len(tools), 4)}",
        flat([(job, act, site, tool) for tool in tools]),
    )
    return list(tools)
