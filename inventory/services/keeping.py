"""Keeping a piece of a lot back, and ending that. Private to services: the caller has the transaction and the locks.

The one rule (`keep_of_arrivals`) is asked at the end of every act that laid something on a shelf, whatever the act is: `post` notes it, `run`
asks. What the act itself promised to jobs is held by then and comes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import Q

from inventory import locks
from inventory.domain.items import Base, Tracked
from inventory.domain.keeping import LEAST, PIECES, HowEnded, KeepRules, left_to_job
from inventory.models import Act, Balance, Item, KeptEnd, KeptPiece, Spot
from inventory.queries import by_hand
from inventory.queries.kept import open_kept
from inventory.queries.shop import shop
from inventory.services.post import hold_more
from inventory.services.rows import adapted

#: Kept pieces that an outcome names; the number of all stands beside them.
MOST_SAID = 100
CHUNK = 5000

#: Loose stock on shelves of which one may be kept, by `inventory.domain.keeping.KeepRules`: where enough of the lot is free on all shelves, and the
#: lot keeps none and never released one for good. What came in a kit came when the kit did, or the kit around that. What is free is
#: joined, never asked row by row: right after many rows came, PostgreSQL believes that reading all of a table each time costs nothing.
_CANDIDATES = f"""
    FROM {{source}} inventory_balance b {{on}}
    JOIN inventory_item i ON i.id = b.item_id JOIN inventory_part p ON p.id = b.part_id JOIN inventory_place c ON c.id = b.place_id
    JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_item k ON k.id = i.from_kit_id LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
    LEFT JOIN inventory_item o ON o.id = k.from_kit_id LEFT JOIN inventory_lot ol ON ol.id = o.lot_id
    {{free}}
    WHERE b.pickable AND b.amount - b.held >= {PIECES} AND p.kind IN ({{kinds}})
    AND p.base = '{Base.PIECE.value}' AND p.tracked_by = '{Tracked.LOT.value}'
    AND COALESCE(l.received_on, kl.received_on, ol.received_on) >= %s
    AND NOT EXISTS (SELECT 1 FROM inventory_keptpiece q LEFT JOIN inventory_keptend e ON e.kept_id = q.id
                    WHERE q.lot_id = i.lot_id AND (e.kept_id IS NULL OR e.how = '{HowEnded.RELEASED.value}'))
    {{enough}}"""
_FREE = "JOIN inventory_item j ON j.lot_id = i.lot_id JOIN inventory_balance f ON f.item_id = j.id AND f.pickable"
_ENOUGH = f"GROUP BY b.item_id, b.spot_id, b.part_id, c.site_id, i.lot_id HAVING SUM(f.amount - f.held) >= {LEAST}"
_ARRIVED = """(SELECT DISTINCT m.item_id, m.to_spot_id FROM inventory_movement m WHERE m.act_id = %s) a JOIN"""
_WHERE_IT_ARRIVED = "ON b.item_id = a.item_id AND b.spot_id = a.to_spot_id"
#: One spot for each lot, the first by id.
_WANTED = """SELECT item_id, spot_id, part_id, site_id, lot_id FROM (SELECT b.item_id, b.spot_id, b.part_id, c.site_id, i.lot_id,
    ROW_NUMBER() OVER (PARTITION BY i.lot_id ORDER BY b.spot_id, b.item_id) AS turn {candidates}) w WHERE turn = 1 ORDER BY lot_id"""


@dataclass(frozen=True, slots=True)
class Found:
    """Where the piece of a lot would be kept."""

    item_id: int
    spot_id: int
    part_id: int
    site_id: int | None
    lot_id: int


def keep_of_arrivals(act: Act) -> dict[str, Any]:
    """Of each lot that the act laid on a shelf and that keeps none yet, one piece is kept there, where the shop's rule says so.

    What is said of it in the act's outcome, under `kept_back`; empty where nothing is kept. {"pieces": how many in all, "kept": [{lot_id,
    lot, part, item, place, spot, kept}, at most `MOST_SAID`], "left_to_job": lots of which none is kept, "why"}. One query of the shop's
    settings; in a shop that keeps, one more, and some where there is something to keep.
    """
    if not act.laid_on_shelf:
        return {}
    rules = shop().keeping
    if not _any_lies_there(rules, act):
        return {}
    why = left_to_job(act.kind == "open kit", act.subject, act.shorts.exists())
    if why:
        names = ("part", "lot", "lot_id")
        left = [{name: one[name] for name in names} for one in _said(to_keep(rules, act)[:MOST_SAID])]
        return {"kept_back": {"pieces": 0, "kept": [], "left_to_job": left, "why": why}} if left else {}
    kept = keep(act, rules, everywhere=False)
    return {"kept_back": {**kept, "left_to_job": [], "why": ""}} if kept["pieces"] else {}


def to_keep(rules: KeepRules, act: Act | None = None) -> list[Found]:
    """One spot, the first by id, for each lot that is to keep one and has none: among what an act laid there, or everywhere. One query."""
    candidates, values = _candidates(rules, act)
    rows = by_hand.rows(_WANTED.format(candidates=candidates), values) if candidates else []
    return [Found(*row) for row in rows]


def _any_lies_there(rules: KeepRules, act: Act) -> bool:
    """Whether the act laid something on a shelf of which one may be kept, enough of it or not: the cheap question before."""
    candidates, values = _candidates(rules, act, free="", enough="")
    return bool(candidates and by_hand.rows(f"SELECT 1 {candidates} LIMIT 1", values))


def _candidates(rules: KeepRules, act: Act | None, free: str = _FREE, enough: str = _ENOUGH) -> tuple[str, list[Any]]:
    """The FROM and WHERE of `_CANDIDATES` and their values; "" where the shop keeps none."""
    if rules.since is None or not rules.kinds:
        return "", []
    kinds = sorted(rules.kinds)
    source, on, first = (_ARRIVED, _WHERE_IT_ARRIVED, [act.pk]) if act is not None else ("", "", [])
    sql = _CANDIDATES.format(source=source, on=on, kinds=", ".join(["%s"] * len(kinds)), free=free, enough=enough)
    return sql, [*first, *kinds, rules.since.isoformat()]


def keep(act: Act, rules: KeepRules, *, everywhere: bool) -> dict[str, Any]:
    """Keep a piece of each lot that is to keep one: among what the act laid on shelves, or everywhere. Two statements, however many lots.

    {"pieces", "kept"}, as `keep_of_arrivals` has them. The caller has just laid there what is kept, or has the locks of what gets scarcer.
    """
    locks.name("kept piece", "all")
    candidates, values = _candidates(rules, None if everywhere else act)
    before = by_hand.rows("SELECT COALESCE(MAX(id), 0) FROM inventory_keptpiece WHERE act_id = %s", [act.pk])[0][0]
    pieces = _run(
        "INSERT INTO inventory_keptpiece (act_id, lot_id, item_id, spot_id, amount)"
        f" SELECT %s, lot_id, item_id, spot_id, {PIECES} FROM ({_WANTED.format(candidates=candidates)}) n WHERE true",
        [act.pk, *values],
    )
    _hold(act, before, pieces)
    named = KeptPiece.objects.filter(act=act, pk__gt=before).order_by("pk")[:MOST_SAID]
    return {"pieces": pieces, "kept": _said(named)}


def _hold(act: Act, before: int, pieces: int) -> None:
    """What the act kept after row `before` is held where it lies."""
    later = "GREATEST" if connection.vendor == "postgresql" else "MAX"
    table = Balance._meta.db_table
    held = _run(
        f"UPDATE {table} SET held = {table}.held + d.amount, last_at = {later}({table}.last_at, %s)"
        " FROM (SELECT item_id, spot_id, amount FROM inventory_keptpiece WHERE act_id = %s AND id > %s) AS d"
        f" WHERE {table}.item_id = d.item_id AND {table}.spot_id = d.spot_id",
        [adapted(act.occurred_at), act.pk, before],
    )
    if held != pieces:
        raise RuntimeError(f"{pieces} pieces are kept and {held} balances hold them")


def _run(sql: str, values: Sequence[Any]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return int(cursor.rowcount)


def _said(chosen: Iterable[Found | KeptPiece]) -> list[dict[str, Any]]:
    """Them by name."""
    first = list(chosen)
    items = Item.objects.select_related("part", "lot").in_bulk({one.item_id for one in first})
    spots = Spot.objects.select_related("place").in_bulk({one.spot_id for one in first})
    return [
        {
            "lot_id": one.lot_id,
            "lot": items[one.item_id].lot_code,
            "part": items[one.item_id].part.number,
            "item": one.item_id,
            "place": spots[one.spot_id].place.code,
            "spot": spots[one.spot_id].name,
            "kept": PIECES,
        }
        for one in first
    ]


def carry(act: Act, carried: Iterable[tuple[KeptPiece, Spot]]) -> None:
    """They were carried, and what keeps them goes with them: kept where they lie now. The movement took what was held from its spot."""
    pairs = list(carried)
    KeptEnd.objects.bulk_create(
        KeptEnd(kept=one, act=act, how=HowEnded.MOVED.value, why=f"carried to {spot.place.code}") for one, spot in pairs
    )
    _keep_again(act, pairs)


def _keep_again(act: Act, pairs: Sequence[tuple[KeptPiece, Spot]]) -> None:
    if not pairs:
        return
    KeptPiece.objects.bulk_create(
        KeptPiece(act=act, lot_id=one.lot_id, item_id=one.item_id, spot=spot, amount=one.amount) for one, spot in pairs
    )
    hold_more({(one.item_id, spot.pk): one.amount for one, spot in pairs}, act.occurred_at)


def end_kept(act: Act, kept: Iterable[KeptPiece], how: HowEnded, why: str) -> None:
    """They are kept no longer: what they held is free again."""
    rows = list(kept)
    if not rows:
        return
    KeptEnd.objects.bulk_create(KeptEnd(kept=row, act=act, how=how.value, why=why) for row in rows)
    hold_more({(row.item_id, row.spot_id): -row.amount for row in rows}, act.occurred_at)


def missing(act: Act, item_id: int, spot_id: int, why: str) -> bool:
    """The kept piece is not there any more, as a count found: True if there was one."""
    rows = list(open_kept().filter(item=item_id, spot=spot_id))
    end_kept(act, rows, HowEnded.MISSING, why)
    return bool(rows)


def taken_back(act: Act, original: Act) -> list[KeptPiece]:
    """The act by which pieces came to be kept is taken back: they are kept no longer. Those that it had carried, for `put_back`."""
    mine = list(open_kept().filter(act=original))
    end_kept(act, mine, HowEnded.TAKEN_BACK, f"act {original.pk} was taken back")
    lots = {one.lot_id for one in mine}
    rows = KeptPiece.objects.filter(end__act=original, end__how=HowEnded.MOVED, lot__in=lots)
    return list(rows.select_related("spot__place"))


def put_back(act: Act, original: Act, carried: Iterable[KeptPiece]) -> list[dict[str, Any]]:
    """The movements of an act were taken back: what it had carried, or what it as a count had lost, is kept again where it was before;
    a lost one not where another of its lot is kept since, or its lot's was released for good. What is kept, [{lot, part, place, spot}]."""
    again = list(carried)
    lost = KeptPiece.objects.filter(end__act=original, end__how=HowEnded.MISSING).select_related("spot__place")
    if missed := list(lost.order_by("pk")):
        locks.name("kept piece", "all")
        kept = KeptPiece.objects.filter(lot__in=[one.lot_id for one in missed])
        having = set(kept.filter(Q(end__isnull=True) | Q(end__how=HowEnded.RELEASED)).values_list("lot", flat=True))
        again += [one for one in missed if one.lot_id not in having]
    _keep_again(act, [(one, one.spot) for one in again])
    items = Item.objects.select_related("part", "lot").in_bulk({one.item_id for one in again})
    return [
        {
            "lot": items[one.item_id].lot_code,
            "part": items[one.item_id].part.number,
            "place": one.spot.place.code,
            "spot": one.spot.name,
        }
        for one in again
    ]
