"""What goes into an engine with what was asked for beside the list, against the book."""

from __future__ import annotations

from collections.abc import Sequence

from inventory.models import Part
from kits.domain.fills import Over, listed_fills, over_book
from kits.domain.requirements import Key
from kits.domain.serving import PIECE
from kits.models import Extra
from kits.queries.job_list import JobList


def filled_with(listed: JobList, part: Part, amount: int, positions: Sequence[str]) -> tuple[Over, ...]:
    """Fills that one more of a part, in its base units, makes more than the book allows without a question.

    positions  what it is for; empty: wherever the list fills in that part
    What was asked for before counts too. One query, none where the family states no book fill, or the part is not filled in.
    """
    fills = listed.scope.family.facts.fills
    own = listed_fills(listed.settled)
    at = _keys(listed, part, positions)
    if not fills or not any(key[0] in fill.positions for key in at for fill in fills):
        return ()
    asked = [(key, _volume_ul(part, amount)) for key in at[:1]]
    for row in Extra.objects.filter(job=listed.job, act__corrected_by__isnull=True).select_related("part"):
        before = _keys(listed, row.part, row.positions)
        asked += [(key, _volume_ul(row.part, row.amount)) for key in before[:1]]
    return over_book(fills, [*own, *asked], listed.scope.recorded)


def _keys(listed: JobList, part: Part, positions: Sequence[str]) -> list[Key]:
    if positions:
        return [(position, 1) for position in positions]
    filled = {key for key, _ in listed_fills(listed.settled)}
    return [line.key for line in listed.settled.lines if line.part == part.number and line.key in filled]


def _volume_ul(part: Part, amount: int) -> int:
    """Pieces are tins of their content; what has none is no fill."""
    return amount * (part.net_ul or 0) if part.base == PIECE else amount
