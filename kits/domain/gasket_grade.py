"""The thickness of the head gasket, by the piston that stands highest over the block.

Each piston is read at two places along the pin axis at least, at its highest point of travel, with the liners clamped. It is read
again after any liner was changed.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from kits.domain.limits import whole_nm

LEAST_READINGS = 2


@dataclass(frozen=True, slots=True)
class GasketGrade:
    """A grade and the largest projection that it takes; that projection itself still passes. `part`: its number, if stated."""

    grade: str
    projection_most_nm: int
    part: str = ""


@dataclass(frozen=True, slots=True)
class Projection:
    """How far a piston stands over the block at one place along its pin axis; below zero it stands under it."""

    piston: str
    at: str
    projection_nm: int


@dataclass(frozen=True, slots=True)
class GasketChoice:
    """The grade, and the reading that decided."""

    grade: str
    decided_by: Projection


def choose_gasket(
    grades: Sequence[GasketGrade], pistons: Collection[str], readings: Sequence[Projection], *, liners_clamped: bool
) -> GasketChoice:
    """The thinnest gasket that takes the largest projection over all pistons.

    grades  the family's table, thinnest first
    Raises DomainError `projection-not-accepted` (liners loose, fewer than two places of a piston, a piston of another engine, a place
    read twice), `gasket-grade-none` above the last grade: stop and find out why; `limits-unreadable` for a table that makes no
    sense.
    """
    ends = [whole_nm(grade.projection_most_nm, f"grade {grade.grade}") for grade in grades]
    if not ends or any(later <= end for end, later in zip(ends, ends[1:], strict=False)):
        raise DomainError("limits-unreadable", "The grades of the gasket go up from the thinnest.", ends=ends)
    _accept(pistons, readings, liners_clamped)
    highest = max(readings, key=lambda one: one.projection_nm)
    for grade in grades:
        if highest.projection_nm <= grade.projection_most_nm:
            return GasketChoice(grade.grade, highest)
    raise DomainError(
        "gasket-grade-none",
        f"{highest.piston} stands higher than the thickest gasket takes.",
        ways_out=("Stop: check rod, piston and block height by the maker's manual.",),
        piston=highest.piston,
        projection_nm=highest.projection_nm,
        most_nm=ends[-1],
    )


def _accept(pistons: Collection[str], readings: Sequence[Projection], liners_clamped: bool) -> None:
    if liners_clamped is not True:
        raise DomainError(
            "projection-not-accepted",
            "The projection was measured with the liners loose.",
            ways_out=("Clamp the liners and measure again.",),
        )
    places: dict[str, list[str]] = {piston: [] for piston in pistons}
    for one in readings:
        whole_nm(one.projection_nm, f"the projection of {one.piston}", least=None)
        if one.piston not in places or one.at in places[one.piston]:
            raise DomainError(
                "projection-not-accepted",
                f"{one.piston} at {one.at}: no such piston, or that place was read already.",
                piston=one.piston,
                at=one.at,
            )
        places[one.piston].append(one.at)
    few = [piston for piston, at in places.items() if len(at) < LEAST_READINGS]
    if few or not places:
        raise DomainError(
            "projection-not-accepted",
            f"Every piston is read at {LEAST_READINGS} places along the pin axis; too few at {', '.join(few) or 'all'}.",
            pistons=few,
        )
