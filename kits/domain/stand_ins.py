"""Parts that a person takes in place of listed ones, as replacement notices allow it: the list then asks for them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction

from kits.domain.settled import Recorded, Settled, SettledLine

#: Gets the listed part and the one that was named; how many of this one listed piece becomes, None where it does not stand in.
StandsIn = Callable[[str, str], Fraction | None]


def as_said(settled: Settled, recorded: Iterable[Recorded], stands_in: StandsIn) -> Settled:
    """The list with the newest word on each position followed, where no choice and no conflict is settled there.

    A word is passed over where its part does not stand in, by the notices as they are now, or not in whole pieces.
    """
    words = {one.place: one.part for one in recorded if not one.choice and one.part}
    if not any(line.position in words for line in settled.lines):
        return settled

    def taken(line: SettledLine) -> SettledLine:
        part = words.get(line.position, line.part)
        if part == line.part or line.reason or line.candidate.choice:
            return line
        ratio = stands_in(line.part, part)
        amount = Fraction(line.candidate.amount.amount) * (ratio or 0)
        if not amount or amount.denominator != 1:
            return line
        measured = replace(line.candidate.amount, amount=int(amount))
        return replace(
            line,
            part=part,
            candidate=replace(line.candidate, amount=measured),
            reason=f"chosen by a person in place of {line.part}",
            in_place_of=line.part,
        )

    return replace(settled, lines=tuple(taken(line) for line in settled.lines))
