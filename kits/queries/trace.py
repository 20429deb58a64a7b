"""The trace of an engine: its contents and gaps (see `contents`), its story, and its layers, one for each job."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from inventory.queries.snapshot import snapshot
from kits.domain.periods import Change, Period, periods
from kits.models import Engine
from kits.queries.contents import (
    ActSaid,
    Arrival,
    Content,
    Gap,
    counting,
    engine_contents,
    fittings_of,
    history,
    items_of,
    map_order,
    not_recorded,
)
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
class LayerRow:
    """One thing that sat at a position, from when until when (None: still)."""

    position: str
    item_id: int
    part: str
    lot: str
    serial: str
    amount: int
    base: str
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


def engine_story(engine: Engine) -> EngineStory:
    """Everything that happened to an engine in our records, and what each job put into it. Sixteen queries."""
    with snapshot():
        came, left, acts = history(engine)
        ins = counting(came, acts)
        changes = [_change(row, row.amount, acts) for row in ins]
        changes += [_change(row, -row.amount, acts) for row in counting(left, acts)]
        layers = _layers(engine, ins, acts, periods(changes))
        told = events(engine)
    built = next((layer for layer in layers if layer.job), None)
    return EngineStory(
        engine=engine.number,
        family=engine.family.code,
        events=told,
        layers=layers,
        first_built=max(row.since for row in built.rows) if built else None,
    )


def _change(row: Arrival, amount: int, acts: Mapping[int, ActSaid]) -> Change:
    return Change(row.position, row.item, amount, acts[row.act].occurred, row.pk, row.act)


def _layers(
    engine: Engine, ins: Sequence[Arrival], acts: Mapping[int, ActSaid], found: Iterable[Period]
) -> tuple[Layer, ...]:
    items, fitted, rank = items_of(ins), fittings_of(ins), map_order(engine)
    came = {(row.act, row.item, row.position): row for row in ins}
    by_job: dict[str, list[LayerRow]] = defaultdict(list)
    for period in found:
        row = came[period.act_in, period.item, period.position]
        fitting = fitted.get((row.act, row.item, row.spot))
        job = "" if row.found else fitting.job if fitting else acts[row.act].subject
        item = items[row.item]
        by_job[job].append(
            LayerRow(
                position=period.position,
                item_id=period.item,
                part=item.part,
                lot=item.lot or "",
                serial=item.serial or "",
                amount=period.amount,
                base=item.base,
                since=period.since,
                until=period.until,
                reused=fitting.reused if fitting else False,
            )
        )
    layers = []
    for job, rows in by_job.items():
        rows.sort(key=lambda one: (rank.get(one.position, len(rank)), one.position, one.since, one.item_id))
        ends = [row.until for row in rows]
        until = None if None in ends else max(end for end in ends if end is not None)
        layers.append(Layer(job, min(row.since for row in rows), until, tuple(rows)))
    return tuple(sorted(layers, key=lambda layer: (layer.since, layer.job)))
