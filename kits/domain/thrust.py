"""Thrust washers by end float: which washers leave the crankshaft the play that its maker asks for.

End float = room between the thrust faces - washers. The face with the grooves or pockets goes against the crankshaft: look
before the cap goes on.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits, whole_nm

_CODE = "bearing-unreadable"


@dataclass(frozen=True, slots=True)
class Washer:
    """A thrust washer, or one face of a pair: its part number and thickness."""

    part: str
    thickness_nm: int


@dataclass(frozen=True, slots=True)
class ThrustChoice:
    """Washers, thinnest first, one for each face; the end float they leave."""

    washers: tuple[Washer, ...]
    end_float_nm: int


def room_of(end_float_nm: int, fitted: Sequence[Washer]) -> int:
    """The room between the thrust faces, from an end float measured with washers fitted."""
    return whole_nm(end_float_nm, "the end float", code=_CODE, least=None) + sum(one.thickness_nm for one in fitted)


def choose_washers(
    room_nm: int, stock: Mapping[Washer, int], limits: Limits, *, faces: int = 2, alike: bool = False
) -> ThrustChoice:
    """The washers whose end float is nearest the middle of the limits; a limit itself passes.

    stock  pieces of each washer; faces  1 or 2; alike  both faces take one part number: washers that are bought as a pair
    Ties: the smaller difference between the faces, then the thinner, then the part number. Raises DomainError
    `bearing-impossible`, naming what is missing, and `bearing-unreadable`.
    """
    if limits.low_nm is None or limits.high_nm is None or faces not in (1, 2) or isinstance(faces, bool):
        raise DomainError(_CODE, "An end float has two limits, and a crankshaft one or two thrust faces.", faces=faces)
    whole_nm(room_nm, "the room between the thrust faces", code=_CODE, least=1)
    for washer, pieces in stock.items():
        whole_nm(washer.thickness_nm, f"the thickness of {washer.part}", code=_CODE, least=1)
        if not isinstance(pieces, int) or isinstance(pieces, bool) or pieces < 0:
            raise DomainError(_CODE, f"The stock of {washer.part} must be whole pieces.", what=washer.part)
    sorts = sorted(stock, key=lambda one: (one.thickness_nm, one.part))
    best: tuple[tuple[int, int, int, tuple[str, ...]], ThrustChoice] | None = None
    nearest: int | None = None
    for chosen in combinations_with_replacement(sorts, faces):
        if (alike and chosen[0] != chosen[-1]) or any(pieces > stock[one] for one, pieces in Counter(chosen).items()):
            continue
        play = room_nm - sum(one.thickness_nm for one in chosen)
        miss = max(limits.low_nm - play, play - limits.high_nm)
        nearest = miss if nearest is None else min(nearest, miss)
        if miss > 0:
            continue
        apart = chosen[-1].thickness_nm - chosen[0].thickness_nm
        off = abs(2 * play - limits.low_nm - limits.high_nm)
        rank = (off, apart, chosen[0].thickness_nm, tuple(one.part for one in chosen))
        if best is None or rank < best[0]:
            best = (rank, ThrustChoice(chosen, play))
    if best is None:
        raise DomainError(
            "bearing-impossible",
            "No thrust washers on the shelf leave an end float within the limits.",
            ways_out=("Get washers of another thickness.", "Machine the thrust faces by the maker's manual."),
            room_nm=room_nm,
            miss_nm=nearest,
        )
    return best[1]
