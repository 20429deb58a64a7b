"""Readings to be read and computed with: each says how its gauge stood on its day, and why it may not decide a pass."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Prefetch, QuerySet

from inventory.domain.quantities import base_unit_name, format_amount
from inventory.models import Serial
from inventory.queries.days import shop_day
from kits.domain.allowance import combined
from kits.domain.families import Family
from kits.domain.readings import WHAT, Conditions, agreed, marks, never_used
from kits.models import Calibration, Job, Reading
from kits.queries.documents import family_of
from kits.queries.gauges import standing_on
from kits.queries.read_again import closed_of

WHATS = sorted(WHAT)


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """One reading as it counts now.

    value        whole base units (`base`); `shown` in the unit that was typed
    uncertainty  standard uncertainty of the gauge on that day, in the same base units; expansion_ppm of the gauge, as typed
    part_mk, gauge_mk   temperatures in millikelvin; null: not said
    withdrawn    why it does not count any more; empty: it counts
    closed       by which cut it says nothing of what stands there now; empty: by none
    marks        why it may not decide a pass; empty: it may
    computed_with   false: withdrawn, closed by a cut, or taken with rubber rings on: nothing is ever computed from it
    """

    id: int
    job: str
    what: str
    place: str
    set: str
    item: int | None
    point: str
    repeat: int
    typed: str
    meant: str
    value: int
    base: str
    shown: str
    gauge: str
    gauge_state: str
    uncertainty: int
    expansion_ppm: str
    part_mk: int | None
    gauge_mk: int | None
    clean: bool | None
    clamped: bool | None
    clamp_load: str
    without_rubber: bool | None
    confirmed: bool
    reason: str
    by: str
    at: datetime
    withdrawn: str
    closed: str
    marks: tuple[str, ...]
    computed_with: bool

    def subject(self) -> tuple[str, str, str, int | None, str]:
        """What is read where: repeats of one reading have the same."""
        return self.what, self.place, self.set, self.item, self.point


def readings() -> QuerySet[Reading]:
    """All readings with everything that `rendered` needs. Two queries, whatever their number."""
    calibrations = Prefetch("gauge__calibrations", Calibration.objects.order_by("pk"))
    return (
        Reading.objects.select_related(
            "job__family_revision", "gauge__withdrawal__act", "serial", "act__actor", "withdrawal"
        )
        .defer("job__family_revision__document")
        .prefetch_related(calibrations)
    )


def readings_of(
    *,
    job: Job | None = None,
    serials: Iterable[Serial] | None = None,
    what: str | Collection[str] = (),
    place: str = "",
    ids: Iterable[int] | None = None,
    with_withdrawn: bool = False,
) -> tuple[ReadingRow, ...]:
    """Readings in the order in which they were entered, for those who compute from them. Three queries.

    job      of this job; serials: of these things, on whatever job they were read. One of `job`, `serials`, `ids` is given.
    what     code or codes of what is read; empty: all
    """
    if job is None and serials is None and ids is None:
        raise ValueError("readings of a job, of things, or by their ids")
    rows = readings()
    if job is not None:
        rows = rows.filter(job=job)
    if serials is not None:
        rows = rows.filter(serial__in=list(serials))
    if ids is not None:
        rows = rows.filter(pk__in=list(ids))
    if what:
        rows = rows.filter(what__in=[what] if isinstance(what, str) else list(what))
    if place:
        rows = rows.filter(place=place)
    if not with_withdrawn:
        rows = rows.filter(withdrawal__isnull=True)
    return tuple(rendered(rows.order_by("pk")))


def rendered(rows: Iterable[Reading]) -> list[ReadingRow]:
    """Rows of `readings` as plain values. One query more where something was read that can be cut."""
    every = list(rows)
    closed = closed_of(every)
    return [_rendered(row, closed.get(row.pk, "")) for row in every]


def clamp_needed(family: Family) -> bool:
    """Whether the family's maker wants liners gauged clamped: its facts say with what."""
    return family.facts.clamping is not None


def repeated(rows: Sequence[ReadingRow]) -> dict[str, Any]:
    """What repeats of one subject come to, within the allowance of the least certain of their gauges, JSON-ready."""
    allowance = combined([max(row.uncertainty for row in rows)])
    found = agreed([row.value for row in rows], allowance)
    first = rows[0]
    return {
        **{name: getattr(first, name) for name in ("what", "place", "set", "item", "point")},
        "count": found.count,
        "value": found.value,
        "spread": found.spread,
        "allowance": allowance,
        "how": found.how,
    }


def _rendered(row: Reading, closed: str) -> ReadingRow:
    its = standing_on(row.gauge, shop_day(row.act.occurred_at))
    conditions = Conditions(row.is_clean, row.clamped, row.without_rubber)
    end = getattr(row, "withdrawal", None)
    dimension = WHAT[row.what].dimension
    clamp = clamp_needed(family_of(row.job.family_revision))
    return ReadingRow(
        id=row.pk,
        job=row.job.number,
        what=row.what,
        place=row.place,
        set=row.serial.number if row.serial is not None else "",
        item=row.item_id,
        point=row.point,
        repeat=row.repeat,
        typed=row.typed,
        meant=row.meant,
        value=row.value,
        base=base_unit_name(dimension),
        shown=format_amount(row.value, dimension, row.unit),
        gauge=row.gauge.number,
        gauge_state=its.state,
        uncertainty=its.uncertainty,
        expansion_ppm=row.gauge.expansion_ppm,
        part_mk=row.part_mk,
        gauge_mk=row.gauge_mk,
        clean=row.is_clean,
        clamped=row.clamped,
        clamp_load=row.clamp_load,
        without_rubber=row.without_rubber,
        confirmed=row.confirmed,
        reason=row.reason,
        by=row.act.actor.username,
        at=row.act.occurred_at,
        withdrawn=end.reason if end is not None else "",
        closed=closed,
        marks=marks(row.what, conditions, its.state, clamp),
        computed_with=end is None and not closed and not never_used(row.what, conditions),
    )
