"""Keeping a piece of a lot back, and ending that. Private to services: the caller has the transaction and the locks.

The one rule (`keep_of_arrivals`) is asked at the end of every act that laid something on a shelf, whatever the act is: `post` notes it, `run`
asks. What the act itself promised to jobs is held by then and comes first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from inventory import locks
from inventory.domain.items import Base, Tracked
from inventory.domain.keeping import PIECES, HowEnded, KeepRules, LotIn, keeps_one, left_to_job
from inventory.models import Act, Item, KeptEnd, KeptPiece, Spot
from inventory.queries import by_hand
from inventory.queries.kept import open_kept
from inventory.queries.shop import shop
from inventory.services.post import hold_more
from inventory.services.rows import insert

#: Kept pieces that an outcome names; the number of all stands beside them.
MOST_SAID = 100
CHUNK = 5000

#: Loose stock on shelves of which one may be kept: lots of some kinds that keep none and never released one for good.
_CANDIDATES = """
    SELECT b.item_id, b.spot_id, b.part_id, c.site_id, i.lot_id, p.kind, p.base, p.tracked_by, l.received_on, kl.received_on, ol.received_on,
        (SELECT SUM(f.amount - f.held) FROM inventory_item j JOIN inventory_balance f ON f.item_id = j.id
         WHERE j.lot_id = i.lot_id AND f.pickable)
    FROM {source} inventory_balance b {on}
    JOIN inventory_item i ON i.id = b.item_id JOIN inventory_part p ON p.id = b.part_id JOIN inventory_place c ON c.id = b.place_id
    JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_item k ON k.id = i.from_kit_id LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
    LEFT JOIN inventory_item o ON o.id = k.from_kit_id LEFT JOIN inventory_lot ol ON ol.id = o.lot_id
    WHERE b.pickable AND b.amount - b.held >= %s AND p.kind IN ({kinds}) AND p.base = %s AND p.tracked_by = %s
    AND (l.received_on >= %s OR l.received_on IS NULL AND i.from_kit_id IS NOT NULL)
    AND NOT EXISTS (SELECT 1 FROM inventory_keptpiece q LEFT JOIN inventory_keptend e ON e.kept_id = q.id
                    WHERE q.lot_id = i.lot_id AND (e.kept_id IS NULL OR e.how = %s))
    ORDER BY i.lot_id, b.spot_id, b.item_id"""
_ARRIVED = """(SELECT DISTINCT m.item_id, m.to_spot_id FROM inventory_movement m WHERE m.act_id = %s) a JOIN"""
_WHERE_IT_ARRIVED = "ON b.item_id = a.item_id AND b.spot_id = a.to_spot_id"


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
    wanted = to_keep(rules, act)
    if not wanted:
        return {}
    why = left_to_job(act.kind == "open kit", act.subject, act.shorts.exists())
    if why:
        left = [{name: one[name] for name in ("part", "lot", "lot_id")} for one in _said(wanted)]
        return {"kept_back": {"pieces": 0, "kept": [], "left_to_job": left, "why": why}}
    kept = keep(act, wanted)
    return {"kept_back": {**kept, "left_to_job": [], "why": ""}} if kept["pieces"] else {}


def to_keep(rules: KeepRules, act: Act | None = None) -> list[Found]:
    """One spot, the first by id, for each lot that is to keep one and has none: among what an act laid there, or everywhere. One query."""
    if rules.since is None or not rules.kinds:
        return []
    kinds = sorted(rules.kinds)
    source, on, first = (_ARRIVED, _WHERE_IT_ARRIVED, [act.pk]) if act is not None else ("", "", [])
    sql = _CANDIDATES.format(source=source, on=on, kinds=", ".join(["%s"] * len(kinds)))
    rest = [PIECES, *kinds, Base.PIECE.value, Tracked.LOT.value, rules.since.isoformat(), HowEnded.RELEASED.value]
    found: dict[int, Found] = {}
    for item, spot, part, site, lot, kind, base, tracked, *days, free in by_hand.rows(sql, [*first, *rest]):
        if lot not in found and keeps_one(LotIn(kind, base, tracked, [_day(one) for one in days], int(free)), rules):
            found[lot] = Found(item, spot, part, site, lot)
    return list(found.values())


def _day(value: Any) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) else value


def keep(act: Act, wanted: Sequence[Found]) -> dict[str, Any]:
    """Keep these, but of lots of which one is kept since. {"pieces", "kept"}, as `keep_of_arrivals` has them.

    The caller has just laid there what is kept, or has the locks of what gets scarcer.
    """
    locks.name("kept piece", "all")
    having = _having([one.lot_id for one in wanted])
    chosen = [one for one in wanted if one.lot_id not in having]
    insert(
        KeptPiece._meta.db_table,
        ("act_id", "lot_id", "item_id", "spot_id", "amount"),
        [(act.pk, one.lot_id, one.item_id, one.spot_id, PIECES) for one in chosen],
    )
    hold_more({(one.item_id, one.spot_id): PIECES for one in chosen}, act.occurred_at)
    return {"pieces": len(chosen), "kept": _said(chosen)}


def _having(lots: Sequence[int]) -> set[int]:
    """Those of the lots that keep one, or released theirs for good. One query: of so many that naming them costs more, all that do."""
    rows = KeptPiece.objects.filter(Q(end__isnull=True) | Q(end__how=HowEnded.RELEASED))
    rows = rows.filter(lot__in=lots) if len(lots) <= CHUNK else rows
    return set(rows.values_list("lot", flat=True))


def _said(chosen: Sequence[Found]) -> list[dict[str, Any]]:
    """The first of them by name."""
    first = chosen[:MOST_SAID]
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
        having = _having([one.lot_id for one in missed])
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
