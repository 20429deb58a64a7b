"""Trays in the order of work: steps sorted so that each comes after those it waits for, lines laid into trays under a
weight.

Caution to show beside this: the limit is for lifting by hand; heavy castings and boxed sets take two people or a hoist
and rated lifting gear. The shop's own limit and local rules override the default.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inventory.domain.errors import DomainError

#: What one person may lift as a tray, in milligrams (12 kg; common practice, shops set their own).
DEFAULT_LIMIT_MG = 12_000_000


def step_order(steps: Sequence[tuple[str, Sequence[str]]]) -> list[str]:
    """Steps in an order in which each stands behind all it waits for; apart from that, in the order given (stable).

    `steps`: (step, the steps it waits for). Raises DomainError `step-unknown` (waits for a step that is not there, or a
    step stands twice), `step-loop` naming the circle, in which each waits for the one before it.
    """
    place: dict[str, int] = {}
    for at, (step, _) in enumerate(steps):
        if step in place:
            raise DomainError("step-unknown", f"step {step} stands twice", step=step)
        place[step] = at
    waits: dict[str, set[str]] = {}
    followers: dict[str, list[str]] = {step: [] for step in place}
    for step, after in steps:
        waits[step] = set(after)
        for before in waits[step]:
            if before not in place:
                raise DomainError(
                    "step-unknown", f"step {step} waits for {before}, which is not there", step=step, after=before
                )
            followers[before].append(step)
    ready = [place[step] for step in place if not waits[step]]
    heapq.heapify(ready)
    names = list(place)
    open_waits = {step: len(after) for step, after in waits.items()}
    order: list[str] = []
    while ready:
        step = names[heapq.heappop(ready)]
        order.append(step)
        for follower in followers[step]:
            open_waits[follower] -= 1
            if open_waits[follower] == 0:
                heapq.heappush(ready, place[follower])
    if len(order) < len(place):
        loop = _loop({step: waits[step] for step in names if step not in set(order)})
        raise DomainError(
            "step-loop",
            "steps wait for each other in a circle: " + " before ".join([*loop, loop[0]]),
            ways_out=("take one of these out of another's `after`",),
            loop=loop,
        )
    return order


def _loop(waits: Mapping[str, set[str]]) -> list[str]:
    """A circle among steps that all wait for one another; each waits for the one before it, and the first for the
    last."""
    path: list[str] = []
    step = next(iter(waits))
    while step not in path:
        path.append(step)
        step = min(before for before in waits[step] if before in waits)
    circle = path[path.index(step) :][::-1]
    first = min(range(len(circle)), key=lambda at: circle[at])
    return circle[first:] + circle[:first]


@dataclass(frozen=True, slots=True)
class TrayLine:
    """A line of the list, in the order of work.

    pieces, piece_mg  how many and what one weighs; None: not known (it is laid in, and the tray says that its weight is
    not whole) preferred         the tray the procedure has it in (operation and tray); a change of it begins a new tray
    floor             stands on the trolley's floor: matched sets, crank, heads
    tools             special tools of its step, lent from the crib
    """

    key: str
    pieces: int
    piece_mg: int | None
    preferred: str = ""
    floor: bool = False
    tools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Laid:
    """So many pieces of a line."""

    key: str
    pieces: int


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray: number 1 stands on top. `unweighed`: lines in it whose weight is not known."""

    number: int
    lines: tuple[Laid, ...]
    weight_mg: int
    tools: tuple[str, ...] = ()
    unweighed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """What stands on the trolley by itself; `by_hoist`: over the limit of a tray, two people or a hoist."""

    key: str
    pieces: int
    piece_mg: int | None
    by_hoist: bool
    tools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cart:
    """The whole cart; both lists in the order of work."""

    trays: tuple[Tray, ...]
    floor: tuple[Placed, ...]


@dataclass(slots=True)
class _Filling:
    preferred: str
    lines: list[Laid] = field(default_factory=list)
    weight_mg: int = 0
    tools: list[str] = field(default_factory=list)
    unweighed: list[str] = field(default_factory=list)


class _Packer:
    def __init__(self, limit_mg: int) -> None:
        self.limit_mg = limit_mg
        self.filled: list[_Filling] = []

    def _new(self, preferred: str) -> _Filling:
        self.filled.append(_Filling(preferred))
        return self.filled[-1]

    def lay(self, line: TrayLine, tools: list[str]) -> None:
        """Lay a line into the current tray, or begin another; a line heavier than a tray is spread over several."""
        tray = self.filled[-1] if self.filled else self._new(line.preferred)
        weight = line.piece_mg or 0
        whole = weight * line.pieces
        if tray.lines and (tray.preferred != line.preferred or tray.weight_mg + whole > self.limit_mg):
            tray = self._new(line.preferred)
        tray.tools.extend(tools)
        left = line.pieces
        while left:
            fits = left if weight == 0 else min(left, (self.limit_mg - tray.weight_mg) // weight)
            if fits == 0:
                tray = self._new(line.preferred)
                continue
            tray.lines.append(Laid(line.key, fits))
            tray.weight_mg += fits * weight
            left -= fits
        if line.piece_mg is None:
            tray.unweighed.append(line.key)


def lay_out(lines: Sequence[TrayLine], limit_mg: int = DEFAULT_LIMIT_MG) -> Cart:
    """Lines in the order of work into trays of at most `limit_mg`, each filled before the next begins.

    For lines in a fixed order that gives the fewest trays. A change of `preferred` begins a tray whatever is left in
    the one before. What stands on the floor, and a single piece heavier than a tray, does not interrupt the tray being
    filled. A special tool rides with the first line that needs it; its weight is not counted. Raises ValueError for a
    limit or a number of pieces that is not more than 0, or a negative weight.
    """
    if limit_mg <= 0 or any(line.pieces <= 0 or (line.piece_mg or 0) < 0 for line in lines):
        raise ValueError("a tray carries something, and a line has pieces that weigh something")
    packer = _Packer(limit_mg)
    floor: list[Placed] = []
    lent: set[str] = set()
    for line in lines:
        tools = [tool for tool in dict.fromkeys(line.tools) if tool not in lent]
        lent.update(tools)
        too_heavy = (line.piece_mg or 0) > limit_mg
        if line.floor or too_heavy:
            floor.append(Placed(line.key, line.pieces, line.piece_mg, too_heavy, tuple(tools)))
        else:
            packer.lay(line, tools)
    trays = tuple(
        Tray(number, tuple(tray.lines), tray.weight_mg, tuple(tray.tools), tuple(tray.unweighed))
        for number, tray in enumerate(packer.filled, start=1)
    )
    return Cart(trays, tuple(floor))
