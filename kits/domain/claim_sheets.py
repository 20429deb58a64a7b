"""Sheets of a record that is handed on: sections of tables, in which what is not on record stands as a gap and is listed.

A cell is text, or None where the record says nothing: a gap. It is printed as "not recorded" in its place, and every gap is in the list
of what is missing. A cell to which nothing belongs is empty text, and no gap.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

NOT_RECORDED = "not recorded"
Cell = str | None
#: Ending of a name of a whole number in base units → what it is shown in, and how many base units that is.
_UNITS = {
    "_nm": ("mm", 1_000_000),
    "_mg": ("g", 1_000),
    "_ul": ("mL", 1_000),
    "_deg": ("°", 1),
    "_s": ("s", 1),
}


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads. `shares`: how wide each column is, in parts of the whole. Without a row it is a gap itself, where it is `needed`."""

    caption: str
    heads: tuple[str, ...]
    shares: tuple[int, ...]
    rows: tuple[tuple[Cell, ...], ...]
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the record, which begins on a page of its own."""

    title: str
    tables: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class NotThere:
    """What is not on record: in which section, what, and of which rows (their first cells; empty for a whole table)."""

    section: str
    what: str
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ContentsLine:
    """A line of the contents. `rows`: how many rows its tables have; `gaps`: how many places in it say "not recorded"."""

    number: int
    title: str
    rows: int
    gaps: int


def gaps_of(sections: Iterable[Section]) -> tuple[NotThere, ...]:
    """Every gap, those of one column of one table together, in the order of the sheets."""
    return tuple(gap for section in sections for table in section.tables for gap in _gaps(section.title, table))


def _gaps(title: str, table: Table) -> Iterator[NotThere]:
    if not table.rows and table.needed:
        yield NotThere(title, table.caption, ())
    for column, head in enumerate(table.heads):
        empty = [row for row in table.rows if row[column] is None]
        if empty and column == 1 and len(table.heads) == 2:  # what, and what the record says of it: each its own gap
            yield from (NotThere(title, row[0] or head, (row[0] or "",)) for row in empty)
        elif empty:
            yield NotThere(title, f"{table.caption}: {head}", tuple(next(filter(None, row), "") for row in empty))


def places(section: Section) -> int:
    """How many places of a section say "not recorded"."""
    return sum(
        sum(cell is None for row in table.rows for cell in row) + (not table.rows and table.needed)
        for table in section.tables
    )


def contents_of(sections: Sequence[Section]) -> tuple[ContentsLine, ...]:
    """The contents: every section with its number."""
    return tuple(
        ContentsLine(number, one.title, sum(len(table.rows) for table in one.tables), places(one))
        for number, one in enumerate(sections, 1)
    )


def missing_section(found: Sequence[NotThere]) -> Section:
    """The list of what is missing, as the last section. Nothing of it is a gap again."""
    rows = tuple((gap.section, gap.what, ", ".join(gap.rows)) for gap in found)
    return Section("What is missing", (Table("not on record", ("section", "what", "of"), (4, 5, 9), rows),))


def facts(caption: str, said: Mapping[str, Any]) -> Table:
    """A table of two columns: what, and what the record says of it; None, or text without a sign in it, is a gap."""
    rows = tuple((what, cell(value)) for what, value in said.items())
    return Table(caption, ("what", "on record"), (5, 13), rows)


def cell(value: Any) -> Cell:
    """A value as a cell; None and empty text are gaps. Moments are those of the shop already."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    return plain(value)


def plain(value: Any) -> str:
    """A value as text; None and empty text are empty, and no gap."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, date):
        return value.isoformat()
    return str(value)


def in_words(document: Any) -> str:
    """A document of plain values for a person: names with their values, lengths in mm, as it is on record and nothing computed."""
    if isinstance(document, Mapping):
        return ", ".join(_pair(str(name), value) for name, value in document.items() if value not in ("", None, [], {}))
    if isinstance(document, list | tuple):
        return "; ".join(in_words(one) for one in document)
    return plain(document)


def _pair(name: str, value: Any) -> str:
    for ending, (unit, base) in _UNITS.items():
        if name.endswith(ending) and isinstance(value, int) and not isinstance(value, bool):
            shown = Decimal(value) / base
            return f"{name.removesuffix(ending).replace('_', ' ')} {shown.normalize():f} {unit}"
    return f"{name.replace('_', ' ')}{':' if isinstance(value, Mapping | list | tuple) else ''} {in_words(value)}"
