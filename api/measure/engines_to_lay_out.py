"""Made-up engines with their readings and a shelf of sets, from a seed: what the topic `layout` is measured on.

Readings are the nominal size with normal scatter, its standard deviation a third of the stated tolerance, a tilt of up to 6 µm
over the liner or bore, and the gauge's own scatter; typed to a whole micrometre. In every second engine up to three counterbores
were found low and cut deeper, so that they need a shim; of every four engines two have a limit for the weights of their pistons; of
every eight four ask for a staircase.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from fractions import Fraction

from kits.domain.layout_options import Bore, LayoutTask, LinerSet
from kits.domain.protrusion import HeightLimits

UM = 1_000
POINTS = 4
TILT_UM = 6
GAUGE_UM = 3
ALLOWANCE_NM = 10 * UM
#: Top flange in a counterbore, iron: nominal and tolerance in micrometres.
FLANGE_UM, COUNTERBORE_UM = (9032.5, 12.5), (8950, 15)
LIMITS = HeightLimits(
    low_nm=50 * UM,
    high_nm=120 * UM,
    within_nm=30 * UM,
    step_nm=50 * UM,
    turns_deg=(0, 90, 180, 270),
    shims_nm=(50 * UM, 100 * UM, 150 * UM, 200 * UM, 250 * UM),
)
#: Pistons with pin: grams, standard deviation; weighed to a tenth of a gram; heaviest less lightest.
PISTON_G, PISTON_SPREAD_MG = (416, 2), 4000


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of instance: how many bores in one head, how many sets on the shelf, its limit of time, its share of the engines."""

    name: str
    bores: int
    sets: int
    milliseconds: int
    share: Fraction


#: The solver takes some seconds for the large shelf: it has fewer.
KINDS = (
    Kind("8 bores from 60 sets, shims", 8, 60, 50, Fraction(2, 3)),
    Kind("8 bores from 200 sets, shims", 8, 200, 250, Fraction(1, 3)),
)


def readings(chance: random.Random, size_um: tuple[float, float], deeper_um: int = 0) -> tuple[int, ...]:
    """What the gauge says at each point, whole micrometres in nanometres."""
    nominal, tolerance = size_um
    middle = chance.gauss(nominal, tolerance / 3) + deeper_um
    tilt, towards = chance.uniform(0, TILT_UM), chance.uniform(0, math.tau)
    return tuple(
        UM * round(middle + tilt / 2 * math.cos(math.tau * point / POINTS - towards) + chance.gauss(0, GAUGE_UM))
        for point in range(POINTS)
    )


def instance(kind: Kind, number: int) -> LayoutTask:
    """Instance `number` of a kind: always the same."""
    chance = random.Random(f"{kind.bores} of {kind.sets}, {number}")
    low = set(chance.sample(range(kind.bores), chance.randint(1, 3))) if number % 2 else set()
    bores = tuple(
        Bore(at + 1, readings(chance, COUNTERBORE_UM, chance.randint(50, 250) if at in low else 0))
        for at in range(kind.bores)
    )
    sets = tuple(
        LinerSet(f"L{at:04d}", readings(chance, FLANGE_UM), 100 * round(10 * chance.gauss(*PISTON_G)))
        for at in range(kind.sets)
    )
    limits = replace(LIMITS, staircase=number // 4 % 2 == 1)
    return LayoutTask(bores, sets, limits, ALLOWANCE_NM, PISTON_SPREAD_MG if number // 2 % 2 else None)
