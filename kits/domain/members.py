"""What a person types as one member of something: a name, and its size, its two ends, or its size with a tolerance. Pure.

"shim: 0.05 mm", "flange: 0.463 in to 0.465 in", "plate: 0.3925 in +- 0.0010 in"
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.text import shown
from inventory.domain.units import Dimension

_TO, _PLUS_MINUS = " to ", ("±", "+-", "+/-")
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class Member:
    """A name, its nominal, and its ends in base units."""

    name: str
    nominal: int
    low: int
    high: int


def read_member(text: str, dimension: Dimension, code: str) -> Member:
    """One member; DomainError `code` where it is none of the three forms, and those of amounts."""
    name, colon, size = (part.strip() for part in text.partition(":"))
    if not (colon and name and size) or len(name) > LONGEST_NAME:
        raise DomainError(code, f'{shown(text)} is no name with its size, as in "flange: 9.03 mm".', member=shown(text))
    if _TO in size:
        low, high = (read_amount(end.strip(), dimension).amount for end in size.split(_TO, 1))
        if low > high:
            raise DomainError(code, f"{name} goes from its smaller end to its larger one.", member=shown(text))
        return Member(name, low, low, high)
    sign = next((one for one in _PLUS_MINUS if one in size), "")
    nominal, _, off = size.partition(sign) if sign else (size, "", "")
    middle = read_amount(nominal.strip(), dimension).amount
    apart = read_amount(off.strip(), dimension).amount if sign else 0
    if apart > middle:
        raise DomainError(code, f"The tolerance of {name} is larger than {name} itself.", member=shown(text))
    return Member(name, middle, middle - apart, middle + apart)
