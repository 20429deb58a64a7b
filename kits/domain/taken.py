"""Readings taken together: what each thing that was read comes to, and why it may not decide a pass.

Repeats of one thing stand for one value (`agreed`). A reading that may decide goes before one that may not: what was read again with a
gauge in date is not spoilt by what was read before with one that was not. Only where none may decide do the others count, and then the
result is doubtful at best.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.allowance import combined
from kits.domain.expansion import Corrected, corrected
from kits.domain.readings import WHAT, agreed


@dataclass(frozen=True, slots=True)
class Read:
    """One reading that counts, of a length. See `ReadingRow` of the queries; `gauge_ppm`: expansion of the gauge, None: unknown."""

    id: int
    what: str
    place: str
    set: str
    point: str
    value_nm: int
    shown: str
    uncertainty_nm: int
    gauge: str
    gauge_ppm: Fraction | None
    part_mk: int | None
    gauge_mk: int | None
    clamped: bool | None
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Taken:
    """One thing that was read, at 20 °C. doubts  why it may not decide a pass; said  its readings as they are kept with a result."""

    what: str
    place: str
    point: str
    value_nm: int
    uncertainty_nm: int
    ids: tuple[int, ...]
    doubts: tuple[str, ...]
    said: tuple[Mapping[str, Any], ...]
    clamped: bool


@dataclass(frozen=True, slots=True)
class Growth:
    """What is known of how pieces grow with heat: coefficients per kelvin, and which pieces are of light alloy."""

    ppm: Mapping[str, Fraction]
    light: frozenset[str]


def take(reads: Iterable[Read], growth: Growth) -> tuple[Taken, ...]:
    """The readings by what was read where at which point, in the order in which they first came.

    Raises DomainError "readings-disagree" where repeats differ by more than their gauges allow: a third is read.
    """
    groups: dict[tuple[str, str, str], list[Read]] = {}
    for one in reads:
        groups.setdefault((one.what, one.place, one.point), []).append(one)
    return tuple(_taken(rows, growth) for rows in groups.values())


def _taken(rows: Sequence[Read], growth: Growth) -> Taken:
    first = rows[0]
    at20 = [
        corrected(row.what, row.value_nm, row.part_mk, row.gauge_mk, row.gauge_ppm, growth.ppm, growth.light)
        for row in rows
    ]
    pairs = list(zip(rows, at20, strict=True))
    good = [pair for pair in pairs if not _doubts(*pair)]
    counting = good or pairs
    uncertainty = max(row.uncertainty_nm for row, _ in counting)
    found = agreed([one.value_nm for _, one in counting], combined([uncertainty]))
    where = " ".join(text for text in (WHAT[first.what].text, first.place, first.point) if text)
    if found.value is None:
        raise DomainError(
            "readings-disagree",
            f"{where}: two readings differ by more than their gauge allows."
            if found.count == 2
            else f"{where}: the newest reading is off the others by more than its gauge allows.",
            ways_out=("Read it once more.", "Withdraw what was read wrongly, or enter what was cut since."),
            what=first.what,
            place=first.place,
            point=first.point,
            spread_nm=found.spread,
            readings=[row.id for row, _ in counting],
        )
    return Taken(
        what=first.what,
        place=first.place,
        point=first.point,
        value_nm=found.value,
        uncertainty_nm=uncertainty,
        ids=tuple(row.id for row, _ in counting),
        doubts=tuple(dict.fromkeys(doubt for pair in counting for doubt in _doubts(*pair))),
        said=tuple(_said(row, one) for row, one in counting),
        clamped=all(row.clamped is True for row, _ in counting),
    )


def _doubts(row: Read, at20: Corrected) -> tuple[str, ...]:
    return row.marks + ((at20.doubt,) if at20.doubt else ())


def _said(row: Read, at20: Corrected) -> dict[str, Any]:
    return {
        "id": row.id,
        "what": row.what,
        "place": row.place,
        "set": row.set,
        "point": row.point,
        "shown": row.shown,
        "gauge": row.gauge,
        "correction_nm": at20.shift_nm,
        "at_20_nm": at20.value_nm,
        "doubts": list(_doubts(row, at20)),
    }


def of(taken: Iterable[Taken], what: str, places: Sequence[str] = ()) -> tuple[Taken, ...]:
    """Those of one kind, at these places (empty: wherever)."""
    return tuple(one for one in taken if one.what == what and (not places or one.place in places))


def missing(what: Sequence[str], where: str) -> DomainError:
    """The refusal of a result that lacks readings."""
    words = ", ".join(WHAT[one].text for one in what)
    return DomainError("readings-missing", f"{where}: not read yet: {words}.", what=list(what), place=where)


def allowance_of(taken: Iterable[Taken]) -> int:
    """U of a value that is computed from these: the least certain gauge of each kind of reading counts once."""
    worst: dict[str, int] = {}
    for one in taken:
        worst[one.what] = max(worst.get(one.what, 0), one.uncertainty_nm)
    return combined(worst.values())


def doubts_of(taken: Iterable[Taken]) -> tuple[str, ...]:
    """Every doubt about these, each once."""
    return tuple(dict.fromkeys(doubt for one in taken for doubt in one.doubts))
