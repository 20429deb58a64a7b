"""Which lot goes to which job: first to expire first against the day of fitting, one lot to an engine where it can be.

The rule. A lot serves a need when it is not stopped and its expiry is not before day of fitting + margin (inclusive). Needs are
handled in order of day of fitting, then job number; each takes the earliest-expiring usable lots. With equal lists of allowed parts
that serves as many units as can be served: a need that takes its earliest usable lot leaves to the others whatever they could use
in its place (exchange argument). Needs whose allowed parts overlap only partly break that argument; there earlier choices are
moved along an augmenting path, which never takes a unit from an earlier need.
The wish for one lot comes second: it is granted only where every other need keeps exactly the units it would have had without it.
Amounts are whole base units of the part. Nothing here knows a clock or a database.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import deque
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from heapq import nlargest

from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import usable_on

_FOREVER = date.max.toordinal() + 1
_DIGITS = re.compile(r"(\d+)", re.ASCII)
#: lot -> (the need that would take from it, the lot that this need would give up for it)
_Came = dict[int, tuple[int, int | None]]


@dataclass(frozen=True, slots=True)
class Lot:
    """What lies free in one spot: a lot, a serial set, an opened tube.

    lot_key      lot code or serial number; what has one and the same lies in several spots is one lot
    place_order  walking order of the spot, the last tie-break
    free         base units not held, >= 0
    received     None where nobody knows: it counts as the oldest, and the line is flagged
    spot_id      told back in the line, for a caller whose item lies in several spots
    """

    item_id: int
    part_id: int
    lot_key: str
    free: int
    expiry: date | None = None
    received: date | None = None
    place_order: int = 0
    spot_id: int = 0
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Need:
    """What one engine wants of one part. Sum the positions of an engine into one need, else the wish for one lot means nothing.

    key            unique; told back in lines and shorts
    also_parts     other parts that may serve as well; between parts, too, the expiry decides
    margin_days    life that must be left on the day of fitting, >= 0
    """

    key: str
    part_id: int
    quantity: int
    fit_date: date
    job: str = ""
    margin_days: int = 0
    same_lot_wish: bool = True
    also_parts: tuple[int, ...] = ()

    @property
    def parts(self) -> tuple[int, ...]:
        """All parts that may serve."""
        return (self.part_id, *self.also_parts)


@dataclass(frozen=True, slots=True)
class Line:
    """`quantity` of an item for a need, with the reason, and a flag ('' or a sentence) for what a person should look at."""

    need_key: str
    item_id: int
    spot_id: int
    quantity: int
    because: str
    flag: str = ""


@dataclass(frozen=True, slots=True)
class Short:
    """What a need lacks, and why: units of its parts that are usable, in stopped lots, or too near their expiry."""

    need_key: str
    quantity: int
    usable: int
    stopped: int
    expiring: int
    why: str


@dataclass(frozen=True, slots=True)
class Allocation:
    """Lines in order of handling, shorts, and what stays free: (item, spot, units) for every lot with a rest."""

    lines: tuple[Line, ...]
    short: tuple[Short, ...]
    left: tuple[tuple[int, int, int], ...]


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that reads digits as whole numbers: job 999 before job 1000, serial 0417 after serial 99."""
    pieces = _DIGITS.split(text)
    return tuple((0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in pieces if piece)


def allocate(needs: Iterable[Need], lots: Iterable[Lot]) -> Allocation:
    """Give lots to needs. The answer does not depend on the order of the input.

    Error: `allocation-unreadable` for a negative amount or margin and for a key or an (item, spot) that comes twice.
    """
    ordered = sorted(needs, key=lambda need: (need.fit_date, natural(need.job), natural(need.key)))
    shelf = sorted(lots, key=_lot_order)
    _check(ordered, shelf)
    free = {(lot.item_id, lot.spot_id): lot.free for lot in shelf}
    lines: dict[str, list[Line]] = {}
    shorts: dict[str, Short] = {}
    for group in _groups(ordered, shelf):
        for need, take in zip(group.needs, group.settle(), strict=True):
            lines[need.key] = [group.line(need, index, take) for index in sorted(take)]
            for index, units in take.items():
                lot = group.lots[index]
                free[lot.item_id, lot.spot_id] -= units
            if missing := need.quantity - sum(take.values()):
                shorts[need.key] = _short(need, group.all_lots, missing)
    return Allocation(
        lines=tuple(line for need in ordered for line in lines[need.key]),
        short=tuple(shorts[need.key] for need in ordered if need.key in shorts),
        left=tuple((item, spot, rest) for (item, spot), rest in free.items() if rest),
    )


def _lot_order(lot: Lot) -> tuple[int, int, tuple[tuple[int, int, str], ...], int, int, int]:
    """First to expire, then first received (unknown first), then lot code, then the way through the shop."""
    return (
        lot.expiry.toordinal() if lot.expiry else _FOREVER,
        lot.received.toordinal() if lot.received else 0,
        natural(lot.lot_key),
        lot.place_order,
        lot.item_id,
        lot.spot_id,
    )


def _check(needs: Sequence[Need], lots: Sequence[Lot]) -> None:
    seen: set[Hashable] = set()
    for need in needs:
        if need.quantity < 0 or need.margin_days < 0 or need.key in seen:
            raise DomainError("allocation-unreadable", f"Need {need.key!r} is negative or comes twice.", need=need.key)
        seen.add(need.key)
    for lot in lots:
        here = (lot.item_id, lot.spot_id)
        if lot.free < 0 or here in seen:
            raise DomainError(
                "allocation-unreadable", f"Lot {lot.lot_key!r} is negative or comes twice.", item=lot.item_id
            )
        seen.add(here)


def _groups(needs: Sequence[Need], lots: Sequence[Lot]) -> list[_Group]:
    """Needs that can compete for a lot stand in one group: joined by the parts they allow."""
    root: dict[int, int] = {}

    def find(part: int) -> int:
        root.setdefault(part, part)
        while root[part] != part:
            root[part] = root[root[part]]
            part = root[part]
        return part

    for need in needs:
        for part in need.also_parts:
            root[find(part)] = find(need.part_id)
    members: dict[int, list[Need]] = {}
    for need in needs:
        members.setdefault(find(need.part_id), []).append(need)
    shelves: dict[int, list[Lot]] = {key: [] for key in members}
    for lot in lots:
        if lot.part_id in root and (key := find(lot.part_id)) in shelves:
            shelves[key].append(lot)
    return [_Group(group, shelves[key]) for key, group in members.items()]


class _Group:
    """The needs and lots of one group; decides who takes what. A take maps an index of `lots` to units."""

    def __init__(self, needs: list[Need], lots: list[Lot]) -> None:
        self.needs = needs
        self.all_lots = lots
        self.lots = [lot for lot in lots if lot.free and not lot.stopped]
        self.one_list = len({frozenset(need.parts) for need in needs}) == 1
        expiries = [lot.expiry.toordinal() if lot.expiry else _FOREVER for lot in self.lots]
        self.names = [(lot.part_id, lot.lot_key) for lot in self.lots]
        self.usable: list[Sequence[int]] = []
        for need in needs:
            start = bisect_left(expiries, need.fit_date.toordinal() + need.margin_days)
            rest = range(start, len(self.lots))
            parts = set(need.parts)
            self.usable.append(rest if self.one_list else [i for i in rest if self.lots[i].part_id in parts])
        self.granted: set[str] = set()

    def settle(self) -> list[dict[int, int]]:
        """One take for each need, the wish for one lot granted where it costs nobody a unit."""
        free = [lot.free for lot in self.lots]
        base = self._plain(0, free)
        served = [sum(take.values()) for take in base]
        if all(self.lots_in(take) <= 1 or not need.same_lot_wish for need, take in zip(self.needs, base, strict=True)):
            return base
        takes: list[dict[int, int]] = []
        for at, need in enumerate(self.needs):
            take = self._earliest(at, free) if self.one_list else self._plain(at, free)[0]
            if need.same_lot_wish and self.lots_in(take) > 1:
                take = self._fewer_lots(at, free, take, served)
            for index, units in take.items():
                free[index] -= units
            takes.append(take)
        return takes

    def lots_in(self, take: Iterable[int]) -> int:
        """How many lots a take is of: one that lies in several spots is one lot."""
        return len({self.names[index] for index in take})

    def _earliest(self, at: int, free: Sequence[int]) -> dict[int, int]:
        """The earliest usable lots, up to the quantity; partial where they do not reach."""
        wanted, take = self.needs[at].quantity, {}
        for index in self.usable[at]:
            if not wanted:
                break
            if units := min(wanted, free[index]):
                take[index] = units
                wanted -= units
        return take

    def _plain(self, first: int, free: Sequence[int]) -> list[dict[int, int]]:
        """Serve the needs from `first` on without the wish. Nobody's units are fewer than an earlier need leaves possible."""
        rest, takes = list(free), []
        for at in range(first, len(self.needs)):
            take = self._earliest(at, rest)
            for index, units in take.items():
                rest[index] -= units
            takes.append(take)
            if not self.one_list:
                while sum(take.values()) < self.needs[at].quantity and self._augment(first, at, takes, rest):
                    pass
        return takes

    def _augment(self, first: int, at: int, takes: list[dict[int, int]], rest: list[int]) -> bool:
        """More units for need `at`, earlier needs moving to other lots. False when there is no such path."""
        came: _Came = dict.fromkeys(self.usable[at], (at, None))
        queue = deque(came)
        while queue:
            index = queue.popleft()
            if rest[index]:
                self._move(index, came, takes, rest, first, at)
                return True
            for who in range(first, at):
                if takes[who - first].get(index):
                    for other in self.usable[who]:
                        if other not in came:
                            came[other] = (who, index)
                            queue.append(other)
        return False

    def _move(self, end: int, came: _Came, takes: list[dict[int, int]], rest: list[int], first: int, at: int) -> None:
        """Push along the path that ends at lot `end` as many units as its narrowest step allows."""
        path: list[tuple[int, int, int | None]] = []
        step: int | None = end
        while step is not None:
            who, previous = came[step]
            path.append((who - first, step, previous))
            step = previous
        units = min(rest[end], self.needs[at].quantity - sum(takes[at - first].values()))
        units = min([units] + [takes[who][previous] for who, _, previous in path if previous is not None])
        rest[end] -= units
        for who, index, previous in path:
            takes[who][index] = takes[who].get(index, 0) + units
            if previous is not None:
                takes[who][previous] -= units
                if not takes[who][previous]:
                    del takes[who][previous]

    def _fewer_lots(self, at: int, free: Sequence[int], take: dict[int, int], served: Sequence[int]) -> dict[int, int]:
        """The same units from fewer lots, if the needs after this one keep what they have; else `take` as it is."""
        wanted = sum(take.values())
        for count in range(1, self.lots_in(take)):
            pick = self._pick(at, free, wanted, count)
            if pick is None:
                continue
            rest = [units - pick.get(index, 0) for index, units in enumerate(free)]
            if [sum(later.values()) for later in self._plain(at + 1, rest)] == served[at + 1 :]:
                self.granted.add(self.needs[at].key)
                return pick
        return take

    def _pick(self, at: int, free: Sequence[int], wanted: int, count: int) -> dict[int, int] | None:
        """The `count` lots that reach `wanted` units and come earliest in the order of the shelf; None when none reach."""
        spots: dict[tuple[int, str], list[int]] = {}
        for index in self.usable[at]:
            if free[index]:
                spots.setdefault(self.names[index], []).append(index)
        there = [sum(free[index] for index in its) for its in spots.values()]
        if sum(nlargest(count, there)) < wanted:
            return None
        pick: dict[int, int] = {}
        for place, its in enumerate(spots.values()):
            if there[place] + sum(nlargest(count - 1, there[place + 1 :])) >= wanted:
                count -= 1
                for index in its:
                    if units := min(wanted, free[index]):
                        pick[index] = units
                        wanted -= units
                if not wanted:
                    return pick
        return None

    def line(self, need: Need, index: int, take: Mapping[int, int]) -> Line:
        """The line of one lot in its spot, with its reason."""
        lot = self.lots[index]
        if lot.expiry:
            why, flag = f"usable through {lot.expiry}, first to expire", ""
        elif lot.received:
            why, flag = f"received {lot.received}, first in", ""
        else:
            why, flag = "first in", "The day of receipt is not known: it counts as the oldest."
        if need.key in self.granted:
            lots, units = self.lots_in(take), sum(take.values())
            why = (f"one lot covers all {units}; " if lots == 1 else f"fewest lots, {lots}; ") + why.split(",")[0]
        return Line(need.key, lot.item_id, lot.spot_id, take[index], why, flag)


def _short(need: Need, lots: Sequence[Lot], missing: int) -> Short:
    mine = [lot for lot in lots if lot.part_id in need.parts and lot.free]
    stopped = sum(lot.free for lot in mine if lot.stopped)
    good = [usable_on(lot.expiry, need.fit_date, need.margin_days) for lot in mine]
    usable = sum(lot.free for lot, fits in zip(mine, good, strict=True) if fits and not lot.stopped)
    expiring = sum(lot.free for lot, fits in zip(mine, good, strict=True) if not fits and not lot.stopped)
    reasons = [f"{usable} usable on the shelf" if usable else "none usable on the shelf"]
    if usable > need.quantity - missing:
        reasons.append("the rest goes to jobs before it")
    if stopped:
        reasons.append(f"{stopped} in stopped lots")
    if expiring:
        until = date.fromordinal(min(need.fit_date.toordinal() + need.margin_days, date.max.toordinal()))
        reasons.append(f"{expiring} with a use-by before {until}")
    return Short(need.key, missing, usable, stopped, expiring, f"short by {missing}: " + "; ".join(reasons))


@dataclass(frozen=True, slots=True)
class Held:
    """A pending hold as the re-check sees it."""

    hold_id: int
    item_id: int
    quantity: int
    expiry: date | None
    margin_days: int = 0
    stopped: bool = False


def recheck(holds: Iterable[Held], fit_date: date) -> tuple[tuple[Held, str], ...]:
    """The holds that the day of fitting, new or old, makes impossible, each with the reason; in the order given."""
    broken: list[tuple[Held, str]] = []
    for hold in holds:
        if hold.stopped:
            broken.append((hold, "its lot is stopped"))
        elif not usable_on(hold.expiry, fit_date, hold.margin_days):
            left = f" with {hold.margin_days} days left" if hold.margin_days else ""
            broken.append((hold, f"usable through {hold.expiry}, not on {fit_date}{left}"))
    return tuple(broken)


def by_position(
    positions: Sequence[tuple[str, int]], lines: Sequence[tuple[int, int]]
) -> tuple[tuple[str, int, int], ...]:
    """Say which position gets which item: (position, item, units), so that "two lots used" never stays "some of each".

    positions  (name, units) in working order;  lines  (item, units). A position is split over two items only when no item has
    enough left for it. Stops without error when the lines run out (a short).
    """
    left = [[item, units] for item, units in lines]
    given: list[tuple[str, int, int]] = []
    for name, units in positions:
        whole = next((row for row in left if row[1] >= units), None)
        for row in [whole] if whole else left:
            if take := min(units, row[1]):
                given.append((name, row[0], take))
                row[1] -= take
                units -= take
    return tuple(given)
