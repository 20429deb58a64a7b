"""What of a list is served: fitted, lying on the cart or at the bench, or promised; and what lies there to no purpose. Pure.

Nothing here counts acts. What lies on cart and bench is counted as it lies: whatever was brought back, scrapped, broken or
counted short serves nothing any more, by whichever act it left.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kits.domain.requirements import Key
from kits.domain.rests import FromRests, OwnTube, Pouring, ToPour, from_rests
from kits.domain.tubes import Rest

PIECE = "piece"
#: How a line is measured out of which the whole amount has to be in; of a bead or a film the joint takes what it takes.
FILLED = "fill"


@dataclass(frozen=True, slots=True)
class Demand:
    """One position of the list: the part it takes and how much, in whole `base` units; `poured` out of tubes; `filled`: what is in so
    far serves so much of it, and no more; `nozzle`: positions of one are laid through one nozzle."""

    key: Key
    part: str
    amount: int
    base: str
    poured: bool = False
    filled: bool = False
    nozzle: str = ""


@dataclass(frozen=True, slots=True)
class Promised:
    """A hold of the job, open or picked.

    name     what tells it apart (its id); `newness` grows with the pick list it is on
    part     what is held; `wanted`: what the list asks for (another where a replacement is issued)
    shares   (position, make, amount): what it serves; amount 0 for one more that was asked for outside the list
    amount   held and still open, or picked, in base units of the item; asked: what was held when it was promised
    tube     an opened tube, promised as a whole; `product` joins closed and opened tubes of one lot
    on_approval  one of several candidates of a measured choice
    opened_on, use_by  of an opened tube
    """

    name: int
    item: int
    part: str
    wanted: str
    shares: tuple[tuple[str, int, int], ...]
    amount: int
    open: bool
    newness: int = 0
    tube: bool = False
    poured: bool = False
    product: tuple[int, int] = (0, 0)
    on_approval: bool = False
    asked: int = 0
    opened_on: date | None = None
    use_by: date | None = None


@dataclass(frozen=True, slots=True)
class Lying:
    """New things of one item on the job's cart and bench, in base units of the item; `unfit`: stopped, or past its use-by; `opened_on`:
    of an opened tube."""

    item: int
    part: str
    amount: int
    tube: bool = False
    product: tuple[int, int] = (0, 0)
    unfit: bool = False
    opened_on: date | None = None


@dataclass(frozen=True, slots=True)
class FittedAt:
    """So much of an item was fitted at a key and still counts."""

    key: Key
    item: int
    part: str
    amount: int


@dataclass(frozen=True, slots=True)
class Served:
    """amounts: how much of each demand is served. spare: item → what lies there and serves nothing. idle: holds likewise; of these,
    shares: what the rest of each serves, as (position, make, amount). rests: of parts that a joint still lacks, what the job's own tubes
    give beyond what they were brought for."""

    amounts: Mapping[tuple[Key, str], int]
    spare: Mapping[int, int]
    idle: Mapping[int, int]
    shares: Mapping[int, tuple[tuple[str, int, int], ...]]
    rests: tuple[Rest, ...] = ()


def still_fitted(
    fittings: Iterable[FittedAt], standing: Mapping[tuple[str, int], int], listed: Collection[Key] = ()
) -> list[FittedAt]:
    """What was fitted on a job and still counts, position by position in the order of the fittings.

    standing  (position, item) → how much stands in the engine now, whoever took out the rest
    listed    the keys of the list: what came out of a joint that is made once more (a dry build) was fitted all the same
    What stands counts for the newest fittings.
    """
    last: dict[str, int] = {}
    for position, make in listed:
        last[position] = max(make, last.get(position, 0))
    left = dict(standing)
    counts: list[int] = []
    rows = list(fittings)
    for one in reversed(rows):
        at = (one.key[0], one.item)
        there = min(one.amount, left.get(at, 0))
        left[at] = left.get(at, 0) - there
        counts.append(there if one.key[1] >= last.get(one.key[0], 0) else one.amount)
    return [
        FittedAt(one.key, one.item, one.part, amount)
        for one, amount in zip(rows, reversed(counts), strict=True)
        if amount
    ]


def stand_ins(promised: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    """Listed part → parts that were promised in its place, from pairs of the two."""
    found: dict[str, set[str]] = defaultdict(set)
    for wanted, part in promised:
        found[wanted].add(part)
    return found


class _Sheet:
    """The demands while they are served."""

    def __init__(self, demands: Iterable[Demand]) -> None:
        self.demands = {(one.key, one.part): one for one in demands}
        self.amounts: dict[tuple[Key, str], int] = {}
        self.shares: dict[int, dict[Key, int]] = defaultdict(dict)

    def lack(self, name: tuple[Key, str]) -> int:
        demand = self.demands.get(name)
        return 0 if demand is None else demand.amount - self.amounts.get(name, 0)

    def give(self, name: tuple[Key, str], most: int) -> int:
        given = min(self.lack(name), most)
        if given > 0:
            self.amounts[name] = self.amounts.get(name, 0) + given
        return max(given, 0)

    def give_of(self, hold: int, name: tuple[Key, str], most: int) -> int:
        """The same of a hold: what of it serves which key is kept."""
        given = self.give(name, most)
        if given:
            its = self.shares[hold]
            its[name[0]] = its.get(name[0], 0) + given
        return given

    def fill(self, name: tuple[Key, str]) -> None:
        self.give(name, self.lack(name))


def serve(
    demands: Sequence[Demand],
    promised: Sequence[Promised],
    fitted: Iterable[FittedAt],
    lying: Iterable[Lying],
    pouring: Mapping[str, Pouring] | None = None,
) -> Served:
    """Serve the demands: by what is fitted, by what lies on cart and bench, by what is promised, oldest promise first.

    Where several promises of one item lie there in part, the newest is what has gone. What then serves nothing serves another
    position that asks for the same part and lacks it; the rest is spare. What is unfit serves nothing and is spare.
    pouring: of parts that come in tubes; a joint for which none was brought is served where the rest of the job's own closes it
    """
    sheet = _Sheet(demands)
    lying = list(lying)
    things = {one.item: one for one in lying if not one.unfit}
    _serve_fitted(sheet, fitted, stand_ins((one.wanted, one.part) for one in promised))
    counted = [one for one in sorted(promised, key=lambda one: (one.newness, one.name)) if not one.poured]
    left = {item: thing.amount for item, thing in things.items() if not thing.tube}
    idle = _serve_counted(sheet, counted, left)
    rests = _serve_poured(sheet, [one for one in promised if one.poured], things, left, idle, pouring or {})
    _fill_lacking(sheet, counted, things, left, idle)
    left |= {one.item: one.amount for one in lying if one.unfit}
    spare = {item: amount for item, amount in left.items() if amount}
    idle = {name: amount for name, amount in idle.items() if amount}
    shares = {name: tuple((*key, amount) for key, amount in sheet.shares.get(name, {}).items()) for name in idle}
    return Served(sheet.amounts, dict(sorted(spare.items())), idle, shares, rests)


def _serve_fitted(sheet: _Sheet, fitted: Iterable[FittedAt], instead: Mapping[str, set[str]]) -> None:
    there: dict[Key, list[FittedAt]] = defaultdict(list)
    for one in fitted:
        there[one.key].append(one)
    for (key, part), demand in sheet.demands.items():
        accepted = {part} | instead.get(part, set())
        amount = sum(one.amount for one in there.get(key, ()) if one.part in accepted)
        if amount and demand.base != PIECE and not demand.filled:
            sheet.fill((key, part))
        elif amount:
            sheet.give((key, part), amount)


def _serve_counted(sheet: _Sheet, counted: Sequence[Promised], left: dict[int, int]) -> dict[int, int]:
    """First what lies there, then what is held; what a hold does not serve is returned, by its name."""
    for one in counted:
        if one.open:
            continue
        most = min(one.amount, left.get(one.item, 0))
        for position, make, amount in one.shares:
            given = sheet.give(((position, make), one.wanted), min(amount, most))
            most -= given
            left[one.item] = left.get(one.item, 0) - given
    idle: dict[int, int] = {}
    for one in counted:
        if one.open:
            given = sum(
                sheet.give_of(one.name, ((position, make), one.wanted), amount) for position, make, amount in one.shares
            )
            idle[one.name] = one.amount - given
    return idle


def _fill_lacking(
    sheet: _Sheet, counted: Sequence[Promised], things: Mapping[int, Lying], left: dict[int, int], idle: dict[int, int]
) -> None:
    """Positions that still lack a part take what lies or is held to no purpose, those named by an extra first."""
    named = {((position, make), one.part) for one in counted for position, make, amount in one.shares if amount == 0}
    lacking = [name for name, demand in sheet.demands.items() if not demand.poured and sheet.lack(name) > 0]
    for name in sorted(lacking, key=lambda name: name not in named):
        for item, amount in left.items():
            if amount and things[item].part == name[1] and sheet.lack(name) > 0:
                left[item] -= sheet.give(name, amount)
        for one in counted:
            if idle.get(one.name) and one.part == one.wanted == name[1] and sheet.lack(name) > 0:
                idle[one.name] -= sheet.give_of(one.name, name, idle[one.name])


def _serve_poured(
    sheet: _Sheet,
    poured: Sequence[Promised],
    things: Mapping[int, Lying],
    left: dict[int, int],
    idle: dict[int, int],
    pouring: Mapping[str, Pouring],
) -> tuple[Rest, ...]:
    """Tubes serve their joints whole, as long as as many of them are there as the newest list planned for the joint; their rest serves
    the joints that it closes. What is left of the rest."""
    own = {one.item for one in poured if one.tube}
    opened: dict[tuple[int, int], list[int]] = defaultdict(list)
    for thing in things.values():
        if thing.tube and thing.amount and thing.item not in own:
            opened[thing.product].append(thing.item)
    closed = dict(left)
    alive = {
        one.name: _stands_by(one, things, left, opened)
        for one in sorted(poured, key=lambda one: (one.newness, one.name))
    }
    brought_for, wanting = _serve_named(sheet, poured, alive)
    used = {alive[name] for name in wanting}
    found = _serve_from_rests(sheet, pouring, brought_for, _own_tubes(poured, things, closed, wanting, used))
    used |= found.items
    wanting |= found.holds
    for thing in things.values():
        if thing.tube and thing.amount and thing.item not in used:
            left[thing.item] = thing.amount
    for one in poured:
        if one.open and one.name not in wanting:
            idle[one.name] = one.amount
        elif not one.open and one.name not in wanting and not one.tube and alive[one.name] == one.item:
            left[one.item] = left.get(one.item, 0) + 1
    for item, pieces in found.closed.items():
        left[item] = min(left.get(item, 0), closed[item] - pieces)
    return found.left


def _serve_named(
    sheet: _Sheet, poured: Sequence[Promised], alive: Mapping[int, int | None]
) -> tuple[dict[tuple[Key, str], int], set[int]]:
    """Serve the joints by the tubes that were brought for them: (what of each was still to be poured, the promises that are wanted)."""
    needed: dict[tuple[Key, str], tuple[int, int]] = {}
    there: dict[tuple[Key, str], int] = defaultdict(int)
    wanting: set[int] = set()
    for one in poured:
        for position, make, amount in one.shares:
            name = ((position, make), one.wanted)
            newest, count = needed.get(name, (-1, 0))
            if amount and one.newness >= newest:
                needed[name] = (one.newness, count + 1 if one.newness == newest else 1)
            if alive[one.name] is not None:
                there[name] += 1
            if sheet.lack(name) > 0:
                wanting.add(one.name)
    brought_for: dict[tuple[Key, str], int] = {}
    for name, count in there.items():
        if count >= needed.get(name, (0, 1))[1]:
            if sheet.lack(name) > 0:
                brought_for[name] = sheet.lack(name)
            sheet.fill(name)
    return brought_for, wanting


def _own_tubes(
    poured: Sequence[Promised],
    things: Mapping[int, Lying],
    closed: Mapping[int, int],
    wanting: Collection[int],
    used: Collection[int | None],
) -> dict[str, list[OwnTube]]:
    """Part → its tubes on cart and bench, and those that are held."""
    found: dict[str, list[OwnTube]] = defaultdict(list)
    for item, thing in things.items():
        if thing.tube and thing.amount:
            found[thing.part].append(OwnTube(item, thing.amount, opened_on=thing.opened_on, wanted=item in used))
        elif not thing.tube and closed.get(item, 0) > 0:
            found[thing.part].append(OwnTube(item, None, pieces=closed[item], wanted=item in used))
    for one in poured:
        if one.open:
            content, pieces = (one.amount, 1) if one.tube else (None, one.amount)
            wanted = one.name in wanting
            found[one.part].append(OwnTube(one.item, content, one.name, pieces, one.opened_on, one.use_by, wanted))
    return found


def _serve_from_rests(
    sheet: _Sheet,
    pouring: Mapping[str, Pouring],
    brought_for: Mapping[tuple[Key, str], int],
    tubes: Mapping[str, Sequence[OwnTube]],
) -> FromRests:
    """Joints for which nothing was brought, from what the job's own tubes give beyond what they were brought for."""
    first, lacking = [], []
    for name, demand in sheet.demands.items():
        if name in brought_for:
            first.append(ToPour(name, brought_for[name], demand.base, demand.nozzle))
        elif demand.poured and sheet.lack(name) > 0:
            lacking.append(ToPour(name, sheet.lack(name), demand.base, demand.nozzle))
    found = from_rests(pouring, tubes, first, lacking)
    for name in found.serves:
        sheet.fill(name)
    return found


def _stands_by(
    one: Promised, things: Mapping[int, Lying], left: dict[int, int], opened: dict[tuple[int, int], list[int]]
) -> int | None:
    """The item that stands behind a promised tube: itself while held or closed, the tube it was opened as; None: it is gone."""
    if one.open:
        return one.item
    if one.tube:
        thing = things.get(one.item)
        return one.item if thing is not None and thing.amount else None
    if left.get(one.item, 0) > 0:
        left[one.item] -= 1
        return one.item
    return opened[one.product].pop(0) if opened[one.product] else None
