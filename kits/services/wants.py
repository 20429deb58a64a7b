"""What is still to be held of a list, line by line. Private to services."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from inventory.models import Part
from kits.domain.families import Family
from kits.domain.listing import ListLine
from kits.domain.requirements import Key
from kits.queries.job_list import JobList
from kits.queries.substitutes import EVERY


@dataclass(frozen=True, slots=True)
class Want:
    """What is still to be held for one line: `shares` are (position, make, amount) not yet served."""

    line: ListLine
    part: Part
    shares: tuple[tuple[str, int, int], ...]
    wanted: Part

    @property
    def on_approval(self) -> bool:
        """A candidate of a choice that is still open."""
        return self.line.on_approval

    @property
    def amount(self) -> int:
        """The sum of the shares."""
        return sum(share[2] for share in self.shares)


def totals_of(wants: Iterable[Want]) -> dict[str, int]:
    """How much of each listed part."""
    totals: dict[str, int] = defaultdict(int)
    for want in wants:
        totals[want.line.part] += want.amount
    return dict(totals)


def open_part(want: Want) -> ListLine:
    """The want's line with only the positions that are still open."""
    return replace(
        want.line,
        keys=tuple((share[0], share[1]) for share in want.shares),
        amounts=tuple(share[2] for share in want.shares),
    )


def is_tube(want: Want) -> bool:
    """Poured from a tube, tin or bottle that is counted in pieces."""
    return want.part.base == "piece" and want.line.base != "piece"


def wants_of(listed: JobList, have: Mapping[tuple[Key, str], int]) -> list[Want]:
    """What no position has yet, in order of work; open measured choices bring every candidate, and what is not taken comes back."""
    wants = []
    for line in sorted((*listed.lines, *listed.candidates), key=lambda line: line.number):
        part = listed.parts[line.part]
        shares = tuple(
            (key[0], key[1], amount - have.get((key, line.part), 0))
            for key, amount in zip(line.keys, line.amounts, strict=True)
            if amount > have.get((key, line.part), 0)
        )
        if shares:
            wants.append(Want(line, part, shares, part))
    return wants


def by_bank(family: Family, wants: Iterable[Want]) -> dict[str, dict[str, int]]:
    """How much of each listed part by bank, "" for what sits on none."""
    totals: dict[str, dict[str, int]] = defaultdict(dict)
    for want in wants:
        for position, _, amount in want.shares:
            bank, its = bank_at(family, position), totals[want.line.part]
            its[bank] = its.get(bank, 0) + amount
    return dict(totals)


def bank_at(family: Family, position: str) -> str:
    """The bank of a use position; "" for none."""
    return family.map.position(position).bank or ""


def swapped(want: Want, rest: Mapping[str, list[tuple[Part, int]]] | None, bank_of: Callable[[str], str]) -> list[Want]:
    """The want, split over the parts that are issued in its place, piece for piece.

    rest   bank → (part, pieces) in order of preference, or all under `EVERY`; it is used up on the way
    """
    if not rest or want.on_approval:
        return [want]
    found: dict[int, tuple[Part, list[tuple[str, int, int]]]] = {}

    def give(part: Part, share: tuple[str, int, int]) -> None:
        found.setdefault(part.pk, (part, []))[1].append(share)

    for position, make, amount in want.shares:
        mine = rest[EVERY] if EVERY in rest else rest.get(bank_of(position), [])
        left = amount
        while left and mine:
            part, pieces = mine.pop(0)
            take = min(left, pieces)
            give(part, (position, make, take))
            left -= take
            if take < pieces:
                mine.insert(0, (part, pieces - take))
        if left:
            give(want.part, (position, make, left))
    return [replace(want, part=part, shares=tuple(shares)) for part, shares in found.values()]
