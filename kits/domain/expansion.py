"""Readings as they would be at 20 °C, part and gauge each corrected for its own temperature.

The coefficients of expansion are facts of the engine family and of the gauge. Where one that matters is missing nothing is guessed:
the result is doubtful.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from fractions import Fraction
from types import MappingProxyType

from inventory.domain.quantities import round_half_even

#: Lengths are stated at 20 °C (ISO 1, from memory), here in millikelvin.
REFERENCE_MK = 293_150
#: Pieces of which a family may state a coefficient of expansion, in parts per million and kelvin.
PIECES = ("block", "liner", "piston", "crank")
#: What is read -> the piece that grows with heat. What is not named here is so short that its growth does not count: 1 mm of light
#: alloy grows by 0.25 µm in 11 K.
PIECE_OF: Mapping[str, str] = MappingProxyType(
    {
        "housing-bore": "block",
        "bore-diameter": "liner",
        "piston-diameter": "piston",
        "journal-diameter": "crank",
    }
)
#: From this coefficient on a piece is of light alloy: without its temperature its size is doubtful. Iron and steel have 10 to 12,
#: aluminium alloys 19 to 24 (common practice).
LIGHT_PPM = 15

#: How long a piece of light alloy counts as warm after a hot wash (common practice: a block comes out at 45 °C and more).
WARM_FOR = timedelta(hours=4)
#: What is asked about then: what is corrected here, and the depths of the block and the height of a liner (`kits/domain/liners.py`).
_ASKED: Mapping[str, str] = MappingProxyType(
    {**PIECE_OF, "block-depth": "block", "counterbore-depth": "block", "liner-height": "liner"}
)


@dataclass(frozen=True, slots=True)
class Corrected:
    """A length at the reference temperature, how far that moved it, and why it is doubtful; empty: it is not."""

    value_nm: int
    shift_nm: int = 0
    doubt: str = ""


def at_reference(
    value_nm: int, part_mk: int, gauge_mk: int, part_ppm: Fraction | int, gauge_ppm: Fraction | int
) -> Fraction:
    """L20 = L · (1 - a_part · (T_part - 20 °C) + a_gauge · (T_gauge - 20 °C)), exact, in nanometres."""
    parts = Fraction(gauge_ppm) * (gauge_mk - REFERENCE_MK) - Fraction(part_ppm) * (part_mk - REFERENCE_MK)
    # millikelvin and parts per million: a thousand times a million
    return value_nm * (1 + parts / 1_000_000_000)


def corrected(
    what: str,
    value_nm: int,
    part_mk: int | None,
    gauge_mk: int | None,
    gauge_ppm: Fraction | None,
    ppm: Mapping[str, Fraction],
    light: frozenset[str],
) -> Corrected:
    """A reading at the reference temperature, rounded once to the nanometre, half to even.

    ppm    piece → coefficient, as far as the family states them; light: pieces of light alloy (`light_pieces`)
    None of a temperature: nobody said. Iron and steel without temperatures stay as they were read; light alloy is then doubtful, and
    so is every piece of which a temperature was said that cannot be corrected for.
    """
    piece = PIECE_OF.get(what)
    if piece is None or (part_mk, gauge_mk) == (REFERENCE_MK, REFERENCE_MK):
        return Corrected(value_nm)
    if part_mk is None or gauge_mk is None:
        if piece not in light and part_mk is None and gauge_mk is None:
            return Corrected(value_nm)
        return Corrected(value_nm, doubt=f"{piece}: the temperature of part or gauge is missing")
    if piece not in ppm or gauge_ppm is None:
        return Corrected(value_nm, doubt=f"{piece}: no coefficient of expansion of part or gauge is on record")
    value = round_half_even(at_reference(value_nm, part_mk, gauge_mk, ppm[piece], gauge_ppm))
    return Corrected(value, value - value_nm)


def still_warm(
    what: str,
    temperatures: Collection[int | None],
    light: Collection[str],
    washed: Mapping[str, Collection[datetime]],
    at: datetime,
) -> str:
    """The piece of light alloy that was read without its temperature or the gauge's while warm of its hot wash, "" for none.

    temperatures  of part and gauge, None: not said; washed  piece → when it came out of each hot wash; at  when it was read
    """
    piece = _ASKED.get(what, "")
    if piece not in light or None not in temperatures:
        return ""
    return piece if any(timedelta() <= at - out <= WARM_FOR for out in washed.get(piece, ())) else ""


def light_pieces(ppm: Mapping[str, Fraction], block: str) -> frozenset[str]:
    """Pieces of light alloy: by their coefficient; where none is stated, a piston, and a block that the family calls alloy."""
    unsaid = {"piston"} | ({"block"} if block == "alloy" else set())
    return frozenset(piece for piece in PIECES if (ppm[piece] >= LIGHT_PPM if piece in ppm else piece in unsaid))
