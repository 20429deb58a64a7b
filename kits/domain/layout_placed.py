"""A row of options told in full: serials, turns, shims, heights at each clock point, and points in a technician's words. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from kits.domain.layout_options import LayoutTask, Option, in_order, turned_heights
from kits.domain.protrusion import CIRCLE_DEG

HOURS = 12


@dataclass(frozen=True, slots=True)
class Placed:
    """A set in its bore. `heights_nm`: over the block at each clock point of the bore, with its shim and base ring."""

    bore: int
    head: str
    serial: str
    turn_deg: int
    shim_nm: int
    heights_nm: tuple[int, ...]

    @property
    def mean_nm(self) -> Fraction:
        """Exact."""
        return Fraction(sum(self.heights_nm), len(self.heights_nm))


def placed_of(task: LayoutTask, row: Sequence[Option], ring_nm: int) -> tuple[Placed, ...]:
    """What a row of options, one for each bore, means."""
    sets = in_order(task)
    found = []
    for bore, one in zip(task.bores, row, strict=True):
        heights = turned_heights(sets[one.chosen].heights_nm, one.turn)
        over = tuple(
            height - depth + one.shim_nm + ring_nm for height, depth in zip(heights, bore.depths_nm, strict=True)
        )
        turn_deg = one.turn * CIRCLE_DEG // task.points
        found.append(Placed(bore.number, bore.head, sets[one.chosen].serial, turn_deg, one.shim_nm, over))
    return tuple(found)


def point_said(point: int, points: int) -> str:
    """A point as an hour of the clock, or as an angle where it is none."""
    if HOURS % points:
        return f"{round(Fraction(point * CIRCLE_DEG, points))}°"
    return f"{point * HOURS // points or HOURS} o'clock"


def points_said(found: Sequence[tuple[int, int]], points: int) -> str:
    """Points (bore, point) for a person: bore by bore."""
    bores: dict[int, list[str]] = {}
    for bore, point in found:
        bores.setdefault(bore, []).append(point_said(point, points))
    clock = "" if HOURS % points else " o'clock"
    return "; ".join(
        f"bore {bore}, {' and '.join(', '.join(one.removesuffix(clock) for one in those).rsplit(', ', 1))}{clock}"
        for bore, those in bores.items()
    )
