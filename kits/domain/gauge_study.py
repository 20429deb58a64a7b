"""How much of what several people read on several parts comes from the gauge and the people: a gauge repeatability study.

Crossed analysis of variance: every person reads every part equally often. All sums are exact fractions. The interaction of parts and
people is always kept as a term of its own (it is never pooled into the repeatability), and an estimate below zero counts as zero, and
says so. Method: analysis of variance with random parts and random operators, as in Montgomery, Design and Analysis of Experiments,
and Burdick, Borror & Montgomery (2003), both from memory; checked in the tests against the study of Houf & Berman (1988).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text

RULE = "crossed analysis of variance, interaction kept, estimates below zero count as zero; spread taken as 6 sigma"
MOST_ROWS = 2000
_MOST_NAMED = 50


@dataclass(frozen=True, slots=True)
class StudyRow:
    """One reading: which part, by whom, the how-manyeth time (from 1), `value` in whole base units."""

    part: str
    operator: str
    repeat: int
    value: int


@dataclass(frozen=True, slots=True)
class Study:
    """The result, exact. Mean squares and variances in squared base units, by name.

    below_zero    names of the estimates that came out below zero and count as zero
    of_study      square of the share that the gauge and the people have in the whole spread
    of_tolerance  square of six sigma of gauge and people over the tolerance; None without a tolerance
    categories    how many kinds of parts the gauge tells apart, floor(1.41 part sigma / gauge sigma); None: no end, the gauge shows
                  no spread at all
    """

    parts: int
    operators: int
    repeats: int
    mean_squares: Mapping[str, Fraction]
    variances: Mapping[str, Fraction]
    below_zero: tuple[str, ...]
    of_study: Fraction
    of_tolerance: Fraction | None
    categories: int | None

    @property
    def verdict(self) -> str:
        """By the share of the tolerance where one was given, else of the study: 10 % or less is good, 30 % or less marginal.

        Source: measure package documentation, common practice.
        """
        share = self.of_study if self.of_tolerance is None else self.of_tolerance
        if share <= Fraction(1, 100):
            return "good"
        return "marginal" if share <= Fraction(9, 100) else "not good enough"


def root_text(square: Fraction, places: int) -> str:
    """The square root as a decimal with so many places, the last one rounded; exact arithmetic of whole numbers."""
    scaled = square * 100**places * 4
    return decimal_text(Fraction((isqrt(scaled.numerator // scaled.denominator) + 1) // 2, 10**places), places)


def percent(square: Fraction) -> str:
    """The root of a squared share as per cent with two places."""
    return root_text(square * 10_000, 2)


def study(rows: Sequence[StudyRow], tolerance: int | None = None) -> Study:
    """Take a balanced crossed study apart. `tolerance`: upper less lower limit, base units above zero.

    Raises DomainError "study-unusable" (fewer than two parts, people or repeats, no tolerance, values that are not whole),
    "study-unbalanced" naming every reading that is missing or there twice.
    """
    _check_rows(rows)
    if tolerance is not None and (isinstance(tolerance, bool) or not isinstance(tolerance, int) or tolerance <= 0):
        raise DomainError("study-unusable", f"{tolerance!r} is no tolerance: it is above zero.", given=repr(tolerance))
    parts = list(dict.fromkeys(row.part for row in rows))
    people = list(dict.fromkeys(row.operator for row in rows))
    repeats = max(row.repeat for row in rows)
    if min(len(parts), len(people), repeats) < 2:
        raise DomainError(
            "study-unusable",
            f"A study needs two parts, two people and two repeats at least; it has {len(parts)}, {len(people)}, {repeats}.",
            parts=len(parts),
            operators=len(people),
            repeats=repeats,
        )
    _check_balance(rows, parts, people, repeats)
    squares = _mean_squares(rows, parts, people, repeats)
    variances, below = _variances(squares, len(parts), len(people), repeats)
    gauge, part, total = variances["gauge"], variances["part"], variances["total"]
    return Study(
        parts=len(parts),
        operators=len(people),
        repeats=repeats,
        mean_squares=squares,
        variances=variances,
        below_zero=below,
        of_study=gauge / total if total else Fraction(0),
        of_tolerance=None if tolerance is None else 36 * gauge / tolerance**2,
        categories=_categories(part, gauge),
    )


def _check_rows(rows: Sequence[StudyRow]) -> None:
    if not rows:
        raise DomainError("study-unusable", "A study has readings.")
    if len(rows) > MOST_ROWS:
        raise DomainError("study-unusable", f"A study has at most {MOST_ROWS} readings.", rows=len(rows))
    for row in rows:
        for number in (row.repeat, row.value):
            if isinstance(number, bool) or not isinstance(number, int):
                raise DomainError("study-unusable", f"{number!r} is not a whole number.", given=repr(number))
        if row.repeat < 1 or not row.part.strip() or not row.operator.strip():
            raise DomainError(
                "study-unusable",
                "Each reading names its part, who read, and its repeat from 1.",
                part=row.part,
                operator=row.operator,
                repeat=row.repeat,
            )


def _check_balance(rows: Sequence[StudyRow], parts: Sequence[str], people: Sequence[str], repeats: int) -> None:
    there = Counter((row.part, row.operator, row.repeat) for row in rows)
    if len(parts) * len(people) * repeats > MOST_ROWS:
        raise DomainError("study-unusable", f"A whole study of these would have more than {MOST_ROWS} readings.")
    wanted = [(part, who, n) for part in parts for who in people for n in range(1, repeats + 1)]
    missing = [cell for cell in wanted if not there[cell]]
    twice = [cell for cell in wanted if there[cell] > 1]
    if missing or twice:
        words = [f"missing: part {p}, {who}, repeat {n}" for p, who, n in missing[:_MOST_NAMED]]
        words += [f"twice: part {p}, {who}, repeat {n}" for p, who, n in twice[:_MOST_NAMED]]
        raise DomainError(
            "study-unbalanced",
            "; ".join(words) + ".",
            ways_out=("Read what is missing, or leave the part or the person out.",),
            missing=[list(cell) for cell in missing],
            twice=[list(cell) for cell in twice],
        )


def _mean_squares(
    rows: Sequence[StudyRow], parts: Sequence[str], people: Sequence[str], repeats: int
) -> dict[str, Fraction]:
    """Mean squares of parts, operators, interaction and repeatability, by the usual sums."""
    by_part: Counter[str] = Counter()
    by_person: Counter[str] = Counter()
    by_cell: Counter[tuple[str, str]] = Counter()
    for row in rows:
        by_part[row.part] += row.value
        by_person[row.operator] += row.value
        by_cell[row.part, row.operator] += row.value
    p, o, n = len(parts), len(people), repeats
    whole = sum(row.value for row in rows)
    middle = Fraction(whole * whole, p * o * n)
    of_parts = Fraction(sum(v * v for v in by_part.values()), o * n) - middle
    of_people = Fraction(sum(v * v for v in by_person.values()), p * n) - middle
    of_cells = Fraction(sum(v * v for v in by_cell.values()), n) - middle
    of_all = sum(row.value * row.value for row in rows) - middle
    return {
        "part": of_parts / (p - 1),
        "operator": of_people / (o - 1),
        "interaction": (of_cells - of_parts - of_people) / ((p - 1) * (o - 1)),
        "repeatability": (of_all - of_cells) / (p * o * (n - 1)),
    }


def _variances(squares: Mapping[str, Fraction], p: int, o: int, n: int) -> tuple[dict[str, Fraction], tuple[str, ...]]:
    raw = {
        "repeatability": squares["repeatability"],
        "operator": (squares["operator"] - squares["interaction"]) / (p * n),
        "interaction": (squares["interaction"] - squares["repeatability"]) / n,
        "part": (squares["part"] - squares["interaction"]) / (o * n),
    }
    below = tuple(name for name, value in raw.items() if value < 0)
    found = {name: max(value, Fraction(0)) for name, value in raw.items()}
    found["reproducibility"] = found["operator"] + found["interaction"]
    found["gauge"] = found["repeatability"] + found["reproducibility"]
    found["total"] = found["gauge"] + found["part"]
    return found, below


def _categories(part: Fraction, gauge: Fraction) -> int | None:
    """floor(1.41 sigma of parts / sigma of gauge and people), by whole numbers."""
    if not gauge:
        return None
    ratio = Fraction(141, 100) ** 2 * part / gauge
    return isqrt(ratio.numerator // ratio.denominator)
