"""Finding a part by what was measured on it: inside diameter x section of a ring, or the thickness of a shim. Pure.

A used ring has swollen or set, and a rule is read in a hurry: what is near is offered, the nearest first, with how far off it is. That
a size is near says nothing about the rubber, nor that it is the right part.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.ring_sizes import find_size
from inventory.domain.text import shown
from inventory.domain.units import Dimension

_LONGEST = 40
_CROSS = re.compile(r"\s*[x*\N{MULTIPLICATION SIGN}]\s*", re.IGNORECASE)
_PLAIN = re.compile(r"\d{1,4}(?:\.\d{1,4})?", re.ASCII)
_UNIT = re.compile(r"[A-Za-z\"\N{DOUBLE PRIME}].*$")
_DASH = re.compile(r"(?:AS ?568[A-Z]? ?-? ?|-)\d{3}", re.IGNORECASE | re.ASCII)
#: How far off a measure may be and still be offered: so much of it, and at least so many nanometres. What a used ring has swollen or
#: set, and a hurried reading. From memory.
_SHARE = Fraction(4, 100)
_LEAST_NM = {2: (500_000, 300_000), 1: (20_000,)}
MOST = 20


@dataclass(frozen=True, slots=True)
class Sized:
    """A part with its measures in nm: (inside diameter, section), or (thickness,)."""

    part: str
    measures_nm: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Near:
    """A part that was offered. `off`: how far its measures are from those asked for, in words; "" where they are the same."""

    part: str
    off: str


def read_size(text: str) -> tuple[int, ...]:
    """`94.9 x 2.6 mm`, `3.74 in x 0.1 in`, `AS568-154`, `0.10 mm`: one measure or two, in nm. Without a unit they are millimetres; a unit
    behind the second counts for both.

    Error: `size-unreadable`, or one of `read_amount` or `find_size`.
    """
    plain = " ".join(text.split())
    if len(plain) > _LONGEST or not plain:
        raise _unreadable(text)
    if _DASH.fullmatch(plain):
        size = find_size(plain)
        return (size.inside_nm, size.section_nm)
    pieces = _CROSS.split(plain)
    if len(pieces) > 2 or not all(pieces):
        raise _unreadable(text)
    unit = _UNIT.search(pieces[-1])
    typed = [f"{piece} {unit[0] if unit else 'mm'}" if _PLAIN.fullmatch(piece) else piece for piece in pieces]
    found = tuple(read_amount(piece, Dimension.LENGTH).amount for piece in typed)
    if not all(nm > 0 for nm in found):
        raise _unreadable(text)
    return found


def near_sizes(asked: tuple[int, ...], parts: Iterable[Sized]) -> list[Near]:
    """The parts whose measures are all near to those asked for, the nearest first, then by number; twenty at most."""
    found = []
    for one in parts:
        if len(one.measures_nm) != len(asked):
            continue
        offs = [has - wanted for has, wanted in zip(one.measures_nm, asked, strict=True)]
        most = [
            max(wanted * _SHARE, Fraction(least)) for wanted, least in zip(asked, _LEAST_NM[len(asked)], strict=True)
        ]
        if all(abs(off) <= limit for off, limit in zip(offs, most, strict=True)):
            rank = sum((Fraction(abs(off)) / limit for off, limit in zip(offs, most, strict=True)), Fraction(0))
            found.append((rank, one.part, Near(one.part, _words(offs))))
    return [near for _, _, near in sorted(found, key=lambda row: row[:2])[:MOST]]


def _words(offs: list[int]) -> str:
    if not any(offs):
        return ""
    names = ("inside diameter", "section") if len(offs) == 2 else ("thickness",)
    return ", ".join(f"{name} {off / 1_000_000:+.2f} mm" for name, off in zip(names, offs, strict=True) if off)


def _unreadable(text: str) -> DomainError:
    return DomainError(
        "size-unreadable",
        f'"{shown(text)}" is no size.',
        ways_out=("Write inside diameter x section of a ring, as 94.9 x 2.6 mm, or a thickness, as 0.10 mm.",),
        typed=shown(text),
    )
