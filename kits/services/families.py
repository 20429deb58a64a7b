"""Entering engine families and procedures. Every change is a new frozen revision."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.bead_lengths import bead_questions, refuse_odd_beads
from kits.domain.families import parse_family
from kits.domain.procedures import parse_operation
from kits.models import EngineFamily, FamilyRevision, PartsLine, Procedure, ProcedureRevision
from kits.queries.catalogue import no_such_family
from kits.queries.companions import questions_of
from kits.queries.documents import family_of

Document = Mapping[str, Any]


def _digest(document: Document) -> str:
    """SHA-256 over the canonical form of a document."""
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def enter_family(*, actor: Person, stamp: Stamp, document: Document, makers_stop: str = "") -> Done:
    """Enter an engine family, or its next revision.

    makers_stop  the maker's bulletin that forces it: jobs on an older revision stop until they take it over
    Raises DomainError "family-unusable" with every problem; "revision-taken" when that revision stands with other content.
    Outcome: {"family", "revision", "positions"}.
    """
    code = str(document.get("code", ""))[:40]

    def work(act: Act) -> Body:
        family = parse_family(document)
        locks.name("family", family.code)
        row, _ = EngineFamily.objects.get_or_create(
            code=family.code,
            defaults={"name": family.name, "prefix": family.numbering.prefix, "width": family.numbering.width},
        )
        if row.prefix != family.numbering.prefix:
            raise DomainError(
                "prefix-differs",
                f"{family.code} engines begin with {row.prefix}, not {family.numbering.prefix}.",
                family=family.code,
                prefix=row.prefix,
            )
        _check_next(
            row.revisions.order_by("-revision").values_list("revision", flat=True).first(), family.revision, family.code
        )
        FamilyRevision.objects.create(
            family=row, revision=family.revision, document=document, digest=_digest(document), act=act,
            makers_stop=_bulletin(family.code, family.revision, makers_stop),
        )  # fmt: skip
        return {"family": family.code, "revision": family.revision, "positions": len(family.map.positions)}

    request = {"document": document, "makers_stop": makers_stop}
    return run("enter family", work, actor=actor, stamp=stamp, request=request, subject=code)


def _bulletin(code: str, revision: int, makers_stop: str) -> str:
    """What forces a revision; DomainError "nothing-changed" for the first, which stops nobody."""
    if makers_stop.strip() and revision == 1:
        raise DomainError("nothing-changed", f"{code} has no older revision that a maker's stop could forbid.")
    return makers_stop.strip()


def enter_procedure(
    *, actor: Person, stamp: Stamp, document: Document, because: str = "", makers_stop: str = ""
) -> Done:
    """Enter a procedure, or its next revision, for the newest revision of its family.

    makers_stop  the maker's bulletin that forces it: jobs on an older revision hold, hand over and fit nothing under it
    Raises DomainError "procedure-unusable" with every problem; "not-found" for an unknown family or part; "kit-in-line" when a
    line names a kit (kits only cover leaf parts); "revision-taken"; "bead-implausible" for a bead that is far shorter or longer than its
    joint is round, unless `because` says why it is right.
    Outcome: {"procedure", "revision", "lines", "warnings"}.
    """
    code = str(document.get("code", ""))[:40]

    def work(act: Act) -> Body:
        locks.name("procedure", code)
        family_row = EngineFamily.objects.filter(code=str(document.get("family", ""))).first()
        if family_row is None:
            raise no_such_family(str(document.get("family")))
        newest = FamilyRevision.objects.filter(family=family_row).order_by("-revision").first()
        if newest is None:
            raise DomainError("not-found", f"{family_row.code} has no revision yet.", family=family_row.code)
        family = family_of(newest)
        operation = parse_operation(document, family)
        odd = bead_questions(operation.lines, family.joints)
        refuse_odd_beads(odd, because)
        parts = things.parts_by_number(line.part for line in operation.lines)
        kits = sorted(number for number, part in parts.items() if part.kind.startswith("kit"))
        if kits:
            raise DomainError(
                "kit-in-line", f"{', '.join(kits)}: a parts line names leaf parts; kits only cover them.", parts=kits
            )
        row, _ = Procedure.objects.get_or_create(
            code=operation.code, defaults={"family": family_row, "name": operation.name}
        )
        _check_next(
            row.revisions.order_by("-revision").values_list("revision", flat=True).first(), operation.revision, row.code
        )
        revision = ProcedureRevision.objects.create(
            procedure=row, revision=operation.revision, document=document, digest=_digest(document), act=act,
            makers_stop=_bulletin(row.code, operation.revision, makers_stop),
        )  # fmt: skip
        PartsLine.objects.bulk_create(
            [
                PartsLine(revision=revision, line=line.id, part=parts[line.part], at=", ".join(line.positions))
                for line in operation.lines
            ]
        )
        return {
            "procedure": operation.code,
            "revision": operation.revision,
            "lines": len(operation.lines),
            "warnings": [*operation.warnings, *odd, *questions_of(operation, family, parts)],
        }

    request = {"document": document, "because": because, "makers_stop": makers_stop}
    return run("enter procedure", work, actor=actor, stamp=stamp, request=request, subject=code, reason=because)


def _check_next(newest: int | None, given: int, code: str) -> None:
    wanted = (newest or 0) + 1
    if given != wanted:
        raise DomainError(
            "revision-taken",
            f"{code}: the next revision is {wanted}; {given} was given.",
            code_of=code,
            next=wanted,
            given=given,
        )
