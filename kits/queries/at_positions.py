"""What sits where in a job's engine and at its bench: small reads for the ways in."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Sum

from inventory.domain.places import PlaceKind
from inventory.models import Balance, Movement
from inventory.queries.prepared import Prepared
from kits.domain.origins import Out
from kits.models import Fitting, Job, LostPosition, OriginWord, Removal
from kits.queries.outside import not_back

#: What goes from a bench to these was not taken out of the engine, or went back into it; or it is outside, and comes back.
_NOT_OLD = [
    kind.value for kind in (PlaceKind.ENGINE, PlaceKind.SHELF, PlaceKind.CART, PlaceKind.BENCH, PlaceKind.OUTSIDE)
]

#: Whether the place of a removal is lost, by an act that was not taken back.
LOST = LostPosition.objects.filter(removal=OuterRef("pk"), act__corrected_by__isnull=True)


@dataclass(frozen=True, slots=True)
class Thing:
    """An item with how much of it, whole base units; `position` is empty at the bench unless it came out of one."""

    position: str
    item_id: int
    part: str
    lot: str
    serial: str
    amount: int
    base: str


def _things(rows: Collection[Balance], positions: dict[int, str] | None = None) -> list[Thing]:
    return [
        Thing(
            position=positions.get(row.item_id, "") if positions is not None else row.spot.name,
            item_id=row.item_id,
            part=row.item.part.number,
            lot=row.item.lot_code,
            serial=row.item.serial_number,
            amount=row.amount,
            base=row.item.base,
        )
        for row in rows
    ]


def solid_at(job: Job, positions: Collection[str]) -> list[Thing]:
    """Counted things at these use positions of the job's engine, by position. One query."""
    rows = Balance.objects.filter(
        place=job.engine.place_id, spot__name__in=positions, amount__gt=0, item__base="piece"
    ).select_related("item__part", "item__lot", "item__serial", "spot")
    return sorted(_things(list(rows)), key=lambda thing: thing.position)


def on_bench(job: Job) -> list[Thing]:
    """Everything at the job's bench, with the position it came out of, if it did. Two queries."""
    return _things(
        _ON_BENCH(job.bench_id), {item: positions[-1] for item, positions in came_out(job).items() if positions}
    )


_ON_BENCH = Prepared(
    lambda bench: (
        Balance.objects.filter(place=bench, amount__gt=0)
        .select_related("item__part", "item__lot", "item__serial", "spot")
        .order_by("item_id")
    ),
    -1,
    fixed=[0],
)


def outs_of(job: Job, item_ids: Collection[int] | None = None) -> dict[int, tuple[Out, ...]]:
    """What came out of the engine to this job's bench, item by item, in order; an empty position: it is lost. One query."""
    rows: Iterable[Any] = _OUTS(job.pk) if item_ids is None else _outs(job.pk).filter(item__in=item_ids)
    found: dict[int, tuple[Out, ...]] = {}
    for row in rows:
        out = Out("" if row.is_lost else row.spot.name, row.tag, row.clock_deg, row.side)
        found[row.item_id] = (*found.get(row.item_id, ()), out)
    return found


def _outs(job: int) -> QuerySet[Removal]:
    rows = Removal.objects.filter(job=job, to_bench=True, act__corrected_by__isnull=True)
    return rows.select_related("spot").annotate(is_lost=Exists(LOST)).order_by("pk")


_OUTS = Prepared(_outs, -1)


def came_out(job: Job) -> dict[int, tuple[str, ...]]:
    """Items that came out of the engine to this job's bench, each with the use positions that are known, in order. One query."""
    return {item: tuple(out.position for out in outs if out.position) for item, outs in outs_of(job).items()}


def emptied(job: Job) -> list[str]:
    """Use positions that something was taken out of on this job and that are empty now, in order of the removals. One query."""
    stands = Balance.objects.filter(place=job.engine.place_id, spot=OuterRef("spot"), amount__gt=0)
    rows = Removal.objects.filter(job=job, act__corrected_by__isnull=True).exclude(Exists(stands))
    return list(dict.fromkeys(rows.order_by("pk").values_list("spot__name", flat=True)))


def words_on(job: Job, item_ids: Collection[int]) -> dict[tuple[int, str], str]:
    """(item, use position) → the maker's newest word that the item may go there though nobody knows its place. One query."""
    rows = OriginWord.objects.filter(job=job, item__in=item_ids, act__corrected_by__isnull=True).order_by("pk")
    return {(item, position): word for item, position, word in rows.values_list("item_id", "position", "word")}


def new_at(job: Job, positions: Collection[str]) -> dict[str, bool]:
    """Use position → whether the counted thing that sits there went in new on this job; empty ones are left out. Two queries."""
    rows = Balance.objects.filter(
        place=job.engine.place_id, spot__name__in=positions, amount__gt=0, item__base="piece"
    ).values_list("spot__name", "item_id")
    news = Fitting.objects.filter(
        job=job, spot__name__in=positions, reused=False, act__corrected_by__isnull=True, correction__isnull=True
    )
    went_in = set(news.values_list("spot__name", "item_id"))
    return {position: (position, item) in went_in for position, item in rows}


def removals_of(job: Job) -> list[dict[str, Any]]:
    """What came out of the engine on this job and how it is marked, in order, as plain values. One query."""
    rows = Removal.objects.filter(job=job, act__corrected_by__isnull=True)
    rows = rows.annotate(why_lost=LOST.values("reason")[:1])
    return [
        {
            "removal": row.pk,
            "position": row.spot.name if row.why_lost is None else "",
            "item": row.item_id,
            "part": row.item.part.number,
            "lot": row.item.lot_code,
            "serial": row.item.serial_number,
            "amount": row.amount,
            "at_bench": row.to_bench,
            "tag": row.tag,
            "clock_deg": row.clock_deg,
            "side": row.side,
            "looked": row.looked,
            "position_lost": row.why_lost is not None,
            "why_lost": row.why_lost or "",
            "reason": row.reason,
        }
        for row in rows.select_related("item__part", "item__lot", "item__serial", "spot").order_by("pk")
    ]


def old_at_bench(job: Job, item_ids: Collection[int] | None = None) -> dict[int, int]:
    """How much of each item at the job's bench came out of the engine on this job: whole base units. Four queries.

    Parts that are not told apart lie at the bench old and new under one item. What left the bench for anything but the
    engine or a shelf (scrap, quarantine, the owner, an old-unit crate) was the old ones first: nothing that was in an engine
    goes to a shelf. What was counted short there and is found there again is the old ones first too.
    """
    removed = Removal.objects.filter(job=job, to_bench=True, act__corrected_by__isnull=True)
    put_back = Fitting.objects.filter(job=job, reused=True, act__corrected_by__isnull=True, correction__isnull=True)
    out = _in_time(removed, item_ids, 1)
    items = {item for _, _, item, _ in out}
    less = [*_in_time(put_back, items, -1), *_in_time(not_back(job), items, -1, "away")] if out else []
    old: dict[int, int] = {}
    missing: dict[int, int] = {}
    changes = [*((*one, False) for one in (*out, *less)), *_left(job, items)]
    for _, _, item, change, counted in sorted(changes, key=lambda one: one[:2]):
        had = old.get(item, 0)
        if counted:
            change = min(change, missing.get(item, 0)) if change > 0 else max(change, -had)
            missing[item] = missing.get(item, 0) - change
        old[item] = max(0, had + change)
    return {item: amount for item, amount in old.items() if amount}


def _left(job: Job, items: Collection[int]) -> list[tuple[datetime, int, int, int, bool]]:
    """(when, act, item, change, whether by a count) of what left the bench, below nothing, and what a count found there. One query."""
    if not items:
        return []
    rows = Movement.objects.filter(item__in=items, act__corrected_by__isnull=True, act__corrects__isnull=True)
    difference = PlaceKind.COUNT_DIFFERENCE.value
    left = rows.filter(from_spot__place=job.bench_id).exclude(to_spot__place__kind__in=_NOT_OLD)
    found = rows.filter(to_spot__place=job.bench_id, from_spot__place__kind=difference)
    columns = ("act__occurred_at", "act", "item", "amount", "from_spot__place__kind", "to_spot__place__kind")
    told = left.values_list(*columns).union(found.values_list(*columns), all=True)
    return [
        (when, act, item, amount if origin == difference else -amount, difference in (origin, target))
        for when, act, item, amount, origin, target in told
    ]


def _in_time(
    rows: QuerySet[Any], item_ids: Collection[int] | None, sign: int, column: str = "amount"
) -> list[tuple[datetime, int, int, int]]:
    """(when, act, item, amount with its sign): what left the bench before anything came out was none of the old."""
    if item_ids is not None:
        rows = rows.filter(item__in=item_ids)
    told = rows.values_list("act__occurred_at", "act", "item", column)
    return [(when, act, item, sign * amount) for when, act, item, amount in told]


def _by_item(rows: QuerySet[Any], item_ids: Collection[int] | None) -> dict[int, int]:
    """Amounts added up by item, of these items or of all."""
    if item_ids is not None:
        rows = rows.filter(item__in=item_ids)
    return dict(rows.values_list("item_id").annotate(total=Sum("amount")).order_by("item_id"))


def fresh_at_bench(job: Job, item_ids: Collection[int]) -> dict[int, int]:
    """How much of each item at the job's bench was never in the engine on this job: whole base units. Five queries at most."""
    rows = Balance.objects.filter(place=job.bench_id, amount__gt=0)
    lying, old = _by_item(rows, item_ids), old_at_bench(job, item_ids)
    return {item: max(0, amount - old.get(item, 0)) for item, amount in lying.items()}


def kept_on_bench(job: Job) -> list[Thing]:
    """Things with a serial that came out of this engine on this job and lie at the bench: they go back where they were."""
    return [thing for thing in on_bench(job) if thing.serial and thing.position]
