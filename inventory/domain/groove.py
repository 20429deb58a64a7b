"""Does a round ring suit a groove: stretch, squeeze and fill, at the middle and at every end of the tolerances.

A static seal in a groove turned into the inner part, under a bore (radial). With D, c the ring, g the groove's diameter, b the bore, w the
groove's width:

    stretch = (g - D) / D                     depth = (b - g) / 2
    c' = c sqrt((D + c) / (g + c))            squeeze = (c' - depth) / c'          fill = (pi/4) c'^2 / (depth w)

The section lost by stretching is that of constant volume (`MODEL`): the charts of some handbooks give about twice as much, and jump
at 3 %. Heat and swell are optional: the ring grows by its coefficient, the metal by its own; swell is a share of the volume.

Squeeze and fill are compared exactly: by squaring, and with pi to 50 digits. The defaults of the limits are usual guidance in the style of
ISO 3601-2 (from memory); they are the shop's to change, and the maker's drawing of the groove comes before them.
Corners of the groove are taken as sharp: real ones leave a little less room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import product
from math import isqrt

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text
from inventory.domain.ring_identity import PI, root
from inventory.domain.text import shown

MODEL = "constant volume"
#: 20 degrees Celsius, at which rings and grooves are measured, in millikelvin.
MEASURED_AT_MK = 293_150
#: Growth in length per kelvin, millionths. Rubber: about ten times that of steel (from memory); iron: handbook value, from memory.
RUBBER_GROWTH = 160
METAL_GROWTH = 11
_LONGEST_NM = 10_000_000_000
_ONE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Limits:
    """Between which a static radial seal is taken, shares of one. A value on a limit passes."""

    most_stretch: Fraction = Fraction(5, 100)
    least_squeeze: Fraction = Fraction(8, 100)
    most_squeeze: Fraction = Fraction(30, 100)
    most_fill: Fraction = Fraction(85, 100)

    def __post_init__(self) -> None:
        """Limits that are no shares or are turned round are refused: `groove-unreadable`."""
        turned = not 0 <= self.least_squeeze <= self.most_squeeze < 1
        if turned or not 0 <= self.most_stretch <= 1 or not 0 < self.most_fill <= 1:
            raise DomainError("groove-unreadable", "The limits for rings in grooves are no shares, or turned round.")


@dataclass(frozen=True, slots=True)
class Ring:
    """A round ring, free, with its tolerances plus and minus, nm."""

    inside_nm: int
    section_nm: int
    inside_tolerance_nm: int = 0
    section_tolerance_nm: int = 0


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove in the inner part under a bore, with tolerances plus and minus, nm."""

    diameter_nm: int
    bore_nm: int
    width_nm: int
    diameter_tolerance_nm: int = 0
    bore_tolerance_nm: int = 0
    width_tolerance_nm: int = 0


@dataclass(frozen=True, slots=True)
class Service:
    """How hot the place gets and how much of its volume the ring swells there; growth in length in millionths per kelvin."""

    hottest_mk: int = MEASURED_AT_MK
    swell: Fraction = Fraction(0)
    rubber_growth: int = RUBBER_GROWTH
    metal_growth: int = METAL_GROWTH


@dataclass(frozen=True, slots=True)
class Fit:
    """The fit of one ring of one size in one groove of one size.

    section_squared   c'^2 in square nanometres, exact
    """

    stretch: Fraction
    section_squared: Fraction
    depth_nm: Fraction
    width_nm: Fraction

    @property
    def section_nm(self) -> int:
        """The section once stretched, to the nanometre."""
        number = self.section_squared
        low = isqrt(number.numerator // number.denominator)
        return low if number - low * low <= low else low + 1

    @property
    def squeeze(self) -> Fraction:
        """Rounded far below what is shown; comparisons do not use it."""
        return 1 - self.depth_nm / root(self.section_squared)

    @property
    def fill(self) -> Fraction:
        """Share of the groove that the ring fills."""
        return PI / 4 * self.section_squared / (self.depth_nm * self.width_nm)

    def squeeze_below(self, limit: Fraction) -> bool:
        """Exact: squeeze < limit where depth > (1 - limit) c'."""
        return self.depth_nm**2 > (1 - limit) ** 2 * self.section_squared

    def squeeze_above(self, limit: Fraction) -> bool:
        """Exact."""
        return self.depth_nm**2 < (1 - limit) ** 2 * self.section_squared


class Suits(StrEnum):
    """What is said of a ring in a groove."""

    YES = "yes"
    AT_ENDS_NO = "not at the ends of the tolerances"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Range:
    """A share at the middle of the tolerances and at its least and most."""

    middle: Fraction
    least: Fraction
    most: Fraction


@dataclass(frozen=True, slots=True)
class Check:
    """The answer, with a sentence for every limit that is passed."""

    suits: Suits
    stretch: Range
    squeeze: Range
    fill: Range
    section_nm: int
    depth_nm: int
    reasons: tuple[str, ...]
    model: str = MODEL


def fit(
    inside_nm: Fraction | int,
    section_nm: Fraction | int,
    diameter_nm: Fraction | int,
    bore_nm: Fraction | int,
    width_nm: Fraction | int,
    service: Service | None = None,
) -> Fit:
    """One ring of exactly this size in one groove of exactly this size."""
    at = service or Service()
    kelvin = Fraction(at.hottest_mk - MEASURED_AT_MK, 1000)
    rubber, metal = (1 + Fraction(growth, 1_000_000) * kelvin for growth in (at.rubber_growth, at.metal_growth))
    inside, section = inside_nm * rubber, section_nm * rubber
    diameter, bore, width = diameter_nm * metal, bore_nm * metal, width_nm * metal
    squared = section**2 * (inside + section) / (diameter + section) * (1 + at.swell)
    return Fit(Fraction(diameter - inside) / inside, Fraction(squared), Fraction(bore - diameter) / 2, Fraction(width))


def check_groove(ring: Ring, groove: Groove, limits: Limits | None = None, service: Service | None = None) -> Check:
    """Judge a ring in a groove.

    "yes" where all ends of all tolerances are within the limits, "not at the ends of the tolerances" where only the middle is,
    else "no". Errors: `ring-unreadable`, `groove-unreadable`, naming the value.
    """
    limits, service = limits or Limits(), service or Service()
    _check(ring, groove, service)
    middle = fit(ring.inside_nm, ring.section_nm, groove.diameter_nm, groove.bore_nm, groove.width_nm, service)
    ends = [fit(*one, service=service) for one in _ends(ring, groove)]
    # Each of the three only rises or only falls with each measure, so the least and the most are among the ends.
    ranges = {
        name: Range(getattr(middle, name), *(choose(getattr(one, name) for one in ends) for choose in (min, max)))
        for name in ("stretch", "squeeze", "fill")
    }
    wrong = (*_wrong([middle], limits, ""), *_loose(ring, groove))
    reasons = wrong or _wrong(ends, limits, " at the ends of the tolerances")
    suits = Suits.NO if wrong else Suits.AT_ENDS_NO if reasons else Suits.YES
    return Check(
        suits, ranges["stretch"], ranges["squeeze"], ranges["fill"], middle.section_nm, round(middle.depth_nm), reasons
    )


def _ends(ring: Ring, groove: Groove) -> Iterable[tuple[int, int, int, int, int]]:
    pairs = (
        (ring.inside_nm, ring.inside_tolerance_nm),
        (ring.section_nm, ring.section_tolerance_nm),
        (groove.diameter_nm, groove.diameter_tolerance_nm),
        (groove.bore_nm, groove.bore_tolerance_nm),
        (groove.width_nm, groove.width_tolerance_nm),
    )
    inside, section, diameter, bore, width = ({middle - more, middle + more} for middle, more in pairs)
    return product(inside, section, diameter, bore, width)


def _wrong(fits: list[Fit], limits: Limits, where: str) -> tuple[str, ...]:
    """A sentence for every limit that one of these fits passes, with the worst value."""
    rules: tuple[tuple[str, str, Fraction, Callable[[Fit], bool], str], ...] = (
        ("stretch", "above", limits.most_stretch, lambda one: one.stretch > limits.most_stretch, "stretch"),
        ("squeeze", "below", limits.least_squeeze, lambda one: one.squeeze_below(limits.least_squeeze), "squeeze"),
        ("squeeze", "above", limits.most_squeeze, lambda one: one.squeeze_above(limits.most_squeeze), "squeeze"),
        ("fill", "above", limits.most_fill, lambda one: one.fill > limits.most_fill, "fill"),
    )
    said = []
    for name, side, limit, passed, attribute in rules:
        values = [getattr(one, attribute) for one in fits if passed(one)]
        if values:
            worst = min(values) if side == "below" else max(values)
            said.append(f"The {name} is {percent(worst)}{where}, {side} {percent(limit)}.")
    return tuple(said)


def _loose(ring: Ring, groove: Groove) -> tuple[str, ...]:
    """Judged cold and in the middle: at the ends, and hot, a ring a little larger than its groove is usual."""
    stretch = Fraction(groove.diameter_nm - ring.inside_nm, ring.inside_nm)
    return (f"The ring is larger than its groove: the stretch is {percent(stretch)}.",) if stretch < 0 else ()


def percent(share: Fraction) -> str:
    """`16.0 %`; below a tenth in hundredths: `0.99 %`."""
    places = 2 if abs(share) < Fraction(1, 10) else 1
    return f"{decimal_text(share * 100, places)} %"


def _check(ring: Ring, groove: Groove, service: Service) -> None:
    for code, lengths in (
        (
            "ring-unreadable",
            (("inside diameter", ring.inside_nm, ring.inside_tolerance_nm),
             ("section", ring.section_nm, ring.section_tolerance_nm)),
        ),
        (
            "groove-unreadable",
            (("groove diameter", groove.diameter_nm, groove.diameter_tolerance_nm),
             ("bore", groove.bore_nm, groove.bore_tolerance_nm),
             ("width", groove.width_nm, groove.width_tolerance_nm)),
        ),
    ):  # fmt: skip
        for name, length, tolerance in lengths:
            whole = all(isinstance(one, int) and not isinstance(one, bool) for one in (length, tolerance))
            if not whole or not 0 <= tolerance < length <= _LONGEST_NM:
                raise DomainError(
                    code,
                    f"A {name} of {shown(length)} nm with a tolerance of {shown(tolerance)} nm cannot be.",
                    field=name,
                    value=shown(length),
                )
    diameter, bore = groove.diameter_nm - groove.diameter_tolerance_nm, groove.bore_nm + groove.bore_tolerance_nm
    if groove.bore_nm - groove.bore_tolerance_nm <= groove.diameter_nm + groove.diameter_tolerance_nm:
        raise DomainError("groove-unreadable", "The bore is no wider than the groove: no room is left for a ring.")
    if bore - diameter >= 2 * diameter:
        raise DomainError("groove-unreadable", "The groove is deeper than the part it is turned into.")
    kelvin = service.hottest_mk - MEASURED_AT_MK
    if not 200_000 <= service.hottest_mk <= 700_000 or not 0 <= service.swell <= _ONE:
        raise DomainError(
            "ring-unreadable",
            f"No rubber is at {decimal_text(Fraction(kelvin, 1000) + 20, 1)} °C with a swell of {percent(service.swell)}.",
        )
    if not (0 <= service.rubber_growth <= 1000 and 0 <= service.metal_growth <= 100):
        raise DomainError("ring-unreadable", "Such a growth with heat is no rubber's and no metal's.")
