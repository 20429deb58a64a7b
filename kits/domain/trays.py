"""Trays in the order of work: steps sorted so that each comes after those it waits for, lines laid into trays under a
weight and a size.

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
#: What a tray holds of packed things, in microlitres (24 L: 600 x 400 x 100 mm; common practice, shops set their own).
DEFAULT_LIMIT_UL = 24_000_000


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
                      not whole)
    piece_ul          what one takes up packed; None: not known (it rides along, and the tray says so)
    floor             stands on the trolley's floor: matched sets, crank, heads
    tools             special tools of its step, lent from the crib
    """

    key: str
    pieces: int
    piece_mg: int | None
    piece_ul: int | None = None
    floor: bool = False
    tools: tuple[str, ...] = ()

    def over(self, limit_mg: int, limit_ul: int) -> bool:
        """Whether one piece is too much for a tray."""
        return (self.piece_mg or 0) > limit_mg or (self.piece_ul or 0) > limit_ul


@dataclass(frozen=True, slots=True)
class Laid:
    """So many pieces of a line."""

    key: str
    pieces: int


@dataclass(frozen=True, slots=True)
class Tray:
    """One tray: number 1 stands on top. `unweighed`, `unsized`: lines in it whose weight or size is not known."""

    number: int
    lines: tuple[Laid, ...]
    weight_mg: int
    size_ul: int = 0
    tools: tuple[str, ...] = ()
    unweighed: tuple[str, ...] = ()
    unsized: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """What stands on the trolley by itself; `by_hoist`: over the weight of a tray, two people or a hoist."""

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
    lines: list[Laid] = field(default_factory=list)
    weight_mg: int = 0
    size_ul: int = 0
    tools: list[str] = field(default_factory=list)
    unweighed: list[str] = field(default_factory=list)
    unsized: list[str] = field(default_factory=list)


class _Packer:
    def __init__(self, limit_mg: int, limit_ul: int) -> None:
        self.limit_mg, self.limit_ul = limit_mg, limit_ul
        self.filled: list[_Filling] = []

    def _new(self) -> _Filling:
        self.filled.append(_Filling())
        return self.filled[-1]

    def _room(self, tray: _Filling, line: TrayLine) -> int:
        """How many pieces of a line still go into a tray."""
        room = line.pieces
        if line.piece_mg:
            room = min(room, (self.limit_mg - tray.weight_mg) // line.piece_mg)
        if line.piece_ul:
            room = min(room, (self.limit_ul - tray.size_ul) // line.piece_ul)
        return room

    def lay(self, line: TrayLine, tools: list[str]) -> None:
        """Lay a line whole into the current tray, or begin another; a line that is too much for a tray is spread over several."""
        tray = self.filled[-1] if self.filled else self._new()
        if tray.lines and self._room(tray, line) < line.pieces:
            tray = self._new()
        tray.tools.extend(tools)
        left = line.pieces
        while left:
            fits = min(left, self._room(tray, line))
            if fits == 0:
                tray = self._new()
                continue
            tray.lines.append(Laid(line.key, fits))
            tray.weight_mg += fits * (line.piece_mg or 0)
            tray.size_ul += fits * (line.piece_ul or 0)
            left -= fits
            if line.piece_mg is None:
                tray.unweighed.append(line.key)
            if line.piece_ul is None:
                tray.unsized.append(line.key)


def lay_out(lines: Sequence[TrayLine], limit_mg: int = DEFAULT_LIMIT_MG, limit_ul: int = DEFAULT_LIMIT_UL) -> Cart:
    """Lines in the order of work into trays of at most `limit_mg` and `limit_ul`, each filled before the next begins.

    A tray holds a run of the work: whatever an earlier step needs lies in the same tray or in one above it. For lines in a fixed
    order that gives the fewest trays. What stands on the floor, and a single piece that is too much for a tray, does not
    interrupt the tray being filled. A special tool rides with the first line that needs it; neither its weight nor its size is
    counted. Raises ValueError for a limit or a number of pieces that is not more than 0, or a negative weight or size.
    """
    senseless = any(line.pieces <= 0 or min(line.piece_mg or 0, line.piece_ul or 0) < 0 for line in lines)
    if limit_mg <= 0 or limit_ul <= 0 or senseless:
        raise ValueError("a tray carries something, and a line has pieces that weigh something")
    packer = _Packer(limit_mg, limit_ul)
    floor: list[Placed] = []
    lent: set[str] = set()
    for line in lines:
        tools = [tool for tool in dict.fromkeys(line.tools) if tool not in lent]
        lent.update(tools)
        if line.floor or line.over(limit_mg, limit_ul):
            too_heavy = (line.piece_mg or 0) > limit_mg
            floor.append(Placed(line.key, line.pieces, line.piece_mg, too_heavy, tuple(tools)))
        else:
            packer.lay(line, tools)
    trays = tuple(
        Tray(
            number, tuple(tray.lines), tray.weight_mg, tray.size_ul, tuple(tray.tools), tuple(tray.unweighed),
            tuple(tray.unsized),
        )
        for number, tray in enumerate(packer.filled, start=1)
    )  # fmt: skip
    return Cart(trays, tuple(floor))
