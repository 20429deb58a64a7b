"""What is read on an engine, how readings of one thing agree, and when a typed value asks back.

Nothing typed is overwritten: a value outside its band is refused with what was likely meant, and is taken as it stands only when a
person confirms it with a reason. What was typed first and what was understood are both kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from inventory.domain.errors import DomainError
from inventory.domain.quantities import Quantity, decimal_text, round_half_even
from inventory.domain.units import BY_CODE, Dimension, factor


@dataclass(frozen=True, slots=True)
class What:
    """One thing that is measured: its dimension, and whether it may lie below zero (a liner or a piston below the deck)."""

    dimension: Dimension
    text: str
    below_zero: bool = False


_LENGTHS = {
    "liner-height": "liner, shoulder to top",
    "block-depth": "block, deck to liner ledge",
    "seat-cupping": "liner seat, how much deeper at one edge than at the other",
    "flange-thickness": "liner flange thickness",
    "counterbore-depth": "counterbore depth",
    "bore-diameter": "liner bore",
    "piston-diameter": "piston at its stated height",
    "journal-diameter": "crank journal or pin",
    "housing-bore": "bearing housing without shells",
    "wall-thickness": "bearing shell wall",
    "ring-gap": "piston ring gap in its own bore",
    "end-float": "crank end float",
    "bolt-length": "free length of a bolt",
    "shim-thickness": "shim",
    "base-ring-thickness": "base ring",
}
#: Code of what is measured -> its meaning. The list is closed; a new one is one line.
WHAT: Mapping[str, What] = MappingProxyType(
    {
        **{code: What(Dimension.LENGTH, text) for code, text in _LENGTHS.items()},
        "protrusion": What(Dimension.LENGTH, "liner over deck, gauged directly", below_zero=True),
        "piston-projection": What(Dimension.LENGTH, "piston top over deck", below_zero=True),
        "weight": What(Dimension.MASS, "weight"),
    }
)
#: What a height of a liner over the deck is computed from: it counts only without rubber, on a clean ledge.
LINER_READINGS = frozenset({"liner-height", "block-depth", "flange-thickness", "counterbore-depth", "protrusion"})

#: How much deeper a liner's seat is at one edge than at the other: read clean, at clock hours.
SEAT_CUPPING = "seat-cupping"

#: Points of such readings: clock hours.
HOURS = 12
CLOCK = tuple(str(hour) for hour in range(1, HOURS + 1))

#: What is read of liners that stand in the block: only these can be clamped. A flange or a counterbore is read by itself.
CLAMPED_READINGS = frozenset({"protrusion", "piston-projection"})


@dataclass(frozen=True, slots=True)
class Conditions:
    """How it was measured; None: nobody said. `clamped` true goes with `clamp_load` in words."""

    clean: bool | None = None
    clamped: bool | None = None
    without_rubber: bool | None = None


def marks(what: str, conditions: Conditions, gauge_state: str, clamp_needed: bool = False) -> tuple[str, ...]:
    """Why a reading may not decide a pass, in words; empty where it may.

    gauge_state   "in date", or what else is the matter with the gauge on that day
    clamp_needed  the maker says that liners are gauged clamped; asked of what is read of liners that stand in the block
    """
    found = [] if gauge_state == "in date" else [f"gauge {gauge_state}"]
    if what in LINER_READINGS:
        found += {None: ["nobody said whether rubber rings were on"], False: ["rubber rings were on"], True: []}[
            conditions.without_rubber
        ]
    if what in LINER_READINGS or what == SEAT_CUPPING:
        found += {None: ["nobody said whether it was clean"], False: ["not clean"], True: []}[conditions.clean]
        if clamp_needed and what in CLAMPED_READINGS and not conditions.clamped:
            found.append("not clamped" if conditions.clamped is False else "nobody said whether it was clamped")
    return tuple(found)


def never_used(what: str, conditions: Conditions) -> bool:
    """True for a reading that is recorded and never computed with: a liner's with its rubber rings on."""
    return what in LINER_READINGS and conditions.without_rubber is False


@dataclass(frozen=True, slots=True)
class Agreed:
    """Repeats of one reading. `value` in their base unit, None: measure again; `spread` highest less lowest; `how` in words."""

    value: int | None
    spread: int
    count: int
    how: str


MEASURE_AGAIN = "measure again"


def agreed(values: Sequence[int], allowance: int) -> Agreed:
    """The value that repeats of one reading stand for.

    values  in the order in which they were read

    One is taken as it is; two that differ by no more than the allowance give their mean, else a third is asked for; of three or more
    the median counts, where the newest lies within the allowance of it: one that was off is outvoted by what is read after it, and
    what is read last is never outvoted by what was there before. All are kept. A half base unit is rounded to the even one. Source:
    common practice of measuring rooms; that the newest has to agree is the program's own caution.
    Raises DomainError "reading-unusable" for no values, or values that are not whole.
    """
    for one in (*values, allowance):
        if isinstance(one, bool) or not isinstance(one, int):
            raise DomainError("reading-unusable", f"{one!r} is not a whole number of the base unit.", given=repr(one))
    if not values or allowance < 0:
        raise DomainError("reading-unusable", "Readings agree where there are some, within an allowance of 0 or more.")
    ordered = sorted(values)
    spread, count = ordered[-1] - ordered[0], len(ordered)
    if count == 2 and spread > allowance:
        return Agreed(None, spread, count, MEASURE_AGAIN)
    middle = round_half_even(Fraction(ordered[(count - 1) // 2] + ordered[count // 2], 2))
    if count > 2 and abs(values[-1] - middle) > allowance:
        return Agreed(None, spread, count, MEASURE_AGAIN)
    return Agreed(middle, spread, count, {1: "one reading", 2: "mean of two"}.get(count, f"median of {count}"))


@dataclass(frozen=True, slots=True)
class Band:
    """Where a reading is expected, both ends included, in base units; `source` says by which fact."""

    low: int
    high: int
    source: str

    def holds(self, value: int) -> bool:
        """Whether a value lies inside."""
        return self.low <= value <= self.high


@dataclass(frozen=True, slots=True)
class Meant:
    """What was likely meant: the text to send, its value in base units, and the slip it would have been."""

    text: str
    value: int
    slip: str


_SHIFTS = (1, -1, 2, -2, 3, -3)


def likely_meant(typed: Quantity, band: Band) -> tuple[Meant, ...]:
    """Readings of what was typed that lie inside the band: the decimal point elsewhere, or another unit; nearest to the middle first.

    Two that give the same value are offered once.
    """
    unit = typed.unit
    found = []
    for shift in _SHIFTS:
        number = typed.number * Fraction(10) ** shift
        found.append((f"{_plain(number)} {unit.symbol}", number, unit.code, "decimal point"))
    for code, other in BY_CODE.items():
        if other.dimension is unit.dimension and code != unit.code:
            found.append(
                (f"{_plain(typed.number)} {other.symbol}", typed.number, code, f"{other.symbol} for {unit.symbol}")
            )
    inside: dict[int, Meant] = {}
    for text, number, code, slip in found:
        scale, offset = factor(code)
        value = round_half_even(number * scale + offset)
        if band.holds(value):
            inside.setdefault(value, Meant(text, value, slip))
    return tuple(sorted(inside.values(), key=lambda one: (abs(2 * one.value - band.low - band.high), one.text)))


def _plain(number: Fraction) -> str:
    """A number with as many decimals as it needs (nine at most), one at least."""
    whole, _, places = decimal_text(number, 9).partition(".")
    return f"{whole}.{places.rstrip('0') or '0'}"


def check_point(what: str, point: str, rings: Sequence[str]) -> None:
    """DomainError "reading-unusable" for a point that nothing of the kind has: liners and their seats are read at clock hours, a gap is
    of a ring.

    rings  of the engine family; empty: it states none
    """
    if (what in LINER_READINGS or what == SEAT_CUPPING) and point and point not in CLOCK:
        raise _no_point(point, "no clock hour from 1 to 12")
    if what == "ring-gap" and rings and point not in rings:
        raise _no_point(point, f"no ring of the engine family: {', '.join(rings)}")


def _no_point(point: str, why: str) -> DomainError:
    given = point[:40]
    said = f"{given!r} is {why}." if given else f"At which point? Nothing is {why}."
    return DomainError("reading-unusable", said, field="point", given=given)
