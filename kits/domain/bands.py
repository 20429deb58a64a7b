"""Where a reading of an engine is expected, by the facts of its family: a slip in typing is asked about before it is believed.

A band is the family's span of new parts, 2 % wider at both ends. The facts name it: `liner_height` and `block_depth` with what they
are ("flange thickness" and "counterbore depth", else shoulder and ledge), `bore`, `length_most` of the bolt at a position, and for
anything else `spans`: {code of what is measured: {"low", "high"}}. Without a fact nothing is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from kits.domain.facts import FREE_LENGTH
from kits.domain.families import Family
from kits.domain.readings import WHAT, Band

#: How far beyond the span nothing is asked yet.
SHARE = Fraction(2, 100)
#: What is read -> (fact, what the fact must say it is; empty: whatever is not said to be a flange or a counterbore).
_BY_FACT = {
    "liner-height": ("liner_height", ""),
    "flange-thickness": ("liner_height", "flange thickness"),
    "block-depth": ("block_depth", ""),
    "counterbore-depth": ("block_depth", "counterbore depth"),
}
_AT_TOP_FLANGE = ("flange thickness", "counterbore depth")


def band_of(family: Family, what: str, place: str = "") -> Band | None:
    """The band of one kind of reading at a place of the family's map; None where the facts say nothing that can be read.

    A counterbore may be recut: the band of block and counterbore goes as much further as `shims.recut_most` allows.
    """
    span = _span(family, what, WHAT[what].dimension) or _bolt(family, what, place)
    if span is None:
        return None
    low, high, source = span
    wider = SHARE * max(abs(low), abs(high))
    return Band(_up(low - wider), _down(high + wider), source)


def _span(family: Family, what: str, dimension: Dimension) -> tuple[int, int, str] | None:
    facts = family.stated
    if what in family.spans:
        return *family.spans[what], f"spans, {what}"
    if what in _BY_FACT:
        name, wanted = _BY_FACT[what]
        fact = facts.get(name)
        is_what = str(fact.get("what", "")) if isinstance(fact, Mapping) else ""
        if is_what != wanted and (wanted or is_what in _AT_TOP_FLANGE):
            return None
        found = _low_high(fact, dimension, name.replace("_", " "))
        cut = _nm(facts["shims"].get("recut_most"), dimension) if isinstance(facts.get("shims"), Mapping) else None
        return (found[0], found[1] + (cut or 0), found[2]) if found and name == "block_depth" else found
    if what in ("bore-diameter", "piston-diameter"):
        bore = _nm(facts.get("bore"), dimension)
        return None if bore is None else (bore, bore, "bore")
    return None


def _bolt(family: Family, what: str, place: str) -> tuple[int, int, str] | None:
    if what != "bolt-length":
        return None
    bolts = [limit for limit in family.facts.bolts if place in limit.positions and limit.measured == FREE_LENGTH]
    found = [limit.most_nm for limit in bolts]
    lengths = [one for one in found if one is not None]
    return (min(lengths), max(lengths), "longest length of the bolt there") if lengths else None


def _low_high(fact: object, dimension: Dimension, source: str) -> tuple[int, int, str] | None:
    if not isinstance(fact, Mapping):
        return None
    low, high = _nm(fact.get("low"), dimension), _nm(fact.get("high"), dimension)
    return None if low is None or high is None or low > high else (low, high, source)


def _nm(text: object, dimension: Dimension) -> int | None:
    """A fact's amount in base units; None where it is none that can be read."""
    try:
        return read_amount(text, dimension, allow_negative=True).amount if isinstance(text, str) else None
    except DomainError:
        return None


def _up(number: Fraction) -> int:
    return -(-number.numerator // number.denominator)


def _down(number: Fraction) -> int:
    return number.numerator // number.denominator
