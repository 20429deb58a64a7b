"""ISO 286 fits: tolerance zones of holes and shafts, and the clearance or interference of two of them.

The grades IT5 to IT11 to 500 mm are facts of ISO 286-1, read second-hand in two independent sources that agree in all 91 values; the
standard itself was not read. Fundamental deviations stand here only where a published fit was read that shows them; any other
letter is refused rather than guessed.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass
from enum import StrEnum

from inventory.domain.errors import DomainError
from kits.domain.limits import whole_nm

_UM, _MM = 1_000, 1_000_000
#: A size belongs to the band whose upper end it does not pass: 30 mm is the last of 18 to 30.
BANDS_MM = (3, 6, 10, 18, 30, 50, 80, 120, 180, 250, 315, 400, 500)
#: grade -> tolerance in micrometres, one for each band of `BANDS_MM`.
IT_UM = {
    5: (4, 5, 6, 8, 9, 11, 13, 15, 18, 20, 23, 25, 27),
    6: (6, 8, 9, 11, 13, 16, 19, 22, 25, 29, 32, 36, 40),
    7: (10, 12, 15, 18, 21, 25, 30, 35, 40, 46, 52, 57, 63),
    8: (14, 18, 22, 27, 33, 39, 46, 54, 63, 72, 81, 89, 97),
    9: (25, 30, 36, 43, 52, 62, 74, 87, 100, 115, 130, 140, 155),
    10: (40, 48, 58, 70, 84, 100, 120, 140, 160, 185, 210, 230, 250),
    11: (60, 75, 90, 110, 130, 160, 190, 220, 250, 290, 320, 360, 400),
}
#: (letter, end of band) -> fundamental deviation of a shaft in micrometres: the upper one of g, the lower one of p. Read from the
#: published fits 25 H7/g6, 50 H7/g6, 130 H7/g6 and 50 H7/p6.
_SHAFTS_UM = {("g", 30): -7, ("g", 50): -9, ("g", 180): -14, ("p", 50): 26}
_ZONE = re.compile(r"([A-Za-z]{1,2})([0-9]{1,2})")


class Kind(StrEnum):
    """What a fit is: always room, always tight, or either by the pieces."""

    CLEARANCE = "clearance"
    TRANSITION = "transition"
    INTERFERENCE = "interference"


@dataclass(frozen=True, slots=True)
class Zone:
    """The smallest and the largest size of a hole or a shaft."""

    low_nm: int
    high_nm: int


@dataclass(frozen=True, slots=True)
class Fit:
    """Least and most clearance of a hole over a shaft; below zero it is interference."""

    least_nm: int
    most_nm: int

    @property
    def kind(self) -> Kind:
        """Clearance where even the least is not below zero; interference where even the most is below zero or zero."""
        if self.least_nm >= 0:
            return Kind.CLEARANCE
        return Kind.INTERFERENCE if self.most_nm <= 0 else Kind.TRANSITION


def _band(nominal_nm: int) -> int:
    whole_nm(nominal_nm, "the nominal size", code="fit-unknown", least=1)
    at = bisect_left([end * _MM for end in BANDS_MM], nominal_nm)
    if at == len(BANDS_MM):
        raise DomainError("fit-unknown", f"The table of fits ends at {BANDS_MM[-1]} mm.", nominal_nm=nominal_nm)
    return at


def it_nm(grade: int, nominal_nm: int) -> int:
    """The tolerance of a grade (5 to 11) at a nominal size above 0 up to 500 mm. Raises `fit-unknown`."""
    if isinstance(grade, bool) or grade not in IT_UM:
        raise DomainError("fit-unknown", f"No grade IT{grade} is in the table.", grade=grade)
    return IT_UM[grade][_band(nominal_nm)] * _UM


def zone(name: str, nominal_nm: int) -> Zone:
    """The zone of a hole (`H7`) or a shaft (`g6`, `h6`, `p6`) at a nominal size. Raises DomainError `fit-unknown`."""
    found = _ZONE.fullmatch(name)
    if found is None:
        raise DomainError("fit-unknown", f"{name!r} is not a letter and a grade, as in H7.", zone=name)
    letter, tolerance = found[1], it_nm(int(found[2]), nominal_nm)
    if letter == "H":
        return Zone(nominal_nm, nominal_nm + tolerance)
    if letter == "h":
        return Zone(nominal_nm - tolerance, nominal_nm)
    deviation = _SHAFTS_UM.get((letter, BANDS_MM[_band(nominal_nm)]))
    if deviation is None:
        raise DomainError("fit-unknown", f"No deviation is on record for {name} at that size.", zone=name)
    edge = nominal_nm + deviation * _UM
    return Zone(edge - tolerance, edge) if deviation < 0 else Zone(edge, edge + tolerance)


def fit_between(hole: Zone, shaft: Zone) -> Fit:
    """Least clearance: smallest hole with largest shaft; most: the other way round. Raises `fit-unknown` for a zone turned round."""
    for name, one in (("hole", hole), ("shaft", shaft)):
        low = whole_nm(one.low_nm, f"the {name}", code="fit-unknown", least=1)
        if whole_nm(one.high_nm, f"the {name}", code="fit-unknown", least=1) < low:
            raise DomainError("fit-unknown", f"The smallest size of the {name} is above its largest.", what=name)
    return Fit(hole.low_nm - shaft.high_nm, hole.high_nm - shaft.low_nm)


def fit_of(name: str, nominal_nm: int) -> Fit:
    """The fit of a name such as `H7/g6`, the hole first, at a nominal size. Raises DomainError `fit-unknown`."""
    hole, _, shaft = name.partition("/")
    if not hole[:1].isupper() or not shaft[:1].islower():
        raise DomainError("fit-unknown", f"{name!r} is not a hole and a shaft, as in H7/g6.", fit=name)
    return fit_between(zone(hole, nominal_nm), zone(shaft, nominal_nm))
