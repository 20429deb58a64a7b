"""What a layout is proposed from: bores, sets, liners that stay, and what the pistons were weighed by. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kits.domain.allowance import combined
from kits.domain.liners import NOTHING, Gauged
from kits.domain.protrusion import HeightLimits
from kits.domain.readings import MEASURE_AGAIN, agreed


@dataclass(frozen=True, slots=True)
class OnScales:
    """One weight of a piston that counts, in milligrams; `marks`: why it may not decide a pass."""

    id: int
    value_mg: int
    uncertainty_mg: int
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Weighing:
    """What the scales said of one piston, repeats taken together.

    weight_mg  None: not weighed, or to be weighed again
    doubts     why it may not decide a pass, each once
    ids        the readings that it rests on
    """

    weight_mg: int | None = None
    doubts: tuple[str, ...] = ()
    ids: tuple[int, ...] = ()


NOT_WEIGHED = Weighing()


def weighed(rows: Iterable[OnScales]) -> Weighing:
    """Weights of one piston taken together by the rules for readings: those that may decide a pass before those that may not, repeats as
    `agreed` says. Two that differ by more than their scales allow stand for no weight."""
    every = list(rows)
    taken = [row for row in every if not row.marks] or every
    if not taken:
        return NOT_WEIGHED
    found = agreed([row.value_mg for row in taken], combined([max(row.uncertainty_mg for row in taken)]))
    doubts = tuple(dict.fromkeys(mark for row in taken for mark in row.marks))
    again = (f"weight of the piston: {MEASURE_AGAIN}",) if found.value is None else ()
    return Weighing(found.value, (*doubts, *again), tuple(sorted(row.id for row in taken)))


@dataclass(frozen=True, slots=True)
class Standing:
    """The liner that stands in a bore and stays, or that is put back there as it stood.

    name       its serial, or what it is called where our records do not know it
    heights    read from shoulder (or flange) to top; over_deck: gauged over the deck as it stands, used where the others are not read
    weight_mg  of its piston, None: not known; weighing: what it was read by
    """

    name: str
    heights: Gauged = NOTHING
    over_deck: Gauged = NOTHING
    weight_mg: int | None = None
    weighing: Weighing = NOT_WEIGHED


@dataclass(frozen=True, slots=True)
class BoreAt:
    """A bore under an opened head. place: as readings name it; standing: None where it gets a set; recut_nm: how much deeper its seat
    may be cut, 0: not at all; ledge_cracked: no shim goes under its liner."""

    number: int
    position: str
    place: str
    head: str
    depths: Gauged
    standing: Standing | None = None
    recut_nm: int = 0
    ledge_cracked: bool = False


@dataclass(frozen=True, slots=True)
class SetAt:
    """A set that is at hand for the job. weighing: what the weight of its piston was read by; not weighed where its label says it."""

    serial: str
    heights: Gauged
    weight_mg: int | None = None
    weighing: Weighing = NOT_WEIGHED


@dataclass(frozen=True, slots=True)
class Bench:
    """Everything a layout is proposed from.

    elsewhere  weights of pistons of the engine that stay under heads which are not opened; None: one that is not known
    elsewhere_weighed  what these were read by
    """

    bores: tuple[BoreAt, ...]
    sets: tuple[SetAt, ...]
    limits: HeightLimits
    spread_mg: int | None = None
    elsewhere: tuple[int | None, ...] = ()
    elsewhere_weighed: tuple[Weighing, ...] = ()
