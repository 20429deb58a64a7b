"""The sizes O-rings come in: inch sizes by dash number, metric sizes by inside diameter and section.

The table is `data/ring_sizes.csv`; its head says where every value was read. Lengths are whole nanometres. The inch sizes are held as the
metric tables print them (inches x 25.4, to 0.01 mm), with the printed thousandths of an inch beside them. Dash numbers have gaps and
say nothing about the size by themselves: a number that is not in the table is no size.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.text import shown

_TABLE = Path(__file__).parent / "data" / "ring_sizes.csv"
_HUNDREDTH_NM = 10_000
_DASH = re.compile(r"(?:AS ?568[A-Z]? ?-? ?|-)?(\d{3})", re.ASCII)
_PAIR = re.compile(r"(\d{1,4}(?:\.\d{1,3})?) ?[X\N{MULTIPLICATION SIGN}] ?(\d{1,3}(?:\.\d{1,3})?)(?: ?MM)?", re.ASCII)
_LONGEST = 40
_NUMBERS = frozenset(
    f"{what}_{unit}"
    for what in ("inside", "inside_tolerance", "section", "section_tolerance")
    for unit in ("nm", "thou")
)
#: The power of the class B formula is irrational: with sixty digits no tie is near enough to round the wrong way.
_DIGITS = Context(prec=60)

#: (section up to, tolerance), nm. Source: ISO 3601-1, table of section tolerances, from memory.
_SECTION_TOLERANCES_NM = (
    (2_250_000, 80_000),
    (3_150_000, 90_000),
    (4_500_000, 100_000),
    (6_300_000, 130_000),
    (8_400_000, 150_000),
)


class System(StrEnum):
    """Which table a size stands in."""

    INCH = "AS568"
    METRIC = "metric"


@dataclass(frozen=True, slots=True)
class RingSize:
    """One size with its tolerances, plus and minus.

    size             "AS568-154", or "108 x 3.5" (inside diameter x section, mm)
    *_thou           thousandths of an inch as the inch table prints them, None for a metric size
    source           how sure the row is
    """

    size: str
    system: System
    inside_nm: int
    inside_tolerance_nm: int
    section_nm: int
    section_tolerance_nm: int
    inside_thou: int | None
    inside_tolerance_thou: int | None
    section_thou: int | None
    section_tolerance_thou: int | None
    source: str

    @property
    def words(self) -> str:
        """As a person says it: `inch 107.54 x 3.53 (AS568-244)`, `metric 108 x 3.5`."""
        if self.system is System.METRIC:
            return f"metric {self.size}"
        return f"inch {pair_words(self.inside_nm, self.section_nm)} ({self.size})"


def pair_words(inside_nm: int, section_nm: int) -> str:
    """`107.54 x 3.53`: inside diameter x section in mm."""
    return f"{_millimetres(inside_nm)} x {_millimetres(section_nm)}"


def _millimetres(nm: int) -> str:
    text = f"{Decimal(nm).scaleb(-6):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


@cache
def ring_sizes() -> Mapping[str, RingSize]:
    """Every size by its name, inch sizes first, each table in its own order. Read once."""
    with _TABLE.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return {row["size"]: _row(row) for row in rows}


def _row(row: Mapping[str, str]) -> RingSize:
    numbers: dict[str, Any] = {name: int(text) if text else None for name, text in row.items() if name in _NUMBERS}
    system = System.INCH if row["inside_thou"] else System.METRIC
    return RingSize(size=row["size"], system=system, source=row["source"], **numbers)


def search_sizes(text: str) -> tuple[RingSize, ...]:
    """The sizes that a text names: a dash number (`AS568-154`, `-154`, `154`), or both measures in mm (`94.92 x 2.62`).

    Both measures are compared to 0.01 mm, as the tables print them. Nothing is guessed: no such size is an empty answer.
    Error: `ring-size-unreadable`.
    """
    plain = " ".join(text.upper().split()) if len(text) <= _LONGEST else ""
    if dash := _DASH.fullmatch(plain):
        found = ring_sizes().get(f"AS568-{dash[1]}")
        return (found,) if found else ()
    if pair := _PAIR.fullmatch(plain):
        wanted = tuple(_hundredths(Decimal(number)) for number in pair.groups())
        return tuple(
            one
            for one in ring_sizes().values()
            if (one.inside_nm // _HUNDREDTH_NM, one.section_nm // _HUNDREDTH_NM) == wanted
        )
    raise DomainError(
        "ring-size-unreadable",
        f'"{shown(text)}" names no ring size.',
        ways_out=("Write a dash number, as AS568-154, or inside diameter x section in mm, as 94.92 x 2.62.",),
        typed=shown(text),
    )


def _hundredths(millimetres: Decimal) -> int | None:
    """Hundredths of a millimetre, None where the number is finer than the tables."""
    whole = millimetres.scaleb(2)
    return int(whole) if whole == whole.to_integral_value() else None


def find_size(text: str) -> RingSize:
    """The one size that a text names. Errors: `ring-size-unreadable`, `ring-size-unknown`."""
    found = search_sizes(text)
    if len(found) == 1:
        return found[0]
    raise DomainError(
        "ring-size-unknown",
        f'"{shown(text)}" is no size of the tables.',
        ways_out=("Measure inside diameter and section, and ask which ring it is.",),
        typed=shown(text),
    )


def class_b_tolerance_nm(inside_nm: int) -> int:
    """Tolerance on the inside diameter of a metric ring, plus and minus, to 0.01 mm as it is printed.

    Source: 0.009 d^0.95 + 0.11 mm, ISO 3601-1 class B as quoted by a public tool (read second-hand).
    Error: `ring-unreadable` for a diameter that is no ring's.
    """
    exact = _class_b(inside_nm)
    return int(exact.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP, context=_DIGITS).scaleb(6))


@cache
def unrounded_class_b_nm(inside_nm: int) -> int:
    """The same by the formula alone, to the nanometre."""
    return int(_class_b(inside_nm).scaleb(6).quantize(Decimal(1), context=_DIGITS))


def _class_b(inside_nm: int) -> Decimal:
    _check_length("inside diameter", inside_nm)
    power = _DIGITS.power(Decimal(inside_nm).scaleb(-6), Decimal("0.95"))
    return _DIGITS.add(_DIGITS.multiply(Decimal("0.009"), power), Decimal("0.11"))


def section_tolerance_nm(section_nm: int) -> int:
    """Tolerance on the section of a ring that is in no table, plus and minus. Source: ISO 3601-1, from memory."""
    _check_length("section", section_nm)
    for most, tolerance in _SECTION_TOLERANCES_NM:
        if section_nm <= most:
            return tolerance
    raise DomainError(
        "ring-unreadable",
        f"A section of {_millimetres(section_nm)} mm is thicker than the table of tolerances.",
        section_nm=section_nm,
    )


def tolerances_nm(inside_nm: int, section_nm: int) -> tuple[int, int]:
    """Tolerances of inside diameter and section: of the table's row where the size stands in it, else by the formula."""
    for one in ring_sizes().values():
        if (one.inside_nm, one.section_nm) == (inside_nm, section_nm):
            return one.inside_tolerance_nm, one.section_tolerance_nm
    return class_b_tolerance_nm(inside_nm), section_tolerance_nm(section_nm)


def _check_length(name: str, nm: int) -> None:
    if isinstance(nm, bool) or not isinstance(nm, int) or not 0 < nm <= 10_000_000_000:
        raise DomainError("ring-unreadable", f"A {name} of {shown(nm)} nm is no ring's.", field=name, value=shown(nm))
