"""One row of a table that is brought in: accepted, questioned or refused, each with its reason. Rows in = accepted + questioned + refused.

A row is questioned where a person can say what is meant, and refused where nothing that could be said makes it right. Whatever is typed as
an answer replaces the cell of that column and is read like one; nothing is mended without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell, Doubt, Evidence, read_cell
from inventory.domain.import_kinds import Kind
from inventory.domain.import_known import MOST_ZEROS, Known, Row
from inventory.domain.part_numbers import compare_key
from inventory.domain.spelling import label_key


class Verdict(StrEnum):
    """What becomes of a row."""

    ACCEPTED = "accepted"
    QUESTIONED = "questioned"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Judged:
    """A row after its checks. values: by column, JSON-ready; doubts and errors in column order; warnings for a person to see.

    known   the row is on record as it stands: nothing is to be done
    """

    verdict: Verdict
    values: Mapping[str, Any]
    doubts: tuple[Doubt, ...] = ()
    errors: tuple[DomainError, ...] = ()
    warnings: tuple[str, ...] = ()
    known: bool = False


def judge(
    kind: Kind,
    cells: Mapping[str, Cell],
    evidence: Evidence,
    known: Known,
    *,
    today: date,
    check: Callable[[Row], None],
    answers: Mapping[str, str] | None = None,
) -> Judged:
    """Judge one row by itself; what it is beside other rows is asked by `Twins`.

    cells     by column name
    check     what a row of this kind must be beside what is on record
    answers   column -> what a person said instead of the cell; "" is said for no value
    today     the day on which cure dates and days in the future are read
    """
    given = dict(answers or {})
    row = Row(kind, known, evidence, today, given)
    for column in kind.columns:
        said = given.get(column.name)
        cell = cells.get(column.name, Cell()) if said is None else Cell(said)
        try:
            read = read_cell(cell, column.name, column.reads, evidence)
        except DomainError as error:
            row.errors.append(error)
            continue
        row.values[column.name] = read.value
        if said is None:
            row.doubts.extend(read.doubts)
        elif read.value is None and read.doubts:
            row.refuse(
                "cell-unreadable",
                f"{column.name}: {said!r} is no answer to what was asked.",
                column=column.name,
                typed=said,
            )
        if column.needed and not column.may_be_empty and read.value is None and not read.doubts:
            row.refuse("cell-missing", f"The row has no {column.name}.", column=column.name)
    if not row.errors:
        check(row)
    if row.errors:
        verdict = Verdict.REFUSED
    else:
        verdict = Verdict.QUESTIONED if row.doubts else Verdict.ACCEPTED
    return Judged(verdict, row.values, tuple(row.doubts), tuple(row.errors), tuple(row.warnings))


def key_of(kind: Kind, values: Mapping[str, Any]) -> tuple[str, ...]:
    """What a row is about: equal for two rows of the same thing. Part numbers by their compare-key; what has a serial is one thing,
    wherever a row says that it stands."""
    names = ("part", "serial") if "serial" in kind.key and values.get("serial") else kind.key
    return tuple(_key_piece(name, values.get(name)) for name in names)


def _key_piece(name: str, value: Any) -> str:
    if value is None:
        return ""
    if name in ("lot", "serial"):
        return label_key(str(value))
    return compare_key(str(value)) if name in ("part", "number", "job") else str(value)


LEFT_OUT = "leave out"
COUNTS = "it counts"


@dataclass(frozen=True, slots=True)
class First:
    """The first row of a file that speaks of a thing."""

    line: int
    values: Mapping[str, Any]


def beside(
    kind: Kind,
    judged: Judged,
    *,
    first: First | None = None,
    on_record: Mapping[str, Any] | None = None,
    said: str = "",
) -> Judged:
    """The row again, beside an earlier one of its file and what is on record of the same thing.

    first      an earlier row about the same: asked which one counts
    on_record  what is on record, by the row's columns: the same needs nothing, other values are asked about
    said       a person's word on the row itself: `LEFT_OUT`, or `COUNTS` for one that stands twice
    """
    if judged.verdict is Verdict.REFUSED:
        return judged
    if said == LEFT_OUT:
        error = DomainError("row-left-out", "A person left the row out.")
        return replace(judged, verdict=Verdict.REFUSED, errors=(error,))
    if said not in ("", COUNTS):
        error = DomainError("cell-unreadable", f"{said!r} is no word on a row: {LEFT_OUT} or {COUNTS}.", typed=said)
        return replace(judged, verdict=Verdict.REFUSED, errors=(error,))
    serial = judged.values.get("serial")
    if said == COUNTS and first is not None and serial and serial == first.values.get("serial"):
        words = f"Row {first.line} is about {serial} too: a thing with a number stands once. Leave one of the rows out."
        error = DomainError("serial-elsewhere", words, row=first.line, serial=serial)
        return replace(judged, verdict=Verdict.REFUSED, errors=(error,))
    doubts = list(judged.doubts)
    what = " ".join(str(judged.values.get(name) or "") for name in kind.key).strip()
    if first is not None and said != COUNTS:
        same = "says the same" if _differences(first.values, judged.values) == [] else "says otherwise"
        words = f"Row {first.line} is about {what} too and {same}; which one counts?"
        doubts.append(Doubt("row-twice", "", what, "", words))
    known = False
    if on_record is not None:
        differences = _differences(on_record, judged.values)
        known = not differences
        if differences and not kind.replaces:
            told = "; ".join(f"{name} {on_record[name]!r}, here {judged.values.get(name)!r}" for name in differences)
            words = f"{what} is on record otherwise: {told}. A table does not change it."
            doubts.append(Doubt("on-record-otherwise", "", what, LEFT_OUT, words))
    verdict = Verdict.QUESTIONED if doubts else Verdict.ACCEPTED
    return replace(judged, verdict=verdict, doubts=tuple(doubts), known=known and not doubts)


def _differences(one: Mapping[str, Any], other: Mapping[str, Any]) -> list[str]:
    """Columns of `one` whose value `other` says and says otherwise."""
    return [name for name, value in one.items() if other.get(name) not in (None, "", {}) and other[name] != value]


def wanted_keys(kind: Kind, rows: Iterable[Mapping[str, Cell]]) -> set[str]:
    """Compare-keys of all parts that the rows may mean: as typed, and with zeros in front."""
    names = [name for name in ("part", "number", "replaced by") if name in kind.reads]
    found: set[str] = set()
    for row in rows:
        for name in names:
            text = row.get(name, Cell()).text.strip().removesuffix(".0")
            try:
                key = compare_key(text)
            except DomainError:
                continue
            found.add(key)
            if name == "part" and key.isascii() and key.isdigit():
                found.update(key.zfill(width) for width in range(len(key) + 1, MOST_ZEROS + 1))
    return found


def counts(verdicts: Sequence[Verdict]) -> dict[str, int]:
    """How many rows each verdict has; they add up to the rows."""
    return {str(one): sum(verdict is one for verdict in verdicts) for one in Verdict}
