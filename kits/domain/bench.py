"""What a layout is proposed from: bores, sets, liners that stay, and what the pistons were weighed by. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from kits.domain.allowance import combined
from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.liners import HOUR_DEG, NOTHING, Gauged
from kits.domain.protrusion import CIRCLE_DEG, HeightLimits
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
class LabelWeight:
    """The weight that the label of a set says of its piston, None: none; weighed: with what, as "with pin"."""

    weight_mg: int | None = None
    weighed: str = ""

    def other_than(self, wanted: str) -> str:
        """Why it does not count where weights are compared as `wanted`; "" where it does, or says none."""
        if self.weight_mg is None or self.weighed == wanted:
            return ""
        return f"its label says a weight {self.weighed}, the limit is of pistons {wanted}: weigh it"


NO_LABEL = LabelWeight()


def unknown_liner(cylinder: str) -> str:
    """What the liner of a cylinder is called whose set our records do not know."""
    return f"liner of {cylinder}"


@dataclass(frozen=True, slots=True)
class Standing:
    """The liner that stands in a bore and stays, or that is put back there.

    name       its serial, or what it is called where our records do not know it
    heights    read from shoulder (or flange) to top; over_deck: gauged over the deck as it stands, used where the others are not read
    weight_mg  of its piston, None: not known; weighing: what it was read by
    turns_deg  how it may stand, from how it stood: one that is not lifted as it stands, one that goes back as the family allows
    """

    name: str
    heights: Gauged = NOTHING
    over_deck: Gauged = NOTHING
    weight_mg: int | None = None
    weighing: Weighing = NOT_WEIGHED
    turns_deg: tuple[int, ...] = (0,)


@dataclass(frozen=True, slots=True)
class BoreAt:
    """A bore under an opened head. place: as readings name it; standing: None where it gets a set; recut_nm: how much deeper its seat
    may be cut, 0: not at all; ledge_cracked: no shim goes under its liner;
    seat_wrong: why no liner goes onto its seat, "" where one may."""

    number: int
    position: str
    place: str
    head: str
    depths: Gauged
    standing: Standing | None = None
    recut_nm: int = 0
    ledge_cracked: bool = False
    seat_wrong: str = ""


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


def directly(bore: BoreAt, limits: HeightLimits) -> bool:
    """Whether the liner that stays counts as it was gauged over the deck: only where no base ring is chosen."""
    its = bore.standing
    return its is not None and not limits.rings_nm and not its.heights.points and bool(its.over_deck.points)


def turns_of(bore: BoreAt, limits: HeightLimits) -> tuple[int, ...]:
    """How the liner that stays may be turned. Over the deck it was gauged as it stands: what it comes to when turned nobody read."""
    return (0,) if bore.standing is None or directly(bore, limits) else bore.standing.turns_deg


def read_of(bore: BoreAt, limits: HeightLimits) -> Gauged:
    """What was read of a bore, or of the liner that stays in it where that was gauged over the deck."""
    return bore.standing.over_deck if bore.standing is not None and directly(bore, limits) else bore.depths


def task_of(
    bench: Bench, sets: Sequence[SetAt], hours: Sequence[int], homes: Mapping[str, tuple[int, int]]
) -> LayoutTask:
    """The task for `layout`. Everything that is named was read at these hours."""
    points = len(hours)
    liners = [
        LinerSet(one.serial, _lengths(one.heights, hours), one.weight_mg, *_home(homes.get(one.serial))) for one in sets
    ]
    bores = []
    for bore in bench.bores:
        its = bore.standing
        depths = _lengths(NOTHING if its and directly(bore, bench.limits) else bore.depths, hours)
        bores.append(Bore(bore.number, depths, bore.head, no_shim=bore.ledge_cracked))
        if its is not None:
            over_deck, may = directly(bore, bench.limits), turns_of(bore, bench.limits)
            heights = _lengths(its.over_deck if over_deck else its.heights, hours)
            liners.append(LinerSet(its.name, heights, its.weight_mg, bore.number, _judged_at(may, points) or may))
    turns = bench.limits.turns_deg
    if turns is not None:
        turns = _judged_at(turns, points) or (0,)
    return LayoutTask(
        tuple(bores),
        tuple(liners),
        replace(bench.limits, turns_deg=turns),
        allowance_of(bench, sets),
        bench.spread_mg,
    )


def _judged_at(turns_deg: Sequence[int], points: int) -> tuple[int, ...]:
    """Those of these turns that bring points onto points: one that falls between two cannot be judged."""
    return tuple(turn for turn in turns_deg if not turn * points % CIRCLE_DEG and not turn % HOUR_DEG)


def _home(at: tuple[int, int] | None) -> tuple[int | None, tuple[int, ...]]:
    return (None, (0,)) if at is None else (at[0], (at[1],))


def _lengths(row: Gauged, hours: Sequence[int]) -> tuple[int, ...]:
    """At these hours; nothing read stands for nought: the height was gauged over the deck."""
    return row.at(hours) or (0,) * len(hours)


def allowance_of(bench: Bench, sets: Sequence[SetAt]) -> int:
    """U of the least certain gauges of liners and of bores."""
    liners = [one.heights.uncertainty_nm for one in sets]
    liners += [bore.standing.heights.uncertainty_nm for bore in bench.bores if bore.standing is not None]
    bores = [read_of(bore, bench.limits).uncertainty_nm for bore in bench.bores]
    return combined([max(liners, default=0), max(bores)])
