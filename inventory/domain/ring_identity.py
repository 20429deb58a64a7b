"""Which ring is this? The sizes that an unlabelled ring's measures may belong to, and what its weight says of its rubber.

A ring is never identified by measuring: the answer is which sizes of both tables (`ring_sizes`) are near enough, by

    misfit = (D - D_i)^2 / (u_D^2 + (t_i/2)^2) + (c - c_i)^2 / (u_c^2 + (s_i/2)^2),   kept when misfit <= 5.99

with D, c the measured inside diameter and section, u their uncertainty, t and s the tolerances of size i (t of a
metric size by its formula, unrounded); 5.99 is the 95 % point
of chi-squared with two degrees of freedom (any table of it). A flattened ring has c = sqrt(a b). Swell is a third unknown: both
measures larger by one share, 0 to 8 %. It only adds sizes. Colour is never asked: it is no evidence.

Every comparison with 5.99 is exact: a misfit is x - y sqrt(n) with fractions x, y and n = c^2 a fraction, and its sign is found by
squaring. What is shown is rounded.

Densities of rubbers: common practice, from memory. They overlap, and fillers move them: they are a hint and no proof.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import isqrt

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text
from inventory.domain.ring_sizes import RingSize, System, ring_sizes, unrounded_class_b_nm
from inventory.domain.text import shown

#: 95 % of chi-squared with two degrees of freedom.
MOST_MISFIT = Fraction(599, 100)
#: How much a ring may have swollen in service.
MOST_SWELL = Fraction(8, 100)
#: Pi to 50 digits; volumes that are compared are nowhere near that fine.
PI = Fraction(314159265358979323846264338327950288419716939937510, 10**50)
#: Sizes that are shown although they are not near enough, the nearest first.
NEXT_SHOWN = 4
_FINE = 10**12
_LONGEST_NM = 10_000_000_000

#: rubber -> density from, to (mg/mL)
DENSITIES: tuple[tuple[str, int, int], ...] = (
    ("FKM", 1800, 1900),
    ("EPDM", 1100, 1200),
    ("NBR or HNBR", 1150, 1300),
    ("silicone", 1100, 1300),
)


class Shape(StrEnum):
    """What the ring is like when it is cut through."""

    ROUND = "round"
    SQUARE = "square"
    D = "D"


class Answer(StrEnum):
    """What measuring can say. None of them is an identification."""

    SEVERAL = "cannot tell apart"
    ONE = "one size is near"
    NONE = "no size is near"
    NOT_JUDGED = "not judged"


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured on the ring, each with its uncertainty (one standard uncertainty), nm.

    section_nm    the section of a round ring, or both measures of a flattened one, largest first or not
    weight_mg     None where it was not weighed
    in_groove     measured in its groove, stretched
    may_be_swollen  it was in service: sizes that fit with a swell of up to 8 % are kept too
    """

    inside_nm: int
    inside_u_nm: int
    section_nm: tuple[int] | tuple[int, int]
    section_u_nm: int
    weight_mg: int | None = None
    shape: Shape = Shape.ROUND
    in_groove: bool = False
    may_be_swollen: bool = False


@dataclass(frozen=True, slots=True)
class Weighed:
    """Volume and density of the ring if it is of that size, and the rubbers of such a density within the size's tolerance."""

    volume_ul: Fraction
    density_mg_per_ml: Fraction
    lowest_mg_per_ml: Fraction
    highest_mg_per_ml: Fraction
    like: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A size and how far off it is (rounded to a millionth), without swell; `swell` the share at which it is kept, 0 without.

    kept  near enough as it is or, where asked, swollen
    """

    size: RingSize
    misfit: Fraction
    kept: bool
    swell: Fraction = Fraction(0)
    weighed: Weighed | None = None


@dataclass(frozen=True, slots=True)
class Identification:
    """The answer, one sentence, the kept sizes ranked, and the next ones that are not near enough."""

    answer: Answer
    sentence: str
    kept: tuple[Candidate, ...]
    next: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class _Irrational:
    """x + y sqrt(n), exact."""

    x: Fraction
    y: Fraction
    n: Fraction

    def positive(self) -> bool:
        """Greater than zero, decided by squaring."""
        if self.x >= 0 and self.y >= 0:
            return self.x > 0 or (self.y > 0 and self.n > 0)
        if self.x <= 0 and self.y <= 0:
            return False
        squares = self.x * self.x - self.y * self.y * self.n
        return squares > 0 if self.x > 0 else squares < 0

    def near(self) -> Fraction:
        """To a few millionths of a millionth of its parts."""
        return self.x + self.y * root(self.n)


def root(number: Fraction) -> Fraction:
    """The square root, rounded down at twelve decimals; exact where the root is that short."""
    return Fraction(isqrt(number.numerator * _FINE * _FINE // number.denominator), _FINE)


def identify(
    ring: Measured,
    sizes: Iterable[RingSize] | None = None,
    *,
    most_misfit: Fraction = MOST_MISFIT,
    most_swell: Fraction = MOST_SWELL,
) -> Identification:
    """The sizes that the ring may be of, nearest first.

    sizes  both tables unless others are given
    Error: `ring-unreadable` (a measure or an uncertainty that is none). A square or D section, and a ring measured in its groove, are
    answered "not judged".
    """
    _check(ring)
    if ring.shape is not Shape.ROUND:
        sentence = f"A ring of {ring.shape} section is in no table of round rings: use the parts book."
        return Identification(Answer.NOT_JUDGED, sentence, (), ())
    if ring.in_groove:
        sentence = "A ring in its groove is stretched: take it off, let it rest, and measure it free."
        return Identification(Answer.NOT_JUDGED, sentence, (), ())
    judged = [_judge(ring, one, most_misfit, most_swell) for one in (ring_sizes().values() if sizes is None else sizes)]
    ranked = sorted(judged, key=lambda one: (one.misfit, one.size.size))
    kept = tuple(one for one in ranked if one.kept)
    rest = tuple(one for one in ranked if not one.kept)[:NEXT_SHOWN]
    return Identification(*_answer(kept), kept, rest)


def _check(ring: Measured) -> None:
    lengths = {
        "inside diameter": ring.inside_nm,
        "uncertainty of the inside diameter": ring.inside_u_nm,
        "uncertainty of the section": ring.section_u_nm,
        **{f"section {at}": one for at, one in enumerate(ring.section_nm, 1)},
    }
    if len(ring.section_nm) not in (1, 2):
        raise DomainError("ring-unreadable", "A section is one measure, or two of a flattened ring.")
    for name, value in lengths.items():
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value <= _LONGEST_NM:
            raise DomainError(
                "ring-unreadable",
                f"A {name} of {shown(value)} nm cannot be: no gauge is exact, and no ring is so small or so large.",
                field=name,
                value=shown(value),
            )
    weight = ring.weight_mg
    if weight is not None and (isinstance(weight, bool) or not isinstance(weight, int) or weight <= 0):
        raise DomainError("ring-unreadable", f"A ring does not weigh {shown(weight)} mg.", field="weight")


def _judge(ring: Measured, size: RingSize, most: Fraction, most_swell: Fraction) -> Candidate:
    metric = size.system is System.METRIC
    tolerance = unrounded_class_b_nm(size.inside_nm) if metric else size.inside_tolerance_nm
    across = Fraction(ring.inside_u_nm**2) + Fraction(tolerance**2, 4)
    thick = Fraction(ring.section_u_nm**2) + Fraction(size.section_tolerance_nm**2, 4)
    squared = Fraction(ring.section_nm[0] * ring.section_nm[-1])
    misfit = _misfit(ring, size, across, thick, squared, Fraction(1))
    fits = not _less(misfit, most).positive()
    swell = Fraction(0)
    if not fits and ring.may_be_swollen:
        fits, swell = _swollen(ring, size, across, thick, squared, most, most_swell)
    shown_misfit = Fraction(round(misfit.near() * 1_000_000), 1_000_000)
    weighed = _weigh(ring.weight_mg, size, swell) if fits and ring.weight_mg is not None else None
    return Candidate(size, shown_misfit, fits, swell, weighed)


def _misfit(
    ring: Measured, size: RingSize, across: Fraction, thick: Fraction, squared: Fraction, by: Fraction
) -> _Irrational:
    """The misfit of a size whose measures are `by` times those of the table."""
    off = ring.inside_nm - size.inside_nm * by
    section = size.section_nm * by
    return _Irrational(off * off / across + (squared + section * section) / thick, -2 * section / thick, squared)


def _less(value: _Irrational, number: Fraction) -> _Irrational:
    return _Irrational(value.x - number, value.y, value.n)


def _swollen(
    ring: Measured,
    size: RingSize,
    across: Fraction,
    thick: Fraction,
    squared: Fraction,
    most: Fraction,
    most_swell: Fraction,
) -> tuple[bool, Fraction]:
    """Whether some swell makes the size fit, and how much (to 0.01 %).

    The misfit is a parabola in the factor t: q t^2 - 2 l t + k with l = l0 + l1 sqrt(n). It is least at l/q; beyond an end of the
    range the end is the best. Its least value is k - l^2/q.
    """
    square = Fraction(size.inside_nm**2) / across + Fraction(size.section_nm**2) / thick
    straight = _Irrational(
        Fraction(ring.inside_nm * size.inside_nm) / across, Fraction(size.section_nm) / thick, squared
    )
    top = 1 + most_swell
    if not _less(straight, square).positive():
        return False, Fraction(0)  # the best factor is 1 or less: no swell makes it better
    if _less(straight, square * top).positive():
        misfit = _misfit(ring, size, across, thick, squared, top)
        return not _less(misfit, most).positive(), most_swell
    constant = Fraction(ring.inside_nm**2) / across + squared / thick
    least = _Irrational(
        constant - (straight.x**2 + straight.y**2 * squared) / square - most,
        -2 * straight.x * straight.y / square,
        squared,
    )
    best = straight.near() / square - 1
    return not least.positive(), Fraction(round(best * 10_000), 10_000)


def volume_ul(inside_nm: int | Fraction, section_nm: int | Fraction) -> Fraction:
    """Volume of a round ring in microlitres (cubic millimetres): pi^2/4 (D + c) c^2, geometry."""
    return PI * PI / 4 * (Fraction(inside_nm) + section_nm) * Fraction(section_nm) ** 2 / 10**18


def _weigh(weight_mg: int, size: RingSize, swell: Fraction) -> Weighed:
    by = 1 + swell
    nominal = volume_ul(size.inside_nm * by, size.section_nm * by)
    small, large = (
        volume_ul(
            (size.inside_nm + sign * size.inside_tolerance_nm) * by,
            (size.section_nm + sign * size.section_tolerance_nm) * by,
        )
        for sign in (-1, 1)
    )
    # Milligrams over microlitres are grams over millilitres.
    density, high, low = (1000 * weight_mg / volume for volume in (nominal, small, large))
    like = tuple(name for name, least, most in DENSITIES if low <= most and high >= least)
    return Weighed(nominal, density, low, high, like)


def _answer(kept: tuple[Candidate, ...]) -> tuple[Answer, str]:
    if not kept:
        return Answer.NONE, "No size of the tables is near: use the parts book; it stays unknown."
    names = " or ".join(_named(one) for one in kept)
    if len(kept) == 1:
        return (
            Answer.ONE,
            f"Of the tables only {names} is near; that is no proof: use the parts book; it stays unknown.",
        )
    return (
        Answer.SEVERAL,
        f"{names[0].upper()}{names[1:]}; cannot tell apart on a used ring; measure the groove or use the parts book; "
        "it stays unknown.",
    )


def _named(one: Candidate) -> str:
    return one.size.words + (f" swollen by {decimal_text(one.swell * 100, 1)} %" if one.swell else "")
