"""Entering engine families and procedures. Every change is a new frozen revision."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import Any

from inventory import locks
from inventory.domain.catalogue import KITS
from inventory.domain.errors import DomainError
from inventory.models import Act, Part, Person
from inventory.services import things
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.amounts import measured_otherwise
from kits.domain.bead_lengths import bead_questions, refuse_odd_beads
from kits.domain.engine_numbers import told_apart
from kits.domain.families import Family, parse_family
from kits.domain.procedures import PartsLine as Line
from kits.domain.procedures import parse_operation
from kits.domain.reading import Reader
from kits.models import EngineFamily, FamilyRevision, PartsLine, Procedure, ProcedureRevision
from kits.queries.catalogue import no_such_family
from kits.queries.companions import questions_of
from kits.queries.documents import family_of
from kits.queries.unread_numbers import unread_notices

Document = Mapping[str, Any]


def _digest(document: Document) -> str:
    """SHA-256 over the canonical form of a document."""
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def enter_family(*, actor: Person, stamp: Stamp, document: Document, makers_stop: str = "") -> Done:
    """Enter an engine family, or its next revision.

    makers_stop  the maker's bulletin that forces it: jobs on an older revision stop until they take it over
    Raises DomainError "family-unusable" with every problem; "prefix-differs" where its engine numbers are others than those on record, or
    could be taken for another family's; "revision-taken" when that revision stands with other content.
    Outcome: {"family", "revision", "positions", "unread_notices": notices whose engine number no family on record has, as
    `kits/queries/unread_numbers.py` says them}.
    """
    code = str(document.get("code", ""))[:40]

    def work(act: Act) -> Body:
        family = parse_family(document)
        locks.name("family", "all")
        _refuse_other_numbers(family)
        row = _row_of(family)
        _check_next(
            row.revisions.order_by("-revision").values_list("revision", flat=True).first(), family.revision, family.code
        )
        FamilyRevision.objects.create(
            family=row, revision=family.revision, document=document, digest=_digest(document), act=act,
            makers_stop=_bulletin(family.code, family.revision, makers_stop),
        )  # fmt: skip
        EngineFamily.objects.filter(pk=row.pk).exclude(name=family.name).update(name=family.name)
        return {
            "family": family.code,
            "revision": family.revision,
            "positions": len(family.map.positions),
            "unread_notices": unread_notices(),
        }

    request = {"document": document, "makers_stop": makers_stop}
    return run("enter family", work, actor=actor, stamp=stamp, request=request, subject=code)


def _refuse_other_numbers(family: Family) -> None:
    """DomainError "prefix-differs" where engines on record would not be found by their numbers any more, or be taken for another family's."""
    number = family.numbering
    for code, prefix, width in EngineFamily.objects.order_by("code").values_list("code", "prefix", "width"):
        if code == family.code and (prefix, width) != (number.prefix, number.width):
            raise DomainError(
                "prefix-differs",
                f"{code} engines are numbered {prefix} and {width} digits, not {number.prefix} and {number.width}.",
                family=code,
                prefix=prefix,
                width=width,
            )
        if code != family.code and not told_apart(prefix, number.prefix):
            raise DomainError(
                "prefix-differs",
                f"Engine numbers that begin with {number.prefix} could not be told from those of {code}, which begin with {prefix}.",
                ways_out=("Write the number with what stands on the engine before it, so that the two differ.",),
                family=family.code,
                other=code,
                prefix=prefix,
            )


def _row_of(family: Family) -> EngineFamily:
    numbers = {"prefix": family.numbering.prefix, "width": family.numbering.width}
    row, _ = EngineFamily.objects.get_or_create(code=family.code, defaults={"name": family.name, **numbers})
    return row


def _refuse_other_measures(code: str, lines: Iterable[Line], parts: Mapping[str, Part]) -> None:
    """DomainError "procedure-unusable" names every line that asks for its part by a measure in which it is not kept."""
    reader = Reader()
    for line in lines:
        part = parts[line.part]
        why = measured_otherwise(line.amount, part.unit, part.base, part.net_ul, part.density_mg_per_ml)
        if why:
            reader.problem(f"line {line.id}", f"{part.number}: {why}")
    reader.refuse("procedure-unusable", f"The procedure {code[:20]!r} cannot be used")


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
    Raises DomainError "procedure-unusable" with every problem, lines that ask for a part by a measure in which it is not kept among them;
    "operation-other-family" for the code of a procedure of another family; "not-found" for an unknown family or part; "kit-in-line" when a
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
        kits = sorted(number for number, part in parts.items() if part.kind in KITS)
        if kits:
            raise DomainError(
                "kit-in-line", f"{', '.join(kits)}: a parts line names leaf parts; kits only cover them.", parts=kits
            )
        _refuse_other_measures(operation.code, operation.lines, parts)
        row, _ = Procedure.objects.select_related("family").get_or_create(
            code=operation.code, defaults={"family": family_row, "name": operation.name}
        )
        if row.family_id != family_row.pk:
            raise DomainError(
                "operation-other-family",
                f"{row.code} is a procedure of {row.family.code}: one of {family_row.code} has a code of its own.",
                procedure=row.code,
                family=row.family.code,
            )
        _check_next(
            row.revisions.order_by("-revision").values_list("revision", flat=True).first(), operation.revision, row.code
        )
        revision = ProcedureRevision.objects.create(
            procedure=row, revision=operation.revision, document=document, digest=_digest(document), act=act,
            makers_stop=_bulletin(row.code, operation.revision, makers_stop),
        )  # fmt: skip
        Procedure.objects.filter(pk=row.pk).exclude(name=operation.name).update(name=operation.name)
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
