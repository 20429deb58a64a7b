"""How much sealant a joint takes: beads, dabs and films, what is drawn for them, and what an open tube still gives.

Sizes are whole nanometres and square micrometres, volumes whole microlitres. A volume is kept exact (`Volume`, a sum of
a plain fraction and fractions of pi and pi squared) while it is put together, and rounds once, half to even.

Caution to show beside this: uncured sealant irritates skin and eyes, its vapour the airways: ventilate, gloves, the
product's safety data sheet at hand. Product, bead size and place of the bead come from the engine maker's manual, which
overrides every default here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text, round_half_even

#: Pi to 50 decimals, cut off, and one more in the last place: pi lies between (OEIS A000796).
_PI_LOW = Fraction(314159265358979323846264338327950288419716939937510, 10**50)
_PI_HIGH = _PI_LOW + Fraction(1, 10**50)

_NM3_PER_UL = 10**18
_UM2_NM_PER_UL = 10**12


@dataclass(frozen=True, slots=True)
class SealantRules:
    """The shop's figures; each may be changed (common practice of rebuild shops, not of a standard).

    waste       share added for what is smeared, wiped and left in corners
    prime_ul    pressed out once before the first bead of a nozzle
    dead_share  share of a tube's nominal content that never comes out
    margin      a tube must hold this many times the draw, or a second tube lies on the tray
    """

    waste: Fraction = Fraction(15, 100)
    prime_ul: int = 1500
    dead_share: Fraction = Fraction(6, 100)
    margin: Fraction = Fraction(6, 5)


DEFAULT_RULES = SealantRules()


@dataclass(frozen=True, slots=True)
class Volume:
    """plain + pi·π + pi_squared·π², in microlitres, exact; no part is negative. Volumes add, and multiply by a
    number."""

    plain: Fraction = Fraction(0)
    pi: Fraction = Fraction(0)
    pi_squared: Fraction = Fraction(0)

    def __add__(self, other: Volume) -> Volume:
        return Volume(self.plain + other.plain, self.pi + other.pi, self.pi_squared + other.pi_squared)

    def __mul__(self, times: int | Fraction) -> Volume:
        return Volume(self.plain * times, self.pi * times, self.pi_squared * times)

    def _with(self, pi: Fraction) -> Fraction:
        return self.plain + self.pi * pi + self.pi_squared * pi * pi

    def round_ul(self) -> int:
        """Whole microlitres, half to even.

        Both bounds of pi must round alike; they always do, unless the volume lies within 10⁻³⁰ µL of a half
        (ArithmeticError).
        """
        low, high = round_half_even(self._with(_PI_LOW)), round_half_even(self._with(_PI_HIGH))
        if low != high:
            raise ArithmeticError("more decimals of pi are needed to round this volume")
        return low


NOTHING = Volume()


def _sizes(what: str, **sizes: int | None) -> None:
    """Every size is given and more than nothing; there is no default for a bead."""
    for name, size in sizes.items():
        if size is None or size <= 0:
            raise DomainError(
                "sealant-size-missing",
                f"{what}: {name.rsplit('_', 1)[0].replace('_', ' ')} is missing or not more than nothing",
                ways_out=("take it from the engine maker's manual",),
                shape=what, size=name, value=size,
            )  # fmt: skip


def round_bead(length_nm: int | None, diameter_nm: int | None) -> Volume:
    """A round bead: π/4·d²·L. `length_nm` includes the loops round bolt holes. Raises DomainError
    `sealant-size-missing`."""
    _sizes("bead", length_nm=length_nm, diameter_nm=diameter_nm)
    return Volume(pi=Fraction((diameter_nm or 0) ** 2 * (length_nm or 0), 4 * _NM3_PER_UL))


def half_round_bead(length_nm: int | None, width_nm: int | None) -> Volume:
    """A bead that lies flat, half a circle on its width: π/8·w²·L."""
    _sizes("half-round bead", length_nm=length_nm, width_nm=width_nm)
    return Volume(pi=Fraction((width_nm or 0) ** 2 * (length_nm or 0), 8 * _NM3_PER_UL))


def right_angle_fillet(length_nm: int | None, leg_nm: int | None) -> Volume:
    """A flat fillet in a right-angled corner with two equal legs: a²/2·L."""
    _sizes("fillet", length_nm=length_nm, leg_nm=leg_nm)
    return Volume(plain=Fraction((leg_nm or 0) ** 2 * (length_nm or 0), 2 * _NM3_PER_UL))


def ring_bead(circle_nm: int | None, diameter_nm: int | None) -> Volume:
    """A round bead laid on a circle, as in a liner's counterbore or on its seat: π/4·d² along π·D."""
    _sizes("bead on a circle", circle_nm=circle_nm, diameter_nm=diameter_nm)
    return Volume(pi_squared=Fraction((diameter_nm or 0) ** 2 * (circle_nm or 0), 4 * _NM3_PER_UL))


def dabs(number: int, each_ul: int | None) -> Volume:
    """`number` dabs of `each_ul`."""
    _sizes("dab", number=number, each_ul=each_ul)
    return Volume(plain=Fraction(number * (each_ul or 0)))


def film(area_um2: int | None, thickness_nm: int | None) -> Volume:
    """A film between faces or a dry coating: area times thickness."""
    _sizes("film", area_um2=area_um2, thickness_nm=thickness_nm)
    return Volume(plain=Fraction((area_um2 or 0) * (thickness_nm or 0), _UM2_NM_PER_UL))


#: Shapes of a bead that a procedure may name, by what is measured across it: diameter, width or leg.
ROUND, HALF_ROUND, FILLET = "round", "half-round", "fillet"
_SHAPES: Mapping[str, Callable[[int | None, int | None], Volume]] = MappingProxyType(
    {ROUND: round_bead, HALF_ROUND: half_round_bead, FILLET: right_angle_fillet}
)
#: Share of a full circle of that width. A fillet lies in a corner, no faces close on it.
_OF_A_CIRCLE: Mapping[str, Fraction] = MappingProxyType({ROUND: Fraction(1), HALF_ROUND: Fraction(1, 2)})


def bead_volume_ul(length_nm: int, across_nm: int, dab_count: int = 0, dab_ul: int = 0, shape: str = ROUND) -> int:
    """Microlitres of a bead of a shape and its dabs, rounded once. `across_nm`: diameter, width of a half-round one, leg of a fillet.

    A size of 0 adds nothing here: a parts list is read before this and names its missing sizes itself. Negative:
    ValueError.
    """
    if min(length_nm, across_nm, dab_count, dab_ul) < 0:
        raise ValueError("sizes of a bead are not negative")
    bead = _SHAPES[shape](length_nm, across_nm) if length_nm and across_nm else NOTHING
    return (bead + Volume(plain=Fraction(dab_count * dab_ul))).round_ul()


def film_volume_ul(area_um2: int, thickness_nm: int) -> int:
    """Microlitres of a film, rounded once; 0 for a size of 0, as `bead_volume_ul`. Negative: ValueError."""
    if min(area_um2, thickness_nm) < 0:
        raise ValueError("sizes of a film are not negative")
    return film(area_um2, thickness_nm).round_ul() if area_um2 and thickness_nm else 0


def draw_ul(laid: Volume | int, rules: SealantRules = DEFAULT_RULES, *, nozzles: int = 1) -> int:
    """What leaves the tube: what stays in the joint times (1 + waste), and one priming for each nozzle that is cut.

    Beads that are laid through one nozzle are added up before they are passed here; 0 nozzles means it is primed
    already.
    """
    volume = laid if isinstance(laid, Volume) else Volume(plain=Fraction(laid))
    return (volume * (1 + rules.waste) + Volume(plain=Fraction(nozzles * rules.prime_ul))).round_ul()


def content_ul(weight_mg: int, empty_mg: int, density_mg_per_ml: int | None) -> int | None:
    """What a tube still holds, by weight: (now - empty) / density. None where the density is not known: take a new
    tube.

    Raises DomainError `quantity-negative` when the tube weighs less than an empty one (the wrong tube, or a wrong empty
    weight).
    """
    if density_mg_per_ml is None:
        return None
    if weight_mg < empty_mg or density_mg_per_ml <= 0:
        raise DomainError(
            "quantity-negative",
            f"a tube of {weight_mg} mg cannot be lighter than an empty one of {empty_mg} mg",
            weight_mg=weight_mg, empty_mg=empty_mg, density_mg_per_ml=density_mg_per_ml,
        )  # fmt: skip
    return round_half_even(Fraction((weight_mg - empty_mg) * 1000, density_mg_per_ml))


def volume_of(amount: int, base: str, density_mg_per_ml: int | None) -> int | None:
    """An amount of something poured in microlitres: as it is, or of milligrams by the density. None where that is not known."""
    if base == "microlitre":
        return amount
    return round_half_even(Fraction(amount * 1000, density_mg_per_ml)) if density_mg_per_ml else None


def usable_ul(tube_content_ul: int, nominal_ul: int, rules: SealantRules = DEFAULT_RULES) -> int:
    """What will come out: the content less the dead share of the nominal content. Rounded down, never below 0."""
    dead = rules.dead_share * nominal_ul
    left = tube_content_ul - dead
    return max(0, left.numerator // left.denominator)


def squeezed_width_nm(across_nm: int, gap_nm: int, shape: str = ROUND) -> int:
    """How wide a bead becomes when the faces close to `gap_nm`: π/4·d²/gap, half of it for a half-round one, rounded half to even.

    Raises DomainError `sealant-size-missing`. Much wider than the flange means loose sealant inside, before the oil
    strainer.
    """
    _sizes("squeezed bead", across_nm=across_nm, gap_nm=gap_nm)
    # The same rounding; here the number is nanometres.
    return Volume(pi=_OF_A_CIRCLE[shape] * Fraction(across_nm**2, 4 * gap_nm)).round_ul()


#: A bead that squeezes out further than this beyond the flange leaves loose sealant inside (common practice of the demo shop).
OVER_FLANGE_NM = 3_000_000


def squeezes_past(across_nm: int, gap_nm: int, width_nm: int, shape: str = ROUND) -> bool:
    """Whether the squeezed bead is wider than `width_nm`: π/4·d²/gap > width, exact; both bounds of pi must agree."""
    _sizes("squeezed bead", across_nm=across_nm, gap_nm=gap_nm)
    squared = _OF_A_CIRCLE[shape] * across_nm**2
    low, high = (pi * squared > 4 * gap_nm * width_nm for pi in (_PI_LOW, _PI_HIGH))
    if low != high:
        raise ArithmeticError("more decimals of pi are needed to compare this width")
    return low


def flange_warnings(across_nm: int, flange_nm: int | None, gap_nm: int | None, shape: str = ROUND) -> tuple[str, ...]:
    """What to say about a bead before it is laid: what is not known is asked, too wide a bead is warned of. Of a fillet nothing."""
    if shape not in _OF_A_CIRCLE:
        return ()
    if flange_nm is None:
        return ("flange width unknown: how wide is it? Too wide a bead leaves loose sealant inside.",)
    said = []
    if across_nm > flange_nm:
        said.append(f"the bead is wider than the flange ({_mm(across_nm)} on {_mm(flange_nm)})")
    if gap_nm is None:
        said.append("gap of the closed joint unknown: how far the bead squeezes out cannot be said")
    elif squeezes_past(across_nm, gap_nm, flange_nm + OVER_FLANGE_NM, shape):
        width = squeezed_width_nm(across_nm, gap_nm, shape)
        said.append(
            f"squeezed to {_mm(gap_nm)} the bead becomes {_mm(width)} wide on a flange of {_mm(flange_nm)}:"
            " loose sealant ends before the oil strainer"
        )
    return tuple(said)


def _mm(length_nm: int) -> str:
    return f"{decimal_text(Fraction(length_nm, 1_000_000), 1 if length_nm >= 1_000_000 else 2)} mm"
