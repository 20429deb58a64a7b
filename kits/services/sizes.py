"""Sizes that stay with the engine: entered on a job, withdrawn with a reason, never changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.families import Family
from kits.domain.size_facts import SizeFact, totals_of
from kits.domain.sizes import Entry, check_entry, counting, left_here, millimetres, standing_nm
from kits.models import EngineSize, EngineSizeReading, EngineSizeWithdrawal, Gauge, Job
from kits.queries.documents import family_of
from kits.queries.gauges import gauges_by_number, no_such_gauge
from kits.queries.readings import ReadingRow, readings_of
from kits.queries.scope import job_by_number
from kits.queries.sizes import entries_of
from kits.services.shared import open_job, touch
from kits.services.taking import taken_of


@dataclass(frozen=True, slots=True)
class SizeIn:
    """One entry.

    size     name of a size that the family keeps
    place    place of the engine: ENGINE, CYL-2, MAIN-3, or a use position
    value    as typed, with its unit: of a cut what this job took off, of an undersize how far the piece is below its new size, of a
             size what was measured; empty for a thread
    gauge    number of the gauge it was read with; empty for a thread, and for readings
    readings ids of readings of this job that are accepted as a measured size, in place of value and gauge: repeats of one thing
    renewed  the piece is new: what was entered of it before counts no longer
    detail   of a thread its insert; else what is to be known
    """

    size: str
    place: str
    value: str = ""
    gauge: str = ""
    renewed: bool = False
    detail: str = ""
    readings: Sequence[int] = ()


def record_sizes(*, actor: Person, stamp: Stamp, job: str, sizes: Sequence[SizeIn]) -> Done:
    """Enter sizes of the job's engine; all lines or none. They limit the parts and the cuts of every job from then on.

    Outcome: {"engine", "sizes": [{id, size, place, value_nm, off_nm, left_nm}]}: off and left at the first use position of the place.
    Raises "nothing-given", "not-found", "job-ended"; ManyErrors "size-unusable", "size-goes-back", "size-over-limit",
    "position-unknown", "gauge-wrong", "not-found" (gauge, reading), "no-limit" (the family keeps no such size), "readings-disagree",
    those of amounts.
    """

    def work(act: Act) -> Body:
        if not sizes:
            raise DomainError("nothing-given", "No size was given.")
        row = open_job(job)
        # Two jobs may be open on one engine: the second sees what the first has cut.
        locks.row("kits_engine", [row.engine_id])
        family = family_of(row.family_revision)
        gauges = gauges_by_number(one.gauge for one in sizes if one.gauge)
        rows = _readings(row, sizes)
        known, made, errors = list(entries_of(row.engine_id)), [], []
        for number, one in enumerate(sizes, 1):
            try:
                made.append(_read(act, row, family, one, gauges, rows, known))
            except DomainError as error:
                errors.append((number, error))
        if errors:
            raise ManyErrors(tuple(errors))
        EngineSize.objects.bulk_create(made)
        EngineSizeReading.objects.bulk_create(
            [
                EngineSizeReading(size=size, reading_id=number)
                for size, one in zip(made, sizes, strict=True)
                for number in sorted(set(one.readings))
            ]
        )
        touch(row)
        return {"engine": row.engine.number, "sizes": [_said(family, one, entries_of(row.engine_id)) for one in made]}

    request = {"job": job, "sizes": [asdict(one) | {"readings": sorted(one.readings)} for one in sizes]}
    return run("record sizes", work, actor=actor, stamp=stamp, request=request, subject=job)


def _readings(job: Job, sizes: Sequence[SizeIn]) -> dict[int, ReadingRow]:
    """The readings of the job that the lines name, as far as they are there."""
    ids = {number for one in sizes for number in one.readings}
    return {row.id: row for row in readings_of(ids=ids, with_withdrawn=True) if row.job == job.number} if ids else {}


def _accepted(family: Family, fact: SizeFact, one: SizeIn, rows: dict[int, ReadingRow]) -> SizeIn:
    """The line with the value that its readings come to, at 20 °C, and the gauge of the last of them."""
    mine = []
    for number in sorted(set(one.readings)):
        row = rows.get(number)
        if row is None:
            raise DomainError("not-found", f"There is no reading {number} on this job.", reading=number)
        mine.append(row)

    def unusable(why: str) -> DomainError:
        return DomainError(
            "size-unusable", f"{why}.", size=fact.name, place=one.place, readings=[row.id for row in mine]
        )

    if one.value or one.gauge:
        raise unusable(f"{fact.name}: either a value with its gauge, or readings")
    for row in mine:
        if not fact.read or row.what != fact.read or row.set or row.item is not None:
            raise unusable(f"{fact.name} is not read by {row.what or 'that'} (reading {row.id})")
        # One journal says nothing of the others: what was read is the place itself, or holds it.
        if not family.map.contains(row.place, one.place):
            raise unusable(f"Reading {row.id} is of {row.place}, not of {one.place}")
        if not row.computed_with:
            raise unusable(f"Reading {row.id} does not count: {row.withdrawn or row.closed or 'rubber rings were on'}")
    taken = taken_of(family, mine)
    if len(taken) != 1:
        raise unusable(f"{fact.name} is one size: the readings are of {len(taken)} points")
    if taken[0].doubts and not one.detail.strip():
        raise unusable(f"{'; '.join(taken[0].doubts)}: say in the detail why it is taken all the same")
    return replace(one, value=millimetres(taken[0].value_nm), gauge=mine[-1].gauge)


def _read(
    act: Act,
    job: Job,
    family: Family,
    one: SizeIn,
    gauges: dict[str, Gauge],
    rows: dict[int, ReadingRow],
    known: list[Entry],
) -> EngineSize:
    """One line as a row that is not written yet; what it says counts for the lines behind it."""
    fact = next((fact for fact in family.sizes if fact.name == one.size), None)
    if fact is None:
        names = [fact.name for fact in family.sizes]
        raise DomainError(
            "no-limit",
            f"{family.name} keeps no size {one.size[:60]!r}: {', '.join(names) or 'none'}.",
            size=one.size[:60],
            known=names,
        )
    if one.readings:
        one = _accepted(family, fact, one, rows)
        gauges = gauges | gauges_by_number([one.gauge])
    value = read_amount(one.value, Dimension.LENGTH).amount if one.value else None
    if one.gauge and one.gauge not in gauges:
        raise no_such_gauge(one.gauge)
    gauge = gauges.get(one.gauge)
    if value is not None and gauge is None:
        raise DomainError("size-unusable", f"Which gauge was {one.size} read with?", size=one.size, place=one.place)
    if gauge is not None and gauge.measures != Dimension.LENGTH:
        raise DomainError("gauge-wrong", f"Gauge {gauge.number} measures {gauge.measures}.", gauge=gauge.number)
    new = Entry(
        0, one.size, one.place, value, one.renewed, one.detail, job.number, shop_day(act.occurred_at), one.gauge
    )
    check_entry(fact, known, new, family.map, totals_of(family.sizes, fact.name))
    known.append(replace(new, id=-len(known) - 1))
    return EngineSize(
        engine=job.engine, job=job, act=act, name=one.size, place=one.place, typed=one.value, value=value, gauge=gauge,
        renewed=one.renewed, detail=one.detail,
    )  # fmt: skip


def _said(family: Family, row: EngineSize, entries: Sequence[Entry]) -> Body:
    fact = next(fact for fact in family.sizes if fact.name == row.name)
    first = min((one for one in fact.positions if family.map.contains(row.place, one)), key=family.map.order)
    held = counting(entries, row.name, first, family.map)
    return {
        "id": row.pk,
        "size": row.name,
        "place": row.place,
        "value_nm": row.value,
        "off_nm": standing_nm(fact, held),
        "left_nm": left_here(family.sizes, fact, entries, first, family.map),
    }


def withdraw_size(*, actor: Person, stamp: Stamp, job: str, size_id: int, reason: str) -> Done:
    """An entry turned out wrong: it stays with the reason, and never counted. Also on a job that ended.

    Outcome: {"size", "reason"}. Raises DomainError "not-found", "withdrawn-already", "reason-missing".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", f"Why does entry {size_id} not count?")
        row = job_by_number(job)
        locks.row("kits_job", [row.pk])
        locks.row("kits_engine", [row.engine_id])
        found = EngineSize.objects.filter(job=row, pk=size_id).select_related("withdrawal").first()
        if found is None:
            raise DomainError("not-found", f"Job {job} has no entry {size_id} of a size.", job=job, size=size_id)
        end = getattr(found, "withdrawal", None)
        if end is not None:
            raise DomainError("withdrawn-already", f"Entry {size_id} was withdrawn: {end.reason}", size=size_id)
        EngineSizeWithdrawal.objects.create(size=found, act=act, reason=reason)
        row.refresh_from_db(fields=["version"])
        touch(row)
        return {"size": size_id, "reason": reason}

    request = {"job": job, "size": size_id, "reason": reason}
    return run("withdraw size", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
