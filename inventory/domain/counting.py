"""Counting in turn: which class a part is counted in, when it is due, and when what was counted may be booked.

Classes follow the value that the shop's own movements used in a year (a Pareto analysis, common practice): few parts carry most of the
value. Small things that age, or that were miscounted again and again, are a class of their own: nuisance. Amounts are whole base units.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction


class CountClass(StrEnum):
    """How closely a part is counted."""

    HIGH = "high value"
    MIDDLE = "middle value"
    LOW = "low value"
    NUISANCE = "nuisance"


@dataclass(frozen=True, slots=True)
class CountRules:
    """The shop's settings of counting.

    high_share    parts that carry this share of a year's use value are of high value; middle_share: these and those of middle value
    miscounts     lines found wrong in a year that make a thing a nuisance
    every_days    class → a thing of it is counted at least this often
    tolerance     share of what the books say by which a count may be off before it is counted again; none for high value
    """

    high_share: Fraction
    middle_share: Fraction
    miscounts: int
    every_days: Mapping[CountClass, int]
    tolerance: Fraction


@dataclass(frozen=True, slots=True)
class PartUse:
    """A part as its class is decided: what it used in a year in coins, whether it ages, how often it was found miscounted in a year."""

    part_id: int
    number: str
    value_coins: Fraction
    ages: bool = False
    miscounted: int = 0


def classes_of(parts: Iterable[PartUse], rules: CountRules) -> dict[int, CountClass]:
    """Part id → its class. By value, the greatest first: a part belongs to high value while those before it carry less than the
    share of high value, so the one that crosses it is in; what used nothing is of low value. What is not of high value and ages, or was
    miscounted often enough, is a nuisance."""
    ordered = sorted(parts, key=lambda one: (-one.value_coins, one.number, one.part_id))
    total = sum((one.value_coins for one in ordered), Fraction(0))
    before = Fraction(0)
    found: dict[int, CountClass] = {}
    for one in ordered:
        if one.value_coins > 0 and before < rules.high_share * total:
            found[one.part_id] = CountClass.HIGH
        elif one.ages or one.miscounted >= rules.miscounts:
            found[one.part_id] = CountClass.NUISANCE
        elif one.value_coins > 0 and before < rules.middle_share * total:
            found[one.part_id] = CountClass.MIDDLE
        else:
            found[one.part_id] = CountClass.LOW
        before += one.value_coins
    return found


def due_on(last_counted: date | None, its_class: CountClass, rules: CountRules) -> date | None:
    """First day on which a thing is due; None: it was never counted, and has been due from the first day."""
    return None if last_counted is None else last_counted + timedelta(days=rules.every_days[its_class])


def allowed_off(on_books: int, its_class: CountClass, rules: CountRules) -> int:
    """By how much a count may differ from the books before somebody else counts again; rounded down, nothing for high value."""
    if its_class is CountClass.HIGH:
        return 0
    return int(max(0, on_books) * rules.tolerance)


class Standing(StrEnum):
    """How a line of a count sheet stands."""

    OPEN = "to count"
    AGAIN = "to count again"
    RIGHT = "as the books say"
    DIFFERS = "differs"
    SINCE = "counted since"


@dataclass(frozen=True, slots=True)
class Counting:
    """One count of a line: by whom (id), and what it differed from the books as they were at that moment."""

    by: int
    difference: int


def standing_of(counts: Sequence[Counting], allowed: int) -> Standing:
    """How a line stands by its counts, the oldest first.

    The newest decides where it is within what is allowed. Else somebody else counts again, until two people found the same
    difference: differences, not amounts, because things are moved between two counts.
    """
    if not counts:
        return Standing.OPEN
    last = counts[-1]
    agreed = any(one.by != last.by and one.difference == last.difference for one in counts[:-1])
    if abs(last.difference) > allowed and not agreed:
        return Standing.AGAIN
    return Standing.DIFFERS if last.difference else Standing.RIGHT


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How many counted lines there were, and how many of them were as the books said."""

    lines: int = 0
    right: int = 0

    @property
    def share(self) -> Fraction | None:
        """Share of lines that were right; None without a line."""
        return Fraction(self.right, self.lines) if self.lines else None


def accuracy_of(lines: Iterable[tuple[CountClass, bool]]) -> dict[CountClass, Accuracy]:
    """Class → accuracy, over (class of the line's part, whether it was right); every class is named."""
    found = {one: [0, 0] for one in CountClass}
    for its_class, right in lines:
        found[its_class][0] += 1
        found[its_class][1] += right
    return {one: Accuracy(*pair) for one, pair in found.items()}
