"""What an engine family's maker states of it, typed: limits, tables, where old parts may go back.

Every value comes from the family's document, where the shop copied it from the maker's manual in force, which overrides it. A fact
that the document has not is None or empty, never a default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from inventory.domain.groove import Groove
from kits.domain.bearings import Half
from kits.domain.clearances import RingLimits
from kits.domain.gasket_grade import GasketGrade
from kits.domain.limits import Limits
from kits.domain.thrust import Washer


@dataclass(frozen=True, slots=True)
class NewPart:
    """A height or depth of new parts. what  as its maker calls it; ring_nm  the base ring it is stated with, None: without."""

    what: str
    limits: Limits
    nominal_nm: int | None
    ring_nm: int | None


@dataclass(frozen=True, slots=True)
class Protrusion:
    """Height of a liner over its block. gauged  how it is measured, in words; target_nm  the height to come near to."""

    limits: Limits
    nominal_nm: int | None
    target_nm: int | None
    gauged: str


@dataclass(frozen=True, slots=True)
class Seat:
    """What the maker asks of a counterbore or a ledge by itself; None: nothing.

    depth_spread_nm  highest less lowest depth round the bore; cupping_most_nm: how much deeper one of its edges is than the other
    """

    depth_spread_nm: int | None
    cupping_most_nm: int | None


@dataclass(frozen=True, slots=True)
class Clamping:
    """How liners are held down for gauging: the torque is quoted as its maker prints it, never computed."""

    bolts: int
    torque: str
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """The step between neighbours under one head.

    facing_deg  None: between the averages of two liners; else between facing points: the angle of the point that looks at
                the next bore, and of the one that looks back
    staircase   heights only rise or only fall along the head
    """

    limit_nm: int
    staircase: bool
    facing_deg: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Shims:
    """Shims under a flange: sizes, of which one goes into a bore at most, how deep a counterbore may be recut (None: not at all).

    parts  the part of each size, in the same order; empty: not stated
    """

    sizes_nm: tuple[int, ...]
    recut_most_nm: int | None
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BaseRings:
    """Base rings under the liners; alike: one size under all of them; parts: of each size, in the same order."""

    sizes_nm: tuple[int, ...]
    alike: bool
    parts: tuple[str, ...] = ()


#: What makers judge a used bolt by (common practice): how long it is, how much longer than it was, how thin its neck became.
FREE_LENGTH, STRETCH, NECK = "free length", "stretch", "neck diameter"


@dataclass(frozen=True, slots=True)
class ReuseLimit:
    """When a bolt may be used again at its positions; None where no such limit is given.

    measured        what its maker judges it by: one of MEASURED
    most_nm         of a free length or a stretch; neck_least_nm  of a neck, which gets thinner; the limit itself passes
    uses_most       final tightenings that it stands in all, the next one included
    tightening      how it is tightened, quoted as the document has it, never computed; empty: it says nothing
    """

    part: str
    positions: frozenset[str]
    never: bool
    most_nm: int | None
    uses_most: int | None
    measured: str = FREE_LENGTH
    neck_least_nm: int | None = None
    tightening: str = ""

    @property
    def limited(self) -> bool:
        """True if the bolt is to be measured before it goes in again."""
        return self.most_nm is not None or self.neck_least_nm is not None


@dataclass(frozen=True, slots=True)
class Bearing:
    """Selective fit of some journals: at which use positions, the halves by grade, clearance and target.

    fixed  journal whose halves are given, such as a thrust main with flanged ones → upper and lower, a pair for each undersize
    """

    name: str
    uppers: tuple[Half, ...]
    lowers: tuple[Half, ...]
    upper_at: tuple[str, ...]
    lower_at: tuple[str, ...]
    clearance: Limits
    target_nm: int
    same_undersize: bool
    fixed: Mapping[str, tuple[tuple[Half, Half], ...]] = field(default_factory=dict)

    @property
    def halves(self) -> tuple[Half, ...]:
        """Every half that any of its journals may take, each once."""
        fixed = [half for pairs in self.fixed.values() for pair in pairs for half in pair]
        return tuple(dict.fromkeys((*self.uppers, *self.lowers, *fixed)))


@dataclass(frozen=True, slots=True)
class EndFloat:
    """Play of the crankshaft along its axis. alike: the washers of both faces are one part number, bought as a pair."""

    limits: Limits
    washers: tuple[Washer, ...]
    faces: int
    alike: bool


@dataclass(frozen=True, slots=True)
class Origin:
    """How old parts of some positions go back.

    lost_never  once nobody knows where such a part came from, it is never used again
    bedded_to   position of the part it ran in with; empty: none. A new one there takes new ones here
    mark        "clock": the angle it stood at is kept; "side": the side of its number; "arrow": the end that its arrow points to; empty: none
    halves      names of the two halves of one piece, such as a rod that was broken apart: old goes with old, new with new
    turns_deg   by how much an old one may be turned when it goes back; (0,) only as it stood
    """

    positions: frozenset[str]
    lost_never: bool
    bedded_to: str
    mark: str
    turns_deg: tuple[int, ...]
    halves: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Fill:
    """What the book says goes in at some positions together. `of`: the fact that says how much, "oil" or "coolant_concentrate"."""

    of: str
    positions: frozenset[str]
    book_ul: int


@dataclass(frozen=True, slots=True)
class Facts:
    """The facts of one family revision. Read with `kits.domain.facts_reading.read_facts`.

    grooves    part number of a ring and the groove it sits in
    turns_deg  turns of a new liner that are allowed; None: not stated; any_turn: any
    liners_closed_by  positions of what closes over the liners of their engine, bank or cylinder, such as a head gasket
    expansion_ppm  piece ("block", "liner", "piston", "crank") and its coefficient of expansion per kelvin
    """

    texts: Mapping[str, str] = field(default_factory=dict)
    bore_nm: int | None = None
    fills: tuple[Fill, ...] = ()
    liner_height: NewPart | None = None
    block_depth: NewPart | None = None
    protrusion: Protrusion | None = None
    liners_closed_by: frozenset[str] = frozenset()
    clamping: Clamping | None = None
    seat: Seat | None = None
    within_one_liner_nm: int | None = None
    step: Step | None = None
    turns_deg: tuple[int, ...] | None = None
    any_turn: bool = False
    shims: Shims | None = None
    base_rings: BaseRings | None = None
    grooves: tuple[tuple[str, Groove], ...] = ()
    piston_clearance: Limits | None = None
    piston_measured_at_nm: int | None = None
    ring_gaps: tuple[RingLimits, ...] = ()
    weight_spread_mg: int | None = None
    weight_with: str = ""
    bolts: tuple[ReuseLimit, ...] = ()
    bearings: tuple[Bearing, ...] = ()
    end_float: EndFloat | None = None
    head_gasket_grades: tuple[GasketGrade, ...] = ()
    expansion_ppm: Mapping[str, Fraction] = field(default_factory=dict)
    origins: tuple[Origin, ...] = ()

    def origin(self, position: str) -> Origin | None:
        """What is stated of old parts at a use position, None where nothing is."""
        return next((one for one in self.origins if position in one.positions), None)
