"""What a measured value may be wrong by: the reading allowance U, from the standard uncertainties of the gauges.

U is the root of the sum of the squares of the standard uncertainties (1 sigma), times a factor; 2 unless said otherwise. It is
rounded up to the whole base unit, so that an allowance is never smaller than its gauges. Idea of ISO 14253-1 and of the Guide to
the expression of uncertainty in measurement (JCGM 100:2008, 5.1.2 and 6.2), from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import isqrt

from inventory.domain.errors import DomainError

#: Words and number that go with every result in which an allowance decided.
RULE = "limits narrowed by U inside and widened by U outside, U = 2 times the root of the sum of squares, rounded up"
FACTOR = 2


def root_up(square: Fraction | int) -> int:
    """The smallest whole number whose square is not below `square` (0 or more)."""
    whole = -(-Fraction(square).numerator // Fraction(square).denominator)
    return isqrt(whole - 1) + 1 if whole > 0 else 0


def combined(uncertainties: Iterable[int], factor: Fraction | int = FACTOR) -> int:
    """U in the base unit that all the standard uncertainties have (nanometres for lengths).

    Raises DomainError "reading-unusable": none is given, one is not a whole number or below nothing, or the factor is not above zero.
    """
    given = tuple(uncertainties)
    if not given:
        raise DomainError("reading-unusable", "An allowance rests on at least one gauge.")
    for one in given:
        if isinstance(one, bool) or not isinstance(one, int) or one < 0:
            raise DomainError("reading-unusable", f"{one!r} is no standard uncertainty.", given=repr(one))
    if isinstance(factor, bool) or not isinstance(factor, int | Fraction) or factor <= 0:
        raise DomainError("reading-unusable", f"{factor!r} is no factor.", given=repr(factor))
    return root_up(Fraction(factor) ** 2 * sum(one * one for one in given))
