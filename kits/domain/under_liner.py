"""A shim or a base ring as it was read: it counts instead of its nominal, with what its gauge may be off. Pure.

A thin piece grows by less than its gauge shows for any temperature of a bench: it is not corrected.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kits.domain.allowance import combined
from kits.domain.readings import MEASURE_AGAIN, agreed


@dataclass(frozen=True, slots=True)
class ThicknessRead:
    """One reading that counts; marks: why it may not decide a pass."""

    id: int
    value_nm: int
    uncertainty_nm: int
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece as read. doubts  why it may not decide a pass; ids: the readings that it rests on."""

    thickness_nm: int
    uncertainty_nm: int
    doubts: tuple[str, ...]
    ids: tuple[int, ...]


def piece_read(rows: Iterable[ThicknessRead], nominal_nm: int, sizes_nm: Sequence[int]) -> Piece | None:
    """The piece of a nominal size, from the readings that are nearest to that size of all that are set there; None where it was not read.

    Readings that may decide a pass count before those that may not. Two that differ by more than their gauge allows leave the nominal,
    doubtful, until a third is read.
    """
    mine = [row for row in rows if min(sizes_nm, key=lambda size: abs(size - row.value_nm), default=0) == nominal_nm]
    taken = [row for row in mine if not row.marks] or mine
    if not nominal_nm or not taken:
        return None
    uncertainty = max(row.uncertainty_nm for row in taken)
    found = agreed([row.value_nm for row in taken], combined([uncertainty]))
    doubts = tuple(dict.fromkeys(mark for row in taken for mark in row.marks))
    ids = tuple(sorted(row.id for row in taken))
    if found.value is None:
        return Piece(nominal_nm, uncertainty, (*doubts, f"its thickness: {MEASURE_AGAIN}"), ids)
    return Piece(found.value, uncertainty, doubts, ids)
