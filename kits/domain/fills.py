"""A fill that is more than one and a half times what the book says is asked about: a slip of the pen, or two fills taken for one.

The book fill is a fact of the family. Each make of a fill counts by itself, and a fill at a position that the family does not name as
one of the book's (a flush) is counted apart, by not being counted here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import format_amount, read_amount
from inventory.domain.units import Dimension
from kits.domain.facts import Fill
from kits.domain.requirements import Conflict, Key
from kits.domain.settled import FILL, Recorded, Settled

#: Up to so many times the book nobody is asked. Source: common practice; the shop's own rule.
MOST = Fraction(3, 2)


@dataclass(frozen=True, slots=True)
class Over:
    """A fill above the limit at one make: where it stands first, how much in all, and what the book says. Microlitres."""

    fill: Fill
    key: Key
    total_ul: int

    @property
    def sentence(self) -> str:
        """For a person, with the word that confirms it."""
        total, book = litres(self.total_ul), litres(self.fill.book_ul)
        return (
            f"{self.fill.of}: {total} at {self.key[0]}, the book says {book}: more than one and a half times that. Correct it, or"
            f' confirm it by the choice "{FILL}{total}" at {self.key[0]}, with the reason'
        )


def litres(ul: int) -> str:
    """Microlitres as a text in litres that is read back as the same amount."""
    text = format_amount(ul, Dimension.VOLUME, "LTR", 6)
    number, unit = text.split(" ")
    return f"{number.rstrip('0').rstrip('.')} {unit}"


def read_fill(alternative: str) -> int:
    """The microlitres that a word `fill:9 L` confirms. DomainError of `read_amount`."""
    return read_amount(alternative.removeprefix(FILL), Dimension.VOLUME).amount


def over_book(
    fills: Sequence[Fill], amounts_ul: Iterable[tuple[Key, int]], recorded: Iterable[Recorded]
) -> tuple[Over, ...]:
    """Fills of one make that come to more than 1.5 times the book and that no word covers, in the order of the facts and makes.

    amounts_ul  (key, microlitres) of every fill that is listed or asked for
    recorded    words of the job; a word at one of the fill's positions covers every make up to its amount
    """
    totals: dict[tuple[int, int], int] = defaultdict(int)
    first: dict[tuple[int, int], Key] = {}
    for key, ul in amounts_ul:
        for at, fill in enumerate(fills):
            if key[0] in fill.positions:
                totals[at, key[1]] += ul
                first.setdefault((at, key[1]), key)
    covered = _covered(fills, recorded)
    return tuple(
        Over(fills[at], first[at, make], total)
        for (at, make), total in sorted(totals.items())
        if total > fills[at].book_ul * MOST and total > covered.get(at, 0)
    )


def _covered(fills: Sequence[Fill], recorded: Iterable[Recorded]) -> Mapping[int, int]:
    """The newest word of each fill; what is recorded can be read, or it was refused."""
    found: dict[int, int] = {}
    for one in recorded:
        if one.choice or not one.alternative.startswith(FILL):
            continue
        for at, fill in enumerate(fills):
            if one.place in fill.positions:
                found[at] = read_fill(one.alternative)
    return found


def listed_fills(settled: Settled) -> list[tuple[Key, int]]:
    """(key, microlitres) of everything on a list that is filled in."""
    return [
        (line.key, line.candidate.amount.amount)
        for line in settled.lines
        if line.candidate.amount.how == "fill" and line.candidate.amount.base == "microlitre"
    ]


def fill_questions(fills: Sequence[Fill], settled: Settled, recorded: Iterable[Recorded]) -> tuple[Conflict, ...]:
    """What a person has to confirm before the list is ready."""
    if not fills:
        return ()
    parts = {line.key: line.part for line in settled.lines}
    return tuple(
        Conflict("fill-over-book", *one.key, one.sentence, (parts[one.key],), True)
        for one in over_book(fills, listed_fills(settled), recorded)
    )


def refuse_over_book(over: Sequence[Over]) -> None:
    """DomainError "fill-over-book" where one more makes a fill too much."""
    if over:
        one = over[0]
        raise DomainError(
            "fill-over-book",
            f"{one.sentence}.",
            ways_out=(f'Record the choice "{FILL}{litres(one.total_ul)}" at {one.key[0]}, with the reason.',),
            position=one.key[0],
            total_ul=one.total_ul,
            book_ul=one.fill.book_ul,
        )
