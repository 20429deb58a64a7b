"""How the rows of each kind of table are judged and booked. Private to services.

An app adds its kinds here once, in its `services/tables.py`, since inventory knows no other app.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell
from inventory.domain.import_checks import CHECKS
from inventory.domain.import_kinds import KINDS, Kind
from inventory.domain.import_known import Known, Row
from inventory.domain.text import shown
from inventory.models import Act, ImportFile
from inventory.queries.import_known import known_for
from inventory.queries.imports import ON_RECORD, OnRecord
from inventory.services import bring_in_booking, bring_in_lots, bring_in_prices, bring_in_stock
from inventory.services.run import Body


@dataclass(frozen=True, slots=True)
class Handling:
    """What is done with a kind of table.

    check      what a row must be beside what is on record
    known      what is on record of what rows name
    on_record  what is on record of their things; `book` writes the accepted rows in an open transaction, and says what was made
    """

    kind: Kind
    check: Callable[[Row], None]
    known: Callable[[Sequence[Mapping[str, Cell]]], Known]
    on_record: OnRecord
    book: Callable[[Act, ImportFile], Body]


_BOOK = {**bring_in_booking.BOOK, **bring_in_lots.BOOK, **bring_in_prices.BOOK, **bring_in_stock.BOOK}
_handled = {
    name: Handling(kind, CHECKS[name], partial(known_for, kind), ON_RECORD[name], _BOOK[name])
    for name, kind in KINDS.items()
}


def handle(handling: Handling) -> None:
    """Have tables of one more kind brought in."""
    _handled[handling.kind.name] = handling


def kinds() -> tuple[str, ...]:
    """Names of all kinds."""
    return tuple(_handled)


def handling_of(name: str) -> Handling:
    """How tables of a kind are handled; DomainError "not-found"."""
    found = _handled.get(name)
    if found is None:
        raise DomainError("not-found", f"{shown(name)} is no kind of table: {', '.join(_handled)}.", kind=shown(name))
    return found
