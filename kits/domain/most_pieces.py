"""How many pieces a use position takes at most, by the parts lines that name it. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from kits.domain.amounts import PIECE
from kits.domain.procedures import Operation


def most_pieces(operations: Iterable[Operation], position: str, part: str) -> int:
    """The most that any parts line gives to the position in one make of it, whatever brings the line about.

    A joint may be sealed with several pieces. Lines of the part itself speak before those of other parts there (a stack of thin shims beside one
    thick one); what no line counts in pieces takes one, for the map has a position for every place where a part can sit.
    """
    own: list[int] = []
    others: list[int] = []
    for operation in operations:
        for line in operation.lines:
            if line.amount.base == PIECE and position in line.positions:
                (own if line.part == part else others).append(line.amount.amount)
    return max(own or others or [1])
