"""Stacks of tolerances: what several parts on top of each other come to, at worst and as a root sum of squares.

The worst case always holds. The root sum of squares holds only where the parts' errors do not depend on each other and each lies in its
tolerance evenly about the middle; it is rounded outwards. Neither replaces measuring.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import isqrt

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits, whole_nm

_CODE = "stack-unreadable"


@dataclass(frozen=True, slots=True)
class Contributor:
    """A part of the stack. sign  1 where it adds, -1 where it takes away; plus_nm, minus_nm  how far it may be off its nominal."""

    name: str
    sign: int
    nominal_nm: int
    plus_nm: int = 0
    minus_nm: int = 0


def between(name: str, sign: int, low_nm: int, high_nm: int) -> Contributor:
    """A contributor that is given by its two ends; its nominal is the lower one."""
    whole_nm(low_nm, name, code=_CODE, least=None)
    whole_nm(high_nm, name, code=_CODE, least=None)
    return Contributor(name, sign, low_nm, plus_nm=high_nm - low_nm)


@dataclass(frozen=True, slots=True)
class Stack:
    """What the contributors come to: nominal, worst case, and the root sum of squares about the middle, rounded outwards."""

    nominal_nm: int
    low_nm: int
    high_nm: int
    rss_low_nm: int
    rss_high_nm: int


class Standing(StrEnum):
    """Worst case against limits."""

    INSIDE = "always within the limits"
    MEASURE = "to be measured"
    OUTSIDE = "never within the limits"


def stack(contributors: Sequence[Contributor]) -> Stack:
    """The stack of the contributors, exactly. DomainError `stack-unreadable` names the contributor that makes no sense."""
    if not contributors:
        raise DomainError(_CODE, "A stack has one contributor at least.")
    if len({one.name for one in contributors}) < len(contributors):
        raise DomainError(_CODE, "A contributor is named twice.", names=[one.name for one in contributors])
    nominal = low = high = squares = 0
    for one in contributors:
        if isinstance(one.sign, bool) or one.sign not in (1, -1):
            raise DomainError(_CODE, f"{one.name} adds (1) or takes away (-1), not {one.sign!r}.", what=one.name)
        size = whole_nm(one.nominal_nm, one.name, code=_CODE, least=None)
        plus, minus = (whole_nm(off, f"the tolerance of {one.name}", code=_CODE) for off in (one.plus_nm, one.minus_nm))
        up, down = (plus, minus) if one.sign > 0 else (minus, plus)
        nominal += one.sign * size
        low += one.sign * size - down
        high += one.sign * size + up
        squares += (plus + minus) ** 2
    # Twice the middle, and the whole width as a root rounded up: halves stay whole numbers until the last line.
    width = isqrt(squares)
    width += width * width < squares
    return Stack(nominal, low, high, (low + high - width) // 2, -((-(low + high + width)) // 2))


def against(found: Stack, limits: Limits) -> Standing:
    """Whether the worst case is within the limits, outside of them, or says nothing: then the parts are measured."""
    low, high = limits.low_nm, limits.high_nm
    if (low is None or found.low_nm >= low) and (high is None or found.high_nm <= high):
        return Standing.INSIDE
    if (low is not None and found.high_nm < low) or (high is not None and found.low_nm > high):
        return Standing.OUTSIDE
    return Standing.MEASURE
