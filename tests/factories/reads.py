"""Readings as the rules of measuring take them, without a database. Gauges: u = 3 µm for bores, 2 µm for everything else."""

from __future__ import annotations

from fractions import Fraction
from itertools import count
from typing import Any

from kits.domain.expansion import REFERENCE_MK
from kits.domain.taken import Growth, Read, Taken, take

_ids = count(1)
GROWTH = Growth(
    {"block": Fraction(22), "liner": Fraction(11), "piston": Fraction(21), "crank": Fraction("11.5")},
    frozenset({"block", "piston"}),
)


def read(what: str, value_um: int | float, place: str = "CYL-1", point: str = "", **more: Any) -> Read:
    """One reading in micrometres, at 20 °C, clamped, with nothing against it."""
    given = {
        "id": next(_ids), "set": "", "shown": f"{value_um} um", "uncertainty_nm": 3000 if "bore" in what else 2000, "gauge": "G-1",
        "gauge_ppm": Fraction("11.5"), "part_mk": REFERENCE_MK, "gauge_mk": REFERENCE_MK, "clamped": True, "marks": (),
    } | more  # fmt: skip
    return Read(what=what, place=place, point=point, value_nm=round(value_um * 1000), **given)


def taken(*reads: Read) -> tuple[Taken, ...]:
    """Taken together."""
    return take(reads, GROWTH)


def bore(*sizes_um: int, place: str = "CYL-1", **more: Any) -> list[Read]:
    """Two planes by two directions: top along, top across, bottom along, bottom across."""
    points = ("top/along", "top/across", "bottom/along", "bottom/across")
    return [read("bore-diameter", size, place, point, **more) for size, point in zip(sizes_um, points, strict=True)]
