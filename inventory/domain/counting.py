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


@dataclass(frozen=True, slots=True)
class Allowed:
    """By how much a thing at its spot, and all of its part at the site, may be off before somebody else counts again."""

    here: int
    site: int


@dataclass(frozen=True, slots=True)
class OneWord:
    """What the books were changed by on one person's word since two people last found the same: of a thing at its spot, and of its part
    at the whole site. More above nothing, less below."""

    here: int = 0
    site: int = 0


#: (item id, spot id)
Thing = tuple[int, int]
#: (part id, base unit): the closed tubes of a part and what is left in its opened ones are no one sum.
Stock = tuple[int, str]


@dataclass(frozen=True, slots=True)
class LineKept:
    """A counted line as it was booked, and how far off it was; by_two: two people found the same."""

    thing: Thing
    stock: Stock
    difference: int
    by_two: bool


@dataclass(frozen=True, slots=True)
class Words:
    """What one person's word changed, by thing and by stock of the site."""

    things: Mapping[Thing, int]
    stocks: Mapping[Stock, int]

    def of(self, thing: Thing, stock: Stock) -> OneWord:
        """Of one thing at its spot, and of all the stock that it is of."""
        return OneWord(self.things.get(thing, 0), self.stocks.get(stock, 0))


def on_one_word(kept: Iterable[LineKept]) -> Words:
    """Counted lines of one site, in the order in which they were booked, summed up since the last that two people found alike: of the same
    thing at the same spot; of the part, anywhere at the site, so that what was carried to another spot is not forgotten, and a lot
    that was used up does not weigh for ever."""
    things: dict[Thing, int] = {}
    stocks: dict[Stock, int] = {}
    for one in kept:
        if one.by_two:
            things[one.thing] = stocks[one.stock] = 0
        else:
            things[one.thing] = things.get(one.thing, 0) + one.difference
            stocks[one.stock] = stocks.get(one.stock, 0) + one.difference
    return Words(things, stocks)


def too_far(difference: int, allowed: Allowed, before: OneWord) -> bool:
    """Whether one person's count is not enough: it is itself further off than is allowed, or leads further away from what two people last
    found than is allowed, together with what one person's word changed since. Back towards that it may always go."""
    sums = ((before.here, allowed.here), (before.site, allowed.site))
    further = any(abs(was + difference) > max(abs(was), limit) for was, limit in sums)
    return difference != 0 and (abs(difference) > allowed.here or further)


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


def found_alike(counts: Sequence[Counting]) -> bool:
    """Whether somebody else found the same difference as the newest count: differences, not amounts, because things are moved between
    two counts."""
    return any(one.by != counts[-1].by and one.difference == counts[-1].difference for one in counts[:-1])


def standing_of(counts: Sequence[Counting], allowed: Allowed, before: OneWord) -> Standing:
    """How a line stands by its counts, the oldest first, and by what one person's word changed before them.

    The newest decides where it is within what is allowed. Else somebody else counts again, until two people found the same.
    """
    if not counts:
        return Standing.OPEN
    last = counts[-1]
    if too_far(last.difference, allowed, before) and not found_alike(counts):
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
