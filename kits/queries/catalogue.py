"""Families, procedures and engines as lists and records to be read."""

from __future__ import annotations

from typing import Any

from django.db.models import F, Max, OuterRef, Q, QuerySet, Subquery

from inventory.domain.errors import DomainError
from inventory.queries.catalogue import no_such
from kits.models import Engine, EngineFamily, FamilyRevision, PartsLine, Procedure, ProcedureRevision


def families() -> QuerySet[EngineFamily]:
    """All engine families, each with the number of its newest revision."""
    return EngineFamily.objects.annotate(newest=Max("revisions__revision"))


def family(code: str) -> EngineFamily:
    """One family; DomainError "not-found"."""
    found = families().filter(code=code).first()
    if found is None:
        raise no_such_family(code)
    return found


def no_such_family(code: str) -> DomainError:
    """The refusal "not-found" of an engine family, with near ones. One query."""
    return no_such("engine family", code, EngineFamily.objects.values_list("code", flat=True), "family")


def no_such_procedure(code: str) -> DomainError:
    """The refusal "not-found" of a procedure, with near ones. One query."""
    return no_such("procedure", code, Procedure.objects.values_list("code", flat=True))


def family_document(family: EngineFamily) -> dict[str, Any]:
    """The document of the newest revision, {} before the first."""
    newest = FamilyRevision.objects.filter(family=family).order_by("-revision").first()
    return dict(newest.document) if newest else {}


def procedures() -> QuerySet[Procedure]:
    """All procedures, each with its family and the number of its newest revision."""
    return Procedure.objects.select_related("family").annotate(newest=Max("revisions__revision"))


def procedure(code: str) -> Procedure:
    """One procedure; DomainError "not-found"."""
    found = procedures().filter(code=code).first()
    if found is None:
        raise no_such_procedure(code)
    return found


def procedure_document(procedure: Procedure) -> dict[str, Any]:
    """The document of the newest revision, {} before the first."""
    newest = ProcedureRevision.objects.filter(procedure=procedure).order_by("-revision").first()
    return dict(newest.document) if newest else {}


def lines_with(part_id: int) -> list[dict[str, Any]]:
    """Where the newest revisions of procedures ask for the part. One query."""
    rows = _newest_lines().filter(part=part_id)
    named = rows.values("line", "at", procedure=F("revision__procedure__code"), number=F("revision__revision"))
    return [dict(row) for row in named.order_by("procedure", "line")]


def parts_at(position: str) -> QuerySet[PartsLine, int]:
    """Ids of parts that the newest revisions of procedures ask for at a use position."""
    alone, first, last = Q(at=position), Q(at__startswith=f"{position}, "), Q(at__endswith=f", {position}")
    return (
        _newest_lines().filter(alone | first | last | Q(at__contains=f", {position}, ")).values_list("part", flat=True)
    )


def _newest_lines() -> QuerySet[PartsLine]:
    newest = (
        ProcedureRevision.objects.filter(procedure=OuterRef("revision__procedure"))
        .order_by("-revision")
        .values("pk")[:1]
    )
    return PartsLine.objects.filter(revision=Subquery(newest))


def engines() -> QuerySet[Engine]:
    """All engines, each with its family, place and owner; the owner's name is not for everybody."""
    return Engine.objects.select_related("family", "place", "owner")
