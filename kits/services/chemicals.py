"""What keeps a chemical from being issued. Private to services: an open transaction is there, nothing is written."""

from __future__ import annotations

from collections.abc import Iterable
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
    sheets = safety_sheets_at(chemical, at)
    lacking = sorted(number for pk, number in chemical.items() if pk not in sheets)
    if lacking:
        raise missing(", ".join(lacking))
    known = read_by([sheet.pk for sheet in sheets.values()], receiver.pk, at)
    unread = sorted(chemical[pk] for pk, sheet in sheets.items() if sheet.pk not in known)
    if unread:
        raise DomainError(
            "safety-sheet-unread",
            f"{receiver} has not signed as read the safety data sheet of {', '.join(unread)}.",
            ways_out=(f"{receiver} reads and signs it.", "Hand over to somebody who has."),
            person=str(receiver),
            parts=unread,
        )
