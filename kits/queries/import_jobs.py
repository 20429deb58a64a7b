"""What is on record beside tables of jobs; and jobs in the same columns, as they go out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Prefetch

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell
from inventory.domain.import_known import Known
from inventory.domain.part_numbers import compare_key
from inventory.models import Owner, Site
from inventory.queries.days import shop_day
from kits.domain.engine_numbers import parse_engine_number
from kits.domain.import_jobs import KnownJobs
from kits.models import Engine, EngineFamily, Job, JobOperation, Procedure
from kits.queries.terms import readings_of


def known_jobs(rows: Sequence[Mapping[str, Cell]]) -> Known:
    """Six queries, and one for each engine on record that a row names."""
    families = {one.prefix: (one.code, one.width) for one in EngineFamily.objects.all()}
    engines = dict(Engine.objects.values_list("number", "owner_id"))
    named = _engines(rows, {prefix: width for prefix, (_, width) in families.items()}) & engines.keys()
    readings = {engine.number: readings_of(engine) for engine in Engine.objects.filter(number__in=named)}
    more = KnownJobs(
        jobs={job_key(number): number for number in Job.objects.values_list("number", flat=True)},
        families=families,
        engines=engines,
        procedures=dict(Procedure.objects.values_list("code", "family__code")),
        sites=tuple(Site.objects.order_by("code").values_list("code", flat=True)),
        owners=frozenset(Owner.objects.values_list("pk", flat=True)),
        readings=readings,
    )
    return Known(more=more)


def _engines(rows: Sequence[Mapping[str, Cell]], widths: Mapping[str, int]) -> set[str]:
    found = set()
    for row in rows:
        try:
            found.add(parse_engine_number(row.get("engine", Cell()).text, widths).text)
        except DomainError:
            continue
    return found


def job_key(number: str) -> str:
    """What makes two numbers the same; a number with nothing in it to compare is only itself."""
    try:
        return compare_key(number)
    except DomainError:
        return number


def jobs_on_record(rows: Mapping[int, Mapping[str, Any]]) -> dict[int, Mapping[str, Any]]:
    """Position -> engine and days of the job that a row names. Two queries."""
    wanted = {row.get("job") for row in rows.values()}
    found = {
        job.number: {
            "engine": job.engine.number,
            "strip on": job.strip_on.isoformat(),
            "fit on": job.fit_on.isoformat(),
        }
        for job in Job.objects.filter(number__in=wanted).select_related("engine")
    }
    return {at: found[row["job"]] for at, row in rows.items() if row.get("job") in found}


def job_records() -> Iterator[Mapping[str, str | int | date | None]]:
    """Every job in the columns of `JOBS`, by number; a cancelled one with a remark, which is not brought in again."""
    operations = JobOperation.objects.select_related("procedure_revision__procedure").order_by("pk")
    rows = Job.objects.select_related("engine__family", "site", "end__act").prefetch_related(
        Prefetch("operations", queryset=operations)
    )
    for job in rows.order_by("number").iterator(chunk_size=500):
        end = getattr(job, "end", None)
        codes = dict.fromkeys(one.procedure_revision.procedure.code for one in job.operations.all())
        closed = None if end is None or end.cancelled else end.closed_on or shop_day(end.act.occurred_at)
        yield {
            "job": job.number,
            "engine": job.engine.number,
            "family": job.engine.family.code,
            "procedures": "+".join(codes),
            "site": job.site.code,
            "strip on": job.strip_on,
            "fit on": job.fit_on,
            "closed on": closed,
            "owner": job.engine.owner_id,
            "hours": str(job.hours) if job.hours is not None else None,
            "kilometres": job.kilometres,
            "complaint": job.complaint,
            "remark": f"cancelled: {end.reason}" if end is not None and end.cancelled else None,
        }
