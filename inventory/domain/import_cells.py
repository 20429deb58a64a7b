"""What a cell of somebody's spreadsheet means, and what a spreadsheet may have done to it on the way.

A table program drops the zeros in front of a number, swaps day and month, writes 200000 as 2E+05, writes decimals with a comma and
empties all but one of merged cells (common practice of everybody who was sent one). None of it is mended silently: each is a `Doubt` with what is proposed, and
a person answers it. What a column as a whole says (how wide its numbers are, which way round its days stand, whether its
amounts name their unit) is its `Evidence`, gathered over the whole file before the first row is judged.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.import_damage import is_error, turned
from inventory.domain.money import PLACES, parse_money
from inventory.domain.text import shown

MOST_CHARACTERS = 2000
_EXPONENT = re.compile(r"[0-9]+(?:[.,][0-9]+)?[eE]\+?[0-9]{1,3}")
_EXPONENT_IN_A_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?[eE]\+[0-9]{1,3}")
_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})(?:[T ].*)?")
_DAY = re.compile(r"([0-9]{1,2})[/.-]([0-9]{1,2})[/.-]([0-9]{4})")
_WHOLE = re.compile(r"[0-9]{1,15}(?:\.0+)?")
_BARE = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,9})?")
#: A number with a comma in it, and what stands behind it.
_COMMA = re.compile(r"([0-9][0-9.,]{0,20}[0-9])((?:[ ]?[^0-9.,].*)?)")
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]{1,9})?")
_DECIMALS = re.compile(r"(?:[0-9]{1,12}|[0-9]{1,3}(?:\.[0-9]{3})+),[0-9]{1,9}")
#: A power of ten above this is no amount of anything; 10**999 would be written out digit by digit.
_MOST_POWER = 15


class Reads(StrEnum):
    """How the cells of a column are read."""

    IDENTIFIER = "identifier"
    TEXT = "text"
    WHOLE = "whole number"
    MONEY = "money"
    DAY = "day"
    AMOUNT = "amount"


class DayOrder(StrEnum):
    """Which way round days are written."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell. text as it would be read aloud; is_number: the sheet held a number; day: the sheet held a day;
    merged_with: address of the cell that it was merged with, whose text it then carries."""

    text: str = ""
    is_number: bool = False
    day: date | None = None
    merged_with: str = ""

    @property
    def empty(self) -> bool:
        return not self.text.strip()

    def as_plain(self) -> list[Any]:
        """As it is kept with its row; `from_plain` reads it again."""
        return [self.text, self.is_number, self.day.isoformat() if self.day else "", self.merged_with]

    @classmethod
    def from_plain(cls, kept: list[Any]) -> Cell:
        """What `as_plain` gave."""
        text, is_number, day, merged_with = kept
        return cls(text, is_number, date.fromisoformat(day) if day else None, merged_with)


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about one cell. proposal is what it may have been, "" where nothing can be proposed."""

    code: str
    column: str
    typed: str
    proposal: str
    words: str


@dataclass(frozen=True, slots=True)
class Read:
    """What a cell says: text, a whole number, or None for nothing; and what a person is asked about it."""

    value: str | int | None
    doubts: tuple[Doubt, ...] = ()


@dataclass(slots=True)
class ColumnEvidence:
    """What one column says as a whole; counts of cells.

    zero_led       width -> cells of digits with a zero in front
    day_first, month_first   days that can only be read that way round
    late_days, early_days    days that the sheet held as days, after and up to the 12th of the month
    with_unit, without_unit  amounts
    """

    zero_led: Counter[int] = field(default_factory=Counter)
    day_first: int = 0
    month_first: int = 0
    late_days: int = 0
    early_days: int = 0
    with_unit: int = 0
    without_unit: int = 0

    def see(self, cell: Cell, reads: Reads) -> None:
        text = cell.text.strip()
        if not text or cell.merged_with:
            return
        if reads is Reads.IDENTIFIER and text.isascii() and text.isdigit() and text[0] == "0":
            self.zero_led[len(text)] += 1
        elif reads is Reads.DAY:
            self._see_day(cell, text)
        elif reads is Reads.AMOUNT and (_BARE.fullmatch(text) or _bare_with_comma(text)):
            self.without_unit += 1
        elif reads is Reads.AMOUNT and not _EXPONENT.fullmatch(text):
            self.with_unit += 1

    def _see_day(self, cell: Cell, text: str) -> None:
        if cell.day is not None:
            self.late_days += cell.day.day > 12
            self.early_days += cell.day.day <= 12
        elif found := _DAY.fullmatch(text):
            one, other = int(found[1]), int(found[2])
            self.day_first += one > 12 >= other
            self.month_first += other > 12 >= one

    @property
    def width(self) -> int:
        """How wide the column's numbers are by those with a zero in front; 0 where none has one. The commonest, a tie to the wider."""
        return max(self.zero_led, key=lambda width: (self.zero_led[width], width), default=0)

    @property
    def order(self) -> DayOrder | None:
        """Which way round most of its days stand; None where none says, or as many say the one as the other."""
        if self.day_first == self.month_first:
            return None
        return DayOrder.DAY_FIRST if self.day_first > self.month_first else DayOrder.MONTH_FIRST

    @property
    def mixed_orders(self) -> bool:
        return self.day_first > 0 and self.month_first > 0

    @property
    def days_swapped_by_the_sheet(self) -> bool:
        """Some days are text and the rest are days of the sheet, none after the 12th: the sheet understood those, and only those, whose
        day could pass for a month."""
        return self.day_first + self.month_first > 0 and self.early_days > 0 and self.late_days == 0


class Evidence:
    """What the columns of one file say, by column; gathered with `see` row by row, constant in memory."""

    def __init__(self, reads: Mapping[str, Reads], day_order: DayOrder | None = None) -> None:
        self.day_order = day_order
        self._reads = dict(reads)
        self._columns: dict[str, ColumnEvidence] = defaultdict(ColumnEvidence)

    def see(self, row: Mapping[str, Cell]) -> None:
        for name, cell in row.items():
            if name in self._reads:
                self._columns[name].see(cell, self._reads[name])

    def of(self, column: str) -> ColumnEvidence:
        return self._columns[column]

    def as_plain(self) -> dict[str, Any]:
        """As it is kept with the file; `from_plain` reads it again."""
        kept = {name: asdict(own) | {"zero_led": dict(own.zero_led)} for name, own in self._columns.items()}
        return {"day_order": self.day_order, "columns": kept}

    @classmethod
    def from_plain(cls, reads: Mapping[str, Reads], kept: Mapping[str, Any]) -> Evidence:
        """What `as_plain` gave, also after it went through JSON, which makes texts of widths."""
        made = cls(reads, DayOrder(kept["day_order"]) if kept["day_order"] else None)
        for name, own in kept["columns"].items():
            widths = Counter({int(width): count for width, count in own["zero_led"].items()})
            made._columns[name] = ColumnEvidence(**{**own, "zero_led": widths})
        return made


def read_cell(cell: Cell, column: str, reads: Reads, evidence: Evidence) -> Read:
    """Read one cell; an empty one is None.

    Raises DomainError "cell-unreadable" for what can be no value of the column, "money-unreadable".
    """
    if len(cell.text) > MOST_CHARACTERS:
        raise _unreadable(column, cell.text, f"more than {MOST_CHARACTERS} characters")
    if cell.empty:
        return Read(None)
    text = cell.text.strip() if reads is Reads.TEXT else " ".join(cell.text.split())
    if not text.replace("\n", "").replace("\t", "").isprintable():
        raise _unreadable(column, text, "a character in it cannot be printed")
    if is_error(text):
        raise _unreadable(column, text, "that is an error of the table program")
    read = _READERS[reads](text, cell, column, evidence)
    if cell.merged_with:
        doubt = Doubt(
            "cell-merged", column, "", text, f"{column}: merged with {cell.merged_with}, is {text} meant here too?"
        )
        return Read(read.value, (doubt, *read.doubts))
    return read


def _identifier(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    if _EXPONENT_IN_A_NUMBER.fullmatch(text):
        words = f"{column}: {text} was a number once; its digits are lost. What does the label say?"
        return Read(text, (Doubt("exponent", column, text, "", words),))
    if why := turned(text, is_number=cell.is_number, is_day=cell.day is not None):
        return Read(text, (Doubt("turned", column, text, "", f"{column}: {text} {why}. What does the label say?"),))
    if cell.is_number and _WHOLE.fullmatch(text):
        text = text.partition(".")[0]
    width = evidence.of(column).width
    if text.isascii() and text.isdigit() and text[0] != "0" and len(text) < width:
        full = text.zfill(width)
        return Read(text, (zero_eaten(column, text, full, f"the others have {width} digits"),))
    return Read(text)


def zero_eaten(column: str, text: str, full: str, why: str) -> Doubt:
    """The question whether zeros in front were dropped."""
    return Doubt("zeros-eaten", column, text, full, f"{column}: is {full} meant by {text}? {why[:1].upper()}{why[1:]}.")


def _text(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    return Read(text)


def _whole(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    if _EXPONENT.fullmatch(text):
        return Read(None, (_written_out(text, column),))
    if not _WHOLE.fullmatch(text):
        raise _unreadable(column, text, "a whole number is needed")
    return Read(int(text.partition(".")[0]))


def _money(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    if _EXPONENT.fullmatch(text):
        return Read(None, (_written_out(text, column),))
    doubt = _comma(text, column, places=PLACES)
    if doubt is not None and not doubt.proposal.strip("0123456789."):
        return Read(None, (doubt,))
    return Read(parse_money(text))


def _amount(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    """The text of an amount; its unit is judged with its part."""
    if _EXPONENT.fullmatch(text):
        return Read(None, (_written_out(text, column),))
    if doubt := _comma(text, column):
        return Read(None, (doubt,))
    if _WHOLE.fullmatch(text):
        text = text.partition(".")[0]
    return Read(text)


def _comma(text: str, column: str, places: int | None = None) -> Doubt | None:
    """What a number with a comma is asked about, None for what has none or can be no number: thousands, or decimals?

    places  decimal places that a value of the column may have; None for any
    """
    found = _COMMA.fullmatch(text)
    if found is None or "," not in found[1]:
        return None
    number, behind = found[1], found[2]
    ways = []
    if _THOUSANDS.fullmatch(number):
        ways.append(number.replace(",", ""))
    if _DECIMALS.fullmatch(number):
        ways.append(number.replace(".", "").replace(",", "."))
    if places is not None:
        ways = [way for way in ways if len(way.partition(".")[2]) <= places]
    if not ways:
        return None
    proposal = ways[0] + behind if len(ways) == 1 else ""
    asked = " or ".join(way + behind for way in ways)
    words = f"{column}: a comma can mean thousands or decimals; is {asked} meant by {text}?"
    return Doubt("comma", column, text, proposal, words)


def _bare_with_comma(text: str) -> bool:
    found = _COMMA.fullmatch(text)
    return found is not None and "," in found[1] and not found[2]


def is_bare(amount: str) -> bool:
    """A number without a unit."""
    return _BARE.fullmatch(amount) is not None


def _written_out(text: str, column: str) -> Doubt:
    """2E+05 as the number it stands for, where that is a whole number of some size."""
    mantissa, _, power = text.upper().replace(",", ".").partition("E")
    whole, _, places = mantissa.partition(".")
    shift = int(power) - len(places)
    full = str(int(whole + places) * 10**shift) if 0 <= shift <= _MOST_POWER else ""
    asked = f"is {full} meant?" if full else "what is meant?"
    return Doubt("exponent", column, text, full, f"{column}: {text} was shortened by the sheet; {asked}")


def _day(text: str, cell: Cell, column: str, evidence: Evidence) -> Read:
    own = evidence.of(column)
    if cell.day is not None:
        if own.days_swapped_by_the_sheet and cell.day.day != cell.day.month:
            return _swapped(column, text, cell.day)
        return Read(cell.day.isoformat())
    if found := _ISO.fullmatch(text):
        return Read(_real_day(column, text, int(found[1]), int(found[2]), int(found[3])).isoformat())
    found = _DAY.fullmatch(text)
    if found is None:
        raise _unreadable(column, text, "a day is written 2025-01-15, or 15/01/2025")
    return _day_by_order(column, text, (int(found[1]), int(found[2]), int(found[3])), evidence)


def _day_by_order(column: str, text: str, typed: tuple[int, int, int], evidence: Evidence) -> Read:
    one, other, year = typed
    own = evidence.of(column)
    order = evidence.day_order or own.order
    if one > 12 or other > 12:
        way = DayOrder.DAY_FIRST if one > 12 else DayOrder.MONTH_FIRST
        day, month = (one, other) if way is DayOrder.DAY_FIRST else (other, one)
        right = _real_day(column, text, year, month, day)
        if order is None or way is order:
            if order is None and own.mixed_orders:
                return Read(right.isoformat(), (_swap_doubt(column, text, right),))
            return Read(right.isoformat())
        return Read(right.isoformat(), (_swap_doubt(column, text, right),))
    if one == other:
        return Read(_real_day(column, text, year, one, one).isoformat())
    if order is None:
        right = _real_day(column, text, year, other, one)
        words = (
            f"{column}: is {text} {right:%d %B %Y} or {date(year, one, other):%d %B %Y}? Nothing in the column says."
        )
        return Read(None, (Doubt("day-unclear", column, text, "", words),))
    day, month = (one, other) if order is DayOrder.DAY_FIRST else (other, one)
    right = _real_day(column, text, year, month, day)
    if own.mixed_orders:
        return Read(right.isoformat(), (_swap_doubt(column, text, right),))
    return Read(right.isoformat())


def _swapped(column: str, text: str, held: date) -> Read:
    """A day of the sheet that was most likely typed the other way round."""
    return Read(held.isoformat(), (_swap_doubt(column, text, date(held.year, held.day, held.month)),))


def _swap_doubt(column: str, text: str, right: date) -> Doubt:
    words = f"{column}: {text} does not stand the way round that the others do; is {right:%d %B %Y} meant?"
    return Doubt("day-swapped", column, text, right.isoformat(), words)


def _real_day(column: str, text: str, year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise _unreadable(column, text, "there is no such day") from None


def _unreadable(column: str, text: str, why: str) -> DomainError:
    return DomainError("cell-unreadable", f"{column}: {shown(text)!r}: {why}.", column=column, typed=shown(text))


_READERS = {
    Reads.IDENTIFIER: _identifier,
    Reads.TEXT: _text,
    Reads.WHOLE: _whole,
    Reads.MONEY: _money,
    Reads.DAY: _day,
    Reads.AMOUNT: _amount,
}


def gather(
    rows: Iterable[Mapping[str, Cell]], reads: Mapping[str, Reads], day_order: DayOrder | None = None
) -> Evidence:
    """The evidence of a whole file."""
    evidence = Evidence(reads, day_order)
    for row in rows:
        evidence.see(row)
    return evidence
