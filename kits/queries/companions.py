"""Parts of a finished list that lack the companion which a replacement notice asks for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from inventory.domain.companions import NO_BANK, Alone, Companion, alone, differing
from inventory.domain.part_numbers import look_alike_key
from inventory.models import Part
from inventory.queries.joins import kept_for
from inventory.queries.replacements import companions_of
from kits.domain.families import Family
from kits.domain.procedures import Operation
from kits.domain.serving import PIECE, Promised
from kits.queries.job_list import JobList, sits_in
from kits.queries.served import promised_of

#: The listed part, what is issued in its place, and (position, make, amount) of each share.
Swap = tuple[str, str, Sequence[tuple[str, int, int]]]
#: Asked for outside the list: part, pieces, and the use positions that it is for.
Asked = tuple[str, int, Sequence[str]]


class _Amounts:
    """Pieces by bank and part, as a list is changed by what is issued."""

    def __init__(self, family: Family) -> None:
        self._banks = {position.name: position.bank or NO_BANK for position in family.map.positions}
        self.by_bank: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))

    def add(self, position: str, part: str, pieces: int) -> None:
        self.by_bank[self._banks.get(position, NO_BANK)][part] += pieces

    def add_asked(self, asked: Asked) -> None:
        """On the bank of its positions; where they stand in several, or are not known, for whichever lacks it."""
        part, pieces, positions = asked
        banks = {self._banks.get(position, NO_BANK) for position in positions}
        self.by_bank[banks.pop() if len(banks) == 1 else NO_BANK][part] += pieces

    def swap(self, swap: Swap) -> None:
        wanted, issued, shares = swap
        for position, _, pieces in shares if wanted != issued else ():
            self.add(position, wanted, -pieces)
            self.add(position, issued, pieces)


def alone_on(
    listed: JobList,
    promised: Sequence[Promised] | None,
    part_ids: Iterable[int],
    swaps: Iterable[Swap] = (),
    asked: Asked | None = None,
) -> tuple[Alone, ...]:
    """What the finished list brings without its companion: the list with everything that is issued in place of something, or was
    asked for beside it.

    promised   holds of the job; None: they are read, where there is anything to judge
    part_ids   parts of the list and those that replacement notices join with them
    What stays in the engine counts too. One query where no notice names a companion, else two.
    """
    rules = companions_of(part_ids)
    if not rules:
        return ()
    renewed = {line.position for line in listed.settled.lines} - {one.position for one in listed.taken_off.taken}
    renewed -= listed.scope.not_needed.keys()
    amounts = _Amounts(listed.scope.family)
    for position, part in sits_in(listed.job).items():
        amounts.add(position, part, position not in renewed)
    for line in listed.lines:
        for (position, _), pieces in zip(line.keys, line.amounts, strict=True):
            amounts.add(position, line.part, pieces if line.base == PIECE else 0)
    for one in promised_of(listed.job) if promised is None else promised:
        if one.on_approval or one.poured:
            continue
        if one.shares and any(amount for _, _, amount in one.shares):
            amounts.swap((one.wanted, one.part, _so_many(one.shares, one.amount)))
        else:
            amounts.add_asked((one.part, one.amount, [position for position, _, _ in one.shares]))
    for swap in swaps:
        amounts.swap(swap)
    if asked is not None:
        amounts.add_asked(asked)
    return alone(rules, _as_kept(rules, amounts.by_bank))


def _as_kept(rules: Iterable[Companion], by_bank: Mapping[str, Mapping[str, int]]) -> Mapping[str, Mapping[str, int]]:
    """The amounts with each joined record counted as the one that is kept. One query where a number is written in two ways."""
    named = {name for rule in rules for name in (rule.part, rule.needs)}
    keys = {look_alike_key(name) for name in named}
    written = {part for parts in by_bank.values() for part in parts if part not in named}
    kept = kept_for([part for part in written if look_alike_key(part) in keys]) if written else {}
    if not kept:
        return by_bank
    counted: dict[str, dict[str, int]] = {}
    for bank, parts in by_bank.items():
        totals = counted.setdefault(bank, defaultdict(int))
        for part, pieces in parts.items():
            totals[kept.get(part, part)] += pieces
    return counted


def _so_many(shares: Sequence[tuple[str, int, int]], pieces: int) -> list[tuple[str, int, int]]:
    """The first of the shares, up to so many pieces: less was picked than was held."""
    found = []
    for position, make, amount in shares:
        found.append((position, make, min(amount, pieces)))
        pieces -= found[-1][2]
    return found


def questions_of(operation: Operation, family: Family, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """Either/or alternatives of a procedure that bring other companions than the notices ask for. One query."""
    rules = companions_of(part.pk for part in parts.values())
    groups: dict[str, _Amounts] = defaultdict(lambda: _Amounts(family))
    for line in operation.lines if rules else ():
        if line.choice and line.amount.base == PIECE:
            for position in line.positions:
                groups[f"{line.choice} {line.alternative}"].add(position, line.part, line.amount.amount)
    return differing(rules, {name: amounts.by_bank for name, amounts in groups.items()})
