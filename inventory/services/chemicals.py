"""What keeps a chemical from being issued. Private to services: an open transaction is there, nothing is written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from inventory.domain.errors import DomainError
from inventory.domain.safety_sheets import is_chemical, missing
from inventory.models import Person
from inventory.queries.safety_sheets import read_by, safety_sheets_at

#: What has to be known of a part: id, number, kind.
Known = tuple[int, str, str]


def without_sheet(parts: Iterable[Known], at: datetime) -> dict[int, DomainError]:
    """Chemicals without a safety data sheet at that moment, each with its refusal. One query where there is a chemical, else none."""
    chemical = {pk: number for pk, number, kind in parts if is_chemical(kind)}
    sheets = safety_sheets_at(chemical, at) if chemical else {}
    return {pk: missing(number) for pk, number in chemical.items() if pk not in sheets}


def refuse_unread(parts: Iterable[Known], receiver: Person, at: datetime) -> None:
    """Whoever receives a chemical has signed its newest sheet. DomainError "safety-sheet-missing", "safety-sheet-unread". Two
    queries where there is a chemical, else none."""
    chemical = {pk: number for pk, number, kind in parts if is_chemical(kind)}
    if not chemical:
        return
    lacking, unread = _lacking(chemical, receiver, at)
    if lacking:
        raise missing(", ".join(sorted(chemical[pk] for pk in lacking)))
    if unread:
        raise _unread(sorted(chemical[pk] for pk in unread), receiver, "Hand over to somebody who has.")


def not_for(parts: Iterable[Known], user: Person, at: datetime) -> dict[int, DomainError]:
    """Chemicals that a person may not take for use: without a sheet at that moment, or with a newest one that they have not signed as read.
    Two queries where there is a chemical, else none."""
    chemical = {pk: number for pk, number, kind in parts if is_chemical(kind)}
    if not chemical:
        return {}
    lacking, unread = _lacking(chemical, user, at)
    found = {pk: missing(chemical[pk]) for pk in lacking}
    return found | {pk: _unread([chemical[pk]], user, "Have it taken by somebody who has.") for pk in unread}


def _lacking(chemical: Mapping[int, str], person: Person, at: datetime) -> tuple[set[int], set[int]]:
    """Those without a sheet at that moment, and those whose newest one the person has not signed as read by then."""
    sheets = safety_sheets_at(chemical, at)
    known = read_by([sheet.pk for sheet in sheets.values()], person.pk, at)
    return {*chemical} - sheets.keys(), {pk for pk, sheet in sheets.items() if sheet.pk not in known}


def _unread(parts: list[str], person: Person, otherwise: str) -> DomainError:
    return DomainError(
        "safety-sheet-unread",
        f"{person} has not signed as read the safety data sheet of {', '.join(parts)}.",
        ways_out=(f"{person} reads and signs it.", otherwise),
        person=str(person),
        parts=parts,
    )
