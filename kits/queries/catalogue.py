"""Families, procedures and engines as lists and records to be read."""

from __future__ import annotations

import re
from typing import Any

from django.db.models import Exists, F, Max, OuterRef, Q, QuerySet, Subquery

from inventory.domain.errors import DomainError
from inventory.models import Part
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


def parts_said(text: str) -> QuerySet[Part]:
    """Parts that several words speak of, as somebody at a bench says it: each word in the number or name, or in what the parts
    lines say of them, the use position and the name of the engine family. None for a single word."""
    words = re.findall(r"[^\W_]{2,}", text)
    found = Part.objects.all() if len(words) > 1 else Part.objects.none()
    for word in words:
        lines = PartsLine.objects.filter(part=OuterRef("pk"))
        family = "revision__procedure__family"
        said = (
            Q(at__icontains=word)
            | Q(**{f"{family}__name__icontains": word})
            | Q(**{f"{family}__code__icontains": word})
        )
        found = found.filter(Q(name__icontains=word) | Q(number__icontains=word) | Exists(lines.filter(said)))
    return found


def parts_of(family: str) -> QuerySet[PartsLine, int]:
    """Ids of parts that the newest revisions of a family's procedures ask for."""
    return _newest_lines(family).values_list("part", flat=True)


def parts_at(position: str, family: str = "") -> QuerySet[PartsLine, int]:
    """Ids of parts that the newest revisions of procedures ask for at a use position; of one family, where it is named."""
    alone, first, last = Q(at=position), Q(at__startswith=f"{position}, "), Q(at__endswith=f", {position}")
    return (
        _newest_lines(family)
        .filter(alone | first | last | Q(at__contains=f", {position}, "))
        .values_list("part", flat=True)
    )


def _newest_lines(family: str = "") -> QuerySet[PartsLine]:
    newest = (
        ProcedureRevision.objects.filter(procedure=OuterRef("revision__procedure"))
        .order_by("-revision")
        .values("pk")[:1]
    )
    lines = PartsLine.objects.filter(revision=Subquery(newest))
    return lines.filter(revision__procedure__family__code=family) if family else lines


def engines() -> QuerySet[Engine]:
    """All engines, each with its family, place and owner; the owner's name is not for everybody."""
    return Engine.objects.select_related("family", "place", "owner")
