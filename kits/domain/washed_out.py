"""Plugs, dowels and oil jets: what comes out of a block for washing, counted out and counted back before the job is closed.

The family's document says what there is and how many. A count of a name adds to the earlier ones; a recount replaces them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from inventory.domain.errors import DomainError, ManyErrors
from kits.domain.reading import LONGEST_CODE, Reader

_KEYS = frozenset({"name", "count"})
#: More of one kind no block has.
MOST = 1000


@dataclass(frozen=True, slots=True)
class Loose:
    """One kind of loose thing of a family: its name, and how many the block has."""

    name: str
    count: int


@dataclass(frozen=True, slots=True)
class Count:
    """One count, in the order in which they were made: out of the block or back into it; a recount replaces what was counted."""

    name: str
    count: int
    back: bool
    recount: bool = False


@dataclass(frozen=True, slots=True)
class Tally:
    """How one kind stands: pieces the family lists, pieces out and back. `counted`: somebody counted it out, be it none."""

    name: str
    listed: int
    out: int
    back: int
    counted: bool

    @property
    def missing(self) -> int:
        """Pieces that came out and are not back."""
        return self.out - self.back


def read_washed_out(document: Mapping[str, Any], reader: Reader) -> tuple[Loose, ...]:
    """The list `washed_out` of a family document; problems go to the reader."""
    found: dict[str, Loose] = {}
    for index, entry in enumerate(reader.listing(document, "washed_out", "washed_out"), start=1):
        where = f"washed_out {index}"
        row = reader.mapping(entry, where, _KEYS)
        name = reader.text(row, "name", where, longest=LONGEST_CODE)
        if name in found:
            reader.problem(where, f"{name!r} stands twice")
        found[name] = Loose(name, reader.whole(row, "count", where, low=1, high=MOST))
    return tuple(found.values())


def tally(listed: Iterable[Loose], counts: Iterable[Count]) -> tuple[Tally, ...]:
    """How each kind of the family stands after these counts, in the family's order."""
    sums: dict[tuple[str, bool], int] = {}
    for one in counts:
        key = one.name, one.back
        sums[key] = one.count + (0 if one.recount else sums.get(key, 0))
    return tuple(
        Tally(
            kind.name,
            kind.count,
            sums.get((kind.name, False), 0),
            sums.get((kind.name, True), 0),
            (kind.name, False) in sums,
        )
        for kind in listed
    )


def check_counts(listed: Sequence[Loose], before: Iterable[Count], new: Sequence[Count]) -> tuple[Tally, ...]:
    """How it stands after the new counts. ManyErrors names every line that cannot be.

    "washed-out-unknown" (near names in `near`), "amount-negative", "more-out-than-listed", "more-back-than-out".
    """
    after = {one.name: one for one in tally(listed, [*before, *new])}
    errors = [
        (number, error)
        for number, one in enumerate(new, 1)
        if (error := _refusal(one, after.get(one.name), list(after))) is not None
    ]
    if errors:
        raise ManyErrors(tuple(errors))
    return tuple(after.values())


def _refusal(one: Count, stands: Tally | None, known: list[str]) -> DomainError | None:
    if stands is None:
        near = get_close_matches(one.name.lower(), known, 3)
        return DomainError(
            "washed-out-unknown",
            f"{one.name[:40]!r} is not on the family's list." + (f" Near: {', '.join(near)}." if near else ""),
            name=one.name[:40],
            near=near,
            listed=known,
        )
    values: dict[str, Any] = {"name": one.name, "listed": stands.listed, "out": stands.out, "back": stands.back}
    if one.count < 0:
        return DomainError("amount-negative", f"{one.name}: {one.count} is less than none.", **values)
    if stands.out > stands.listed:
        said = f"{one.name}: {stands.out} out, and the block has {stands.listed}."
        return DomainError(
            "more-out-than-listed", said, ways_out=("Count again, and say that it is a recount.",), **values
        )
    if stands.back > stands.out:
        said = f"{one.name}: {stands.back} back, and {stands.out} came out."
        return DomainError(
            "more-back-than-out", said, ways_out=("Count again, and say that it is a recount.",), **values
        )
    return None


def still_open(tallies: Sequence[Tally]) -> list[tuple[Tally, str]]:
    """What keeps a washed block open, with the words for it; nothing where nothing was ever counted out.

    Once one kind was counted out the block was washed, and every kind of the list is counted, be it none.
    """
    if not any(one.counted for one in tallies):
        return []
    open_ones = []
    for one in tallies:
        if not one.counted:
            open_ones.append((one, f"{one.name}: {one.listed} on the family's list, not counted out"))
        elif one.missing:
            open_ones.append((one, f"{one.name}: {one.out} out, {one.back} back, {one.missing} missing"))
    return open_ones
