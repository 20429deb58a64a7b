"""How much a parts line takes at one position: counted, poured, weighed, or computed from a bead or a film.

Held as a whole number of a base unit: pieces, microlitres, milligrams. A bead or a film is the volume that stays in the joint;
waste, priming and what stays in the tube come on top when tubes are planned.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import check_counted_as, parse_quantity
from inventory.domain.quantities import read_amount as read_quantity
from inventory.domain.units import BY_CODE, Dimension
from kits.domain.reading import Reader
from kits.domain.sealant import FILLET, HALF_ROUND, ROUND, bead_volume_ul, film_volume_ul

COUNT = "count"
HOWS = (COUNT, "volume", "mass", "bead", "film", "fill")
_DIMENSIONS = {
    COUNT: Dimension.COUNT,
    "volume": Dimension.VOLUME,
    "fill": Dimension.VOLUME,
    "mass": Dimension.MASS,
}
#: What is measured across a bead names its shape.
_ACROSS = {"diameter": ROUND, "width": HALF_ROUND, "leg": FILLET}
PIECE, MICROLITRE, MILLIGRAM = "piece", "microlitre", "milligram"
_BASES = {Dimension.COUNT: PIECE, Dimension.VOLUME: MICROLITRE, Dimension.MASS: MILLIGRAM}


@dataclass(frozen=True, slots=True)
class LineAmount:
    """`amount` in whole `base` units for one position; `typed` as the document has it; `how` it is measured out.

    A bead also has its length, its shape and what is measured across it (diameter, width of a half-round one, leg of a fillet) in
    nanometres, and its dabs with the microlitres of each; a film its area in square micrometres and its thickness in nanometres.
    """

    amount: int
    base: str
    how: str
    typed: str
    length_nm: int = 0
    across_nm: int = 0
    shape: str = ""
    dabs: int = 0
    dab_ul: int = 0
    area_um2: int = 0
    thickness_nm: int = 0


def read_amount(document: Mapping[str, Any], how: str, where: str, reader: Reader) -> LineAmount:
    """Read `amount`, `bead` or `film` of a parts line, whichever `how` asks for; what is wrong goes to `reader`."""
    wanted = how if how in ("bead", "film") else "amount"
    for key in ("amount", "bead", "film"):
        if key != wanted and document.get(key) is not None:
            reader.problem(where, f"{how!r} takes {wanted!r}, not {key!r}")
    if how == "bead":
        return _read_bead(document, where, reader)
    if how == "film":
        return _read_film(document, where, reader)
    dimension = _DIMENSIONS.get(how, Dimension.COUNT)
    typed = reader.text(document, "amount", where)
    amount = _base(typed, dimension, where, reader) if typed else 0
    return LineAmount(amount, _BASES[dimension], how, typed)


def measured_otherwise(amount: LineAmount, unit: str, base: str, net_ul: int | None, density: int | None) -> str:
    """Why a line cannot ask for so much of a part, in words: the part is kept by another measure. Empty where it can.

    unit, base   how the part is counted (a Rec 20 code) and kept; net_ul, density (mg/mL) of what is in one tube, tin or bottle
    """
    if amount.how == COUNT:
        if base != PIECE:
            return f"{amount.typed!r} is counted, and the part is kept by the {BY_CODE[unit].symbol}"
        try:
            check_counted_as(parse_quantity(amount.typed), unit)
        except DomainError as error:
            return error.message
        return ""
    if base not in (PIECE, amount.base):
        return f"{amount.typed!r} is measured out, and the part is kept by the {BY_CODE[unit].symbol}: say how much in that measure"
    if base == PIECE and not net_ul:
        return f"{amount.typed!r} is measured out, and of the part it is not on record how much is in one"
    if base == PIECE and amount.base == MILLIGRAM and not density:
        return f"{amount.typed!r} is weighed, and the part has no density on record"
    return ""


def _base(typed: str, dimension: Dimension, where: str, reader: Reader) -> int:
    """The amount in base units, more than nothing; a problem and 0 otherwise. A fraction of a piece is refused."""
    try:
        amount = read_quantity(typed, dimension).amount
    except DomainError as error:
        reader.problem(where, error.message)
        return 0
    if amount <= 0:
        reader.problem(where, f"{typed!r} is nothing")
    return amount


def _part(document: Mapping[str, Any], key: str, dimension: Dimension, where: str, reader: Reader) -> int:
    typed = reader.text(document, key, where)
    return _base(typed, dimension, where, reader) if typed else 0


def _read_bead(document: Mapping[str, Any], where: str, reader: Reader) -> LineAmount:
    """A bead of a length and a diameter (round), a width (half-round) or a leg (fillet); dabs; or both."""
    bead = reader.mapping(document.get("bead"), f"{where} bead", frozenset({"length", *_ACROSS, "dabs", "dab"}))
    length_nm = across_nm = dabs = dab_ul = 0
    named = [key for key in _ACROSS if key in bead]
    across = named[0] if named else "diameter"
    if len(named) > 1:
        reader.problem(where, f"a bead has one shape: {' or '.join(map(repr, named))}, not both")
    if "length" in bead or named or "dabs" not in bead:
        length_nm = _part(bead, "length", Dimension.LENGTH, where, reader)
        across_nm = _part(bead, across, Dimension.LENGTH, where, reader)
    shape = _ACROSS[across] if length_nm and across_nm else ""
    if "dabs" in bead or "dab" in bead:
        dabs = reader.whole(bead, "dabs", where, low=1, high=1000)
        dab_ul = _part(bead, "dab", Dimension.VOLUME, where, reader)
    typed = [f"{bead['length']} × {bead[across]}{'' if shape == ROUND else f' {shape}'}"] if shape else []
    typed += [f"{dabs} dab{'s' if dabs > 1 else ''} of {bead['dab']}"] if dabs and dab_ul else []
    amount = bead_volume_ul(length_nm, across_nm, dabs, dab_ul, shape or ROUND)
    return LineAmount(
        amount,
        MICROLITRE,
        "bead",
        "bead " + " + ".join(typed),
        length_nm=length_nm,
        across_nm=across_nm,
        shape=shape,
        dabs=dabs,
        dab_ul=dab_ul,
    )


def _read_film(document: Mapping[str, Any], where: str, reader: Reader) -> LineAmount:
    """A film of an area and a thickness."""
    film = reader.mapping(document.get("film"), f"{where} film", frozenset({"area", "thickness"}))
    area_um2 = _part(film, "area", Dimension.AREA, where, reader)
    thickness_nm = _part(film, "thickness", Dimension.LENGTH, where, reader)
    typed = f"film {film['area']} × {film['thickness']}" if area_um2 and thickness_nm else "film"
    return LineAmount(
        film_volume_ul(area_um2, thickness_nm),
        MICROLITRE,
        "film",
        typed,
        area_um2=area_um2,
        thickness_nm=thickness_nm,
    )
