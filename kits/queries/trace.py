"""What is, and was, in an engine: by use position, on a day, as known on a day; and its whole story."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import NamedTuple

from django.db.models import Q, QuerySet
from django.utils.timezone import get_current_timezone

from inventory.domain.places import PlaceKind
from inventory.models import Balance, Movement
from kits.domain.engine_map import EngineMap
from kits.domain.periods import Change, Period, periods
from kits.models import Engine, FamilyRevision, Fitting
from kits.queries.documents import family_of
from kits.queries.engines import NearEngine, near_engines
from kits.queries.story import Event, events

__all__ = [
    "Content",
    "EngineStory",
    "Event",
    "Gap",
    "Layer",
    "LayerRow",
    "NearEngine",
    "engine_contents",
    "engine_story",
    "near_engines",
    "not_recorded",
]


@dataclass(frozen=True, slots=True)
class Content:
    """What sits at a use position.

    kit          the opened kit it came out of (part and lot), empty for none
    amount       in `base` units
    since        when it came to the position; for what was found in the engine (`found`): when it was found, it is older
    recorded     since when our records have it; act_id, kind, by: the act and who recorded it
    fitter, checker, job, reused   as fitted; checker empty where none was needed
    lot_unknown  traced by lot, but its lot is not known: it counts as any lot of the part
    """

    position: str
    item_id: int
    part: str
    name: str
    lot: str
    serial: str
    member: str
    kit: str
    base: str
    amount: int
    since: datetime
    recorded: datetime
    act_id: int
    kind: str
    by: str
    fitter: str
    checker: str
    job: str
    reused: bool
    found: bool
    lot_unknown: bool


@dataclass(frozen=True, slots=True)
class Gap:
    """A use position of the map at which nothing is recorded: `removed` when we took out what was there, else never known."""

    position: str
    removed: bool

    @property
    def said(self) -> str:
        """For a person."""
        return "removed, nothing fitted since" if self.removed else "not recorded"


@dataclass(frozen=True, slots=True)
class LayerRow:
    """One thing that sat at a position, from when until when (None: still)."""

    position: str
    item_id: int
    part: str
    lot: str
    serial: str
    amount: int
    since: datetime
    until: datetime | None
    reused: bool


@dataclass(frozen=True, slots=True)
class Layer:
    """What one job put into the engine; `job` is empty for what was found in it. `until` is when the last of it had left."""

    job: str
    since: datetime
    until: datetime | None
    rows: tuple[LayerRow, ...]


@dataclass(frozen=True, slots=True)
class EngineStory:
    """Everything about an engine in order, and its layers, oldest first.

    first_built   moment at which the first job's last part was fitted: ask `engine_contents` on it for "as first built"
    """

    engine: str
    family: str
    events: tuple[Event, ...]
    layers: tuple[Layer, ...]
    first_built: datetime | None


class _In(NamedTuple):
    """An amount of an item that came to a position, with all that is said about it."""

    pk: int
    position: str
    spot: int
    item: int
    amount: int
    occurred: datetime
    recorded: datetime
    act: int
    kind: str
    by: str
    subject: str
    from_kind: str
    part: str
    name: str
    tracked_by: str
    lot: str | None
    serial: str | None
    member: str
    kit_part: str | None
    kit_lot: str | None
    base: str

    @property
    def kit(self) -> str:
        return " ".join(text for text in (self.kit_part, self.kit_lot) if text)

    @property
    def found(self) -> bool:
        return self.from_kind == PlaceKind.BEFORE_RECORDS

    @property
    def lot_unknown(self) -> bool:
        return self.tracked_by == "lot" and self.lot is None


class _Fitted(NamedTuple):
    job: str
    fitter: str
    checker: str | None
    reused: bool


Present = dict[tuple[str, int], int]


def end_of(moment: date | datetime) -> datetime:
    """The last moment of a day, in the shop's time zone; a datetime is that moment itself."""
    if isinstance(moment, datetime):
        return moment
    return datetime.combine(moment, time.max, get_current_timezone())


def engine_contents(
    engine: Engine, on: date | datetime | None = None, known: date | datetime | None = None
) -> tuple[Content, ...]:
    """What sits in an engine, in the order of the family's map; positions that left the map come last.

    on      at the end of that day (or at that moment): acts that had happened by then; None: now
    known   as our records had it at the end of that day: acts, and corrections, recorded by then; None: as known now

    Four queries, and one more where the family's map was never read by this process.
    """
    if on is None and known is None:
        rows = Balance.objects.filter(place=engine.place_id, amount__gt=0)
        present: Present = {
            (name, item): total for name, item, total in rows.values_list("spot__name", "item_id", "amount")
        }
        ins = _ins(engine, None, None)
    else:
        ins = _ins(engine, on, known)
        present = _present(engine, ins, on, known)
    fitted = _fitted(engine)
    rank = _ranks(engine)
    contents = [
        _content(came, present[key], fitted.get((came.act, came.item, came.spot)))
        for key, came in _newest(ins, present).items()
    ]
    return tuple(sorted(contents, key=lambda one: (rank.get(one.position, len(rank)), one.position, one.item_id)))


def not_recorded(
    engine: Engine, on: date | datetime | None = None, known: date | datetime | None = None
) -> tuple[Gap, ...]:
    """The use positions of the map at which nothing is recorded then, in map order: the gaps of `engine_contents`, named."""
    ins = _ins(engine, on, known)
    present = _present(engine, ins, on, known)
    full = {position for (position, _), amount in present.items() if amount > 0}
    touched = {came.position for came in ins}
    return tuple(Gap(name, name in touched) for name in _ranks(engine) if name not in full)


def _present(engine: Engine, ins: Iterable[_In], on: date | datetime | None, known: date | datetime | None) -> Present:
    present: Present = defaultdict(int)
    for came in ins:
        present[came.position, came.item] += came.amount
    for position, item, amount, *_ in _outs(engine, on, known):
        present[position, item] -= amount
    return present


def _moves(side: str, engine: Engine, on: date | datetime | None, known: date | datetime | None) -> QuerySet[Movement]:
    """Movements into ("to") or out of ("from") the engine's positions that count: neither taken back nor taking back."""
    rows = Movement.objects.filter(**{f"{side}_spot__place": engine.place_id}, act__corrects__isnull=True)
    if on is not None:
        rows = rows.filter(act__occurred_at__lte=end_of(on))
    if known is None:
        return rows.filter(act__corrected_by__isnull=True)
    limit = end_of(known)
    unknown_yet = Q(act__corrected_by__isnull=True) | Q(act__corrected_by__recorded_at__gt=limit)
    return rows.filter(unknown_yet, act__recorded_at__lte=limit)


def _ins(engine: Engine, on: date | datetime | None, known: date | datetime | None) -> list[_In]:
    values = _moves("to", engine, on, known).values_list(
        "pk",
        "to_spot__name",
        "to_spot_id",
        "item_id",
        "amount",
        "act__occurred_at",
        "act__recorded_at",
        "act_id",
        "act__kind",
        "act__actor__username",
        "act__subject",
        "from_spot__place__kind",
        "item__part__number",
        "item__part__name",
        "item__part__tracked_by",
        "item__lot__code",
        "item__serial__number",
        "item__member",
        "item__from_kit__part__number",
        "item__from_kit__lot__code",
        "item__base",
    )
    return sorted((_In(*row) for row in values), key=lambda row: (row.occurred, row.pk))


def _outs(
    engine: Engine, on: date | datetime | None, known: date | datetime | None
) -> list[tuple[str, int, int, datetime, int, int]]:
    """(position, item, amount, occurred at, movement, act) of all that left the engine."""
    values = _moves("from", engine, on, known).values_list(
        "from_spot__name", "item_id", "amount", "act__occurred_at", "pk", "act_id"
    )
    return list(values)


def _newest(ins: Sequence[_In], present: Mapping[tuple[str, int], int]) -> dict[tuple[str, int], _In]:
    """For all that is present, the arrival since which it is: what is left came last, so the newest arrivals that make it up."""
    open_amounts = {key: amount for key, amount in present.items() if amount > 0}
    found: dict[tuple[str, int], _In] = {}
    for came in reversed(ins):
        key = (came.position, came.item)
        if open_amounts.get(key, 0) > 0:
            found[key] = came
            open_amounts[key] -= came.amount
    return found


def _fitted(engine: Engine) -> dict[tuple[int, int, int], _Fitted]:
    """Fittings of the engine by (act, item, spot); of a joint made several times in one act, the first."""
    rows = Fitting.objects.filter(spot__place=engine.place_id).order_by("-pk")
    values = rows.values_list(
        "act_id", "item_id", "spot_id", "job__number", "fitter__username", "checker__username", "reused"
    )
    return {row[:3]: _Fitted(*row[3:]) for row in values}


def _map(engine: Engine) -> EngineMap | None:
    revision = FamilyRevision.objects.filter(family=engine.family_id).defer("document").order_by("-revision").first()
    return None if revision is None else family_of(revision).map


def _ranks(engine: Engine) -> dict[str, int]:
    """Use positions of the family's newest map, in map order."""
    engine_map = _map(engine)
    return {} if engine_map is None else {place.name: rank for rank, place in enumerate(engine_map.positions)}


def _content(came: _In, amount: int, fitted: _Fitted | None) -> Content:
    return Content(
        position=came.position,
        item_id=came.item,
        part=came.part,
        name=came.name,
        lot=came.lot or "",
        serial=came.serial or "",
        member=came.member,
        kit=came.kit,
        base=came.base,
        amount=amount,
        since=came.occurred,
        recorded=came.recorded,
        act_id=came.act,
        kind=came.kind,
        by=came.by,
        fitter=fitted.fitter if fitted else "",
        checker=(fitted.checker or "") if fitted else "",
        job=fitted.job if fitted else came.subject,
        reused=fitted.reused if fitted else False,
        found=came.found,
        lot_unknown=came.lot_unknown,
    )


def engine_story(engine: Engine) -> EngineStory:
    """Everything that happened to an engine in our records, and what each job put into it. Ten queries."""
    ins = _ins(engine, None, None)
    changes = [Change(row.position, row.item, row.amount, row.occurred, row.pk, row.act) for row in ins]
    changes += [
        Change(name, item, -amount, at, pk, act) for name, item, amount, at, pk, act in _outs(engine, None, None)
    ]
    layers = _layers(ins, periods(changes), _fitted(engine), _ranks(engine))
    built = next((layer for layer in layers if layer.job), None)
    return EngineStory(
        engine=engine.number,
        family=engine.family.code,
        events=events(engine),
        layers=layers,
        first_built=max(row.since for row in built.rows) if built else None,
    )


def _layers(
    ins: Iterable[_In],
    found: Iterable[Period],
    fitted: Mapping[tuple[int, int, int], _Fitted],
    rank: Mapping[str, int],
) -> tuple[Layer, ...]:
    came = {(row.act, row.item, row.position): row for row in ins}
    by_job: dict[str, list[LayerRow]] = defaultdict(list)
    for period in found:
        row = came[period.act_in, period.item, period.position]
        fitting = fitted.get((row.act, row.item, row.spot))
        job = "" if row.found else fitting.job if fitting else row.subject
        by_job[job].append(
            LayerRow(
                period.position,
                period.item,
                row.part,
                row.lot or "",
                row.serial or "",
                period.amount,
                period.since,
                period.until,
                fitting.reused if fitting else False,
            )  # fmt: skip
        )
    layers = []
    for job, rows in by_job.items():
        rows.sort(key=lambda one: (rank.get(one.position, len(rank)), one.position, one.since, one.item_id))
        ends = [row.until for row in rows]
        until = None if None in ends else max(end for end in ends if end is not None)
        layers.append(Layer(job, min(row.since for row in rows), until, tuple(rows)))
    return tuple(sorted(layers, key=lambda layer: (layer.since, layer.job)))
