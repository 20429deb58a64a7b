"""A gauge of the register: what it is, and how it stands on a day.

A gauge is in date on a day if its newest calibration done on or before that day was passed and is next due on or after it: the day
itself counts. Where the next one after it was not passed, nobody knows since when it was wrong. Whatever else is the matter, a reading taken with it is kept and marked, and cannot support a pass. Idea of
ISO 14253-1 and of the calibration intervals of ISO 10012, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import MAX_BASE_AMOUNT, parse_quantity, to_base
from inventory.domain.units import Dimension, factor

IN_DATE = "in date"
OUT_OF_DATE = "out of date"
NOT_CALIBRATED = "never calibrated"
FAILED = "failed its calibration"
FOUND_WRONG = "found wrong at its next calibration"
WITHDRAWN = "withdrawn"
STATES = (IN_DATE, OUT_OF_DATE, NOT_CALIBRATED, FAILED, FOUND_WRONG, WITHDRAWN)
#: What gauges of the register measure.
MEASURES = (
    Dimension.LENGTH,
    Dimension.MASS,
    Dimension.ANGLE,
    Dimension.TEMPERATURE,
    Dimension.TORQUE,
    Dimension.PRESSURE,
)

_EXPANSION = re.compile(r"[0-9]{1,3}(?:\.[0-9]{1,6})?")


@dataclass(frozen=True, slots=True)
class Calibrated:
    """One calibration. `uncertainty`: the standard uncertainty it found, in base units; None: that of the register stays."""

    done_on: date
    next_due: date
    passed: bool
    uncertainty: int | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """How a gauge stands on a day; `next_due` of the calibration that counts, None without one; `uncertainty` in base units."""

    state: str
    next_due: date | None
    uncertainty: int

    @property
    def in_date(self) -> bool:
        """Whether a reading with it may support a pass."""
        return self.state == IN_DATE


def standing(
    uncertainty: int, calibrations: Iterable[Calibrated], day: date, withdrawn_on: date | None = None
) -> Standing:
    """How a gauge with that uncertainty on the register stands on a day.

    calibrations  in the order in which they were entered: of two done on one day the later entry counts
    withdrawn_on  it does not count on that day either, since nobody knows when it was damaged
    """
    newest = after = None
    for one in calibrations:
        if one.done_on > day and (after is None or one.done_on <= after.done_on):
            after = one
        if one.done_on <= day and (newest is None or one.done_on >= newest.done_on):
            newest = one
    found = uncertainty if newest is None or newest.uncertainty is None else newest.uncertainty
    due = None if newest is None else newest.next_due
    if withdrawn_on is not None and withdrawn_on <= day:
        return Standing(WITHDRAWN, due, found)
    if newest is None:
        return Standing(NOT_CALIBRATED, None, found)
    if not newest.passed:
        return Standing(FAILED, due, found)
    if after is not None and not after.passed:
        return Standing(FOUND_WRONG, due, found)
    return Standing(IN_DATE if newest.next_due >= day else OUT_OF_DATE, due, found)


@dataclass(frozen=True, slots=True)
class GaugeFacts:
    """What the register says of a gauge, in whole base units of what it measures; `expansion_ppm` per kelvin as typed, empty: unknown."""

    measures: Dimension
    low: int
    high: int
    resolution: int
    uncertainty: int
    expansion_ppm: str


def read_gauge(
    measures: str, low: str, high: str, resolution: str, uncertainty: str, expansion_ppm: str = ""
) -> GaugeFacts:
    """Read what was typed for the register. A standard uncertainty (1 sigma) that is not whole in the base unit is rounded up.

    Raises DomainError "gauge-unusable" naming the value, and those of amounts.
    """
    if measures not in MEASURES:
        raise _unusable("measures", measures, f"is none of {', '.join(MEASURES)}")
    dimension = Dimension(measures)
    lowest, highest = (to_base(parse_quantity(text), dimension, allow_negative=True).amount for text in (low, high))
    if lowest >= highest:
        raise _unusable("range", f"{low} to {high}", "ends before it begins")
    finest = difference(resolution, dimension)
    spread = difference(uncertainty, dimension)
    if finest <= 0 or finest > highest - lowest:
        raise _unusable("resolution", resolution, "is not above zero and within the range")
    if spread <= 0 or spread > highest - lowest:
        raise _unusable("uncertainty", uncertainty, "is not above zero and within the range")
    if expansion_ppm:
        expansion(expansion_ppm)
    return GaugeFacts(dimension, lowest, highest, finest, spread, expansion_ppm)


def difference(text: str, dimension: Dimension) -> int:
    """A resolution or an uncertainty as base units, rounded up. 0.5 °C of a thermometer is half a kelvin, not a temperature.

    Raises those of amounts.
    """
    quantity = parse_quantity(text)
    to_base(quantity, dimension, allow_negative=dimension is not Dimension.TEMPERATURE)
    exact = quantity.number * factor(quantity.unit.code)[0]
    whole = -(-exact.numerator // exact.denominator)
    if whole > MAX_BASE_AMOUNT:
        raise DomainError("quantity-too-large", f'"{text}" is too large', typed=text)
    return whole


def expansion(text: str) -> Fraction:
    """Thermal expansion in parts per million and kelvin, an exact decimal such as "11.5"; DomainError "gauge-unusable"."""
    if not _EXPANSION.fullmatch(text):
        raise _unusable("expansion_ppm", text, "is not parts per million and kelvin, as in 11.5")
    return Fraction(text)


def check_dates(done_on: date, next_due: date, day: date) -> None:
    """A calibration lies not after the day it is entered for, and is due on or after the day it was done.

    DomainError "from-the-future", "dates-turned".
    """
    if done_on > day:
        raise DomainError("from-the-future", f"{done_on} has not come yet.", done_on=done_on.isoformat())
    if next_due < done_on:
        raise DomainError(
            "dates-turned",
            f"It is due again on {next_due}, before it was done on {done_on}.",
            done_on=done_on.isoformat(),
            next_due=next_due.isoformat(),
        )


def _unusable(name: str, value: str, why: str) -> DomainError:
    return DomainError("gauge-unusable", f"{name} {value[:60]!r} {why}.", field=name, given=value[:60])
