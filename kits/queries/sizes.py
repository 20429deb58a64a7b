"""The record of an engine's sizes: what counts, and every entry with who made it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from inventory.queries.days import shop_day
from kits.domain.sizes import Entry, StandingSize, standing_sizes
from kits.models import Engine, EngineSize, EngineSizeReading, Gauge
from kits.queries.documents import newest_family
from kits.queries.gauges import gauges_by_number, standing_on


@dataclass(frozen=True, slots=True)
class SizeEntry:
    """One entry, JSON-ready; `gauge_state`: how the gauge stood on the day; readings: ids of those it was accepted from; withdrawn: why
    it does not count, empty where it does."""

    id: int
    size: str
    place: str
    typed: str
    value_nm: int | None
    gauge: str
    gauge_state: str
    renewed: bool
    detail: str
    job: str
    at: datetime
    by: str
    readings: tuple[int, ...]
    withdrawn: str


@dataclass(frozen=True, slots=True)
class EngineSizes:
    """How the sizes of an engine stand by the newest facts of its family, and all entries, withdrawn ones too."""

    engine: str
    sizes: tuple[StandingSize, ...]
    entries: tuple[SizeEntry, ...] = field(default=())


def counting_sizes(upto_act: int | None = None) -> QuerySet[EngineSize]:
    """The entries that count, of all engines; as they stood when an act was recorded (`upto_act`)."""
    gone = EngineSizeReading.objects.filter(size=OuterRef("pk"), reading__withdrawal__isnull=False)
    rows = EngineSize.objects.all()
    if upto_act is None:
        rows = rows.filter(withdrawal__isnull=True)
    else:
        rows = rows.filter(Q(withdrawal__isnull=True) | Q(withdrawal__act__gt=upto_act), act_id__lte=upto_act)
        gone = gone.filter(reading__withdrawal__act__lte=upto_act)
    return rows.filter(~Exists(gone))


def entries_of(engine_id: int, upto_act: int | None = None) -> tuple[Entry, ...]:
    """The entries of an engine that count, in order; as they stood when an act was recorded (`upto_act`). One query."""
    rows = counting_sizes(upto_act).filter(engine=engine_id)
    columns = (
        "pk", "name", "place", "value", "renewed", "detail", "job__number", "act__occurred_at", "gauge__number",
    )  # fmt: skip
    return tuple(
        Entry(pk, name, place, value, renewed, detail, job, shop_day(at), gauge or "", at)
        for pk, name, place, value, renewed, detail, job, at, gauge in rows.order_by("pk").values_list(*columns)
    )


def standing_now(engine: Engine) -> tuple[StandingSize, ...]:
    """How the sizes of an engine stand. Two queries at most."""
    entries = entries_of(engine.pk)
    if not entries:
        return ()
    family = newest_family(engine.family_id)
    return standing_sizes(family.sizes, entries, family.map) if family is not None else ()


def sizes_of(engine: Engine) -> EngineSizes:
    """The whole record. Seven queries at most."""
    rows = list(
        EngineSize.objects.filter(engine=engine)
        .select_related("act__actor", "job", "gauge", "withdrawal")
        .prefetch_related(
            Prefetch("readings", EngineSizeReading.objects.select_related("reading__withdrawal").order_by("pk"))
        )
        .order_by("pk")
    )
    gauges = gauges_by_number(row.gauge.number for row in rows if row.gauge)
    return EngineSizes(engine.number, standing_now(engine), tuple(_entry(row, gauges) for row in rows))


def _entry(row: EngineSize, gauges: dict[str, Gauge]) -> SizeEntry:
    end, read = getattr(row, "withdrawal", None), [one.reading for one in row.readings.all()]
    gone = [
        f"reading {one.pk} was withdrawn: {one.withdrawal.reason}" for one in read if getattr(one, "withdrawal", None)
    ]
    number = row.gauge.number if row.gauge else ""
    state = standing_on(gauges[number], shop_day(row.act.occurred_at)).state if number else ""
    return SizeEntry(
        id=row.pk,
        size=row.name,
        place=row.place,
        typed=row.typed,
        value_nm=row.value,
        gauge=number,
        gauge_state=state,
        renewed=row.renewed,
        detail=row.detail,
        job=row.job.number,
        at=row.act.occurred_at,
        by=row.act.actor.username,
        readings=tuple(one.pk for one in read),
        withdrawn=end.reason if end is not None else "; ".join(gone),
    )
