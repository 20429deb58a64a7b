"""Which ranges of engine numbers an engine, or the engine of a job, lies in: what of it depends on its number."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict
from typing import Any

from django.db.models import OuterRef, Subquery

from inventory.domain.errors import DomainError
from kits.domain.by_number import range_hits
from kits.domain.engine_numbers import EngineNumber
from kits.domain.procedures import Operation
from kits.models import Engine, Job, ProcedureRevision
from kits.queries.documents import family_of, newest_family, operation_of
from kits.queries.scope import booked


def ranges_of_engine(engine: Engine) -> list[dict[str, Any]]:
    """By the newest revisions of all procedures of its family. Two queries; one more for each document that was never read.

    A procedure that does not fit the newest map is passed over: booking it is refused by name.
    """
    return _said(_newest_operations(engine), engine)


def ranges_of_job(job: Job) -> list[dict[str, Any]]:
    """By the revisions that the job works by. One query; one more for each document that was never read."""
    family = family_of(job.family_revision)
    return _said((operation_of(row.procedure_revision, family) for row in booked(job)), job.engine)


def _newest_operations(engine: Engine) -> Iterator[Operation]:
    family = newest_family(engine.family_id)
    if family is None:
        return
    newest = ProcedureRevision.objects.filter(procedure=OuterRef("procedure")).order_by("-revision").values("pk")[:1]
    rows = ProcedureRevision.objects.filter(procedure__family=engine.family_id, pk=Subquery(newest))
    for row in rows.defer("document").order_by("procedure__code"):
        with suppress(DomainError):
            yield operation_of(row, family)


def _said(operations: Iterator[Operation], engine: Engine) -> list[dict[str, Any]]:
    number = EngineNumber(engine.family.prefix, engine.digits, engine.family.width)
    return [
        {**asdict(hit), "at": list(hit.at), "procedures": list(hit.procedures)}
        for hit in range_hits(operations, number)
    ]
