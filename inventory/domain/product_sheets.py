"""The product sheet of a sealant: how it cures, and its table of times by temperature and humidity of the bay.

Temperatures are whole millikelvin, relative humidities whole tenths of a percent, times whole seconds. What the safety data
sheet and the maker of the engine say comes first.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension

#: 100 % relative humidity in tenths of a percent.
SATURATED = 1000
#: How a sealant sets: silicone by moisture (RTV), an anaerobic one between metal faces without air, a coating by drying.
MOISTURE, NO_AIR, DRYING = "moisture of the air", "absence of air", "drying"
CURES = (MOISTURE, NO_AIR, DRYING)
MOST_ENTRIES = 100

_PERCENT = re.compile(r"([0-9]{1,3})(?:\.([0-9]))? ?%")


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """One row of a product sheet's table: so warm and so humid, close within, fill with oil after, run the engine after."""

    temperature_mk: int
    humidity_permille: int
    window_s: int
    fill_after_s: int
    run_after_s: int


def read_humidity(text: str) -> int:
    """`50 %` or `52.5 %` in tenths of a percent; DomainError "bay-unreadable"."""
    found = _PERCENT.fullmatch(text.strip())
    tenths = int(found[1]) * 10 + int(found[2] or 0) if found else SATURATED + 1
    if tenths > SATURATED:
        raise DomainError("bay-unreadable", f"{text[:40]!r} is no relative humidity, as in 50 %.", typed=text[:40])
    return tenths


def read_temperature(text: str) -> int:
    """`23 °C` in millikelvin; the errors of a typed amount."""
    return read_amount(text, Dimension.TEMPERATURE).amount


def read_entries(rows: Sequence[Mapping[str, str]]) -> tuple[SheetEntry, ...]:
    """A typed table: temperature, humidity, window, fill_after, run_after, each a text with its unit.

    Raises DomainError "sheet-unusable", "bay-unreadable", the errors of a typed amount.
    """
    if len(rows) > MOST_ENTRIES:
        raise DomainError("sheet-unusable", f"A sheet has {MOST_ENTRIES} entries at most.", entries=len(rows))
    entries = tuple(
        SheetEntry(
            read_temperature(row["temperature"]),
            read_humidity(row["humidity"]),
            *(read_amount(row[name], Dimension.TIME).amount for name in ("window", "fill_after", "run_after")),
        )
        for row in rows
    )
    check_entries(entries)
    return entries


def check_entries(entries: Sequence[SheetEntry]) -> None:
    """DomainError "sheet-unusable": a value that makes no sense, or one bay that two entries speak of."""
    for entry in entries:
        _refuse_nonsense(entry)
    bays = [(entry.temperature_mk, entry.humidity_permille) for entry in entries]
    twice = next((bay for bay in bays if bays.count(bay) > 1), None)
    if twice is not None:
        raise DomainError(
            "sheet-unusable",
            "Two entries speak of one temperature and humidity.",
            temperature_mk=twice[0],
            humidity_permille=twice[1],
        )


def _refuse_nonsense(entry: SheetEntry) -> None:
    values: dict[str, Any] = {
        "temperature_mk": entry.temperature_mk, "humidity_permille": entry.humidity_permille, "window_s": entry.window_s,
        "fill_after_s": entry.fill_after_s, "run_after_s": entry.run_after_s,
    }  # fmt: skip
    for name, value in values.items():
        if not isinstance(value, int) or isinstance(value, bool) or value < 0 or (value == 0 and name == "window_s"):
            raise DomainError("sheet-unusable", f"{name.replace('_', ' ')} of an entry makes no sense.", **values)
    if entry.humidity_permille > SATURATED:
        raise DomainError("sheet-unusable", "Air holds no more than 100 % of its moisture.", **values)
    if entry.run_after_s < entry.fill_after_s:
        raise DomainError("sheet-unusable", "An entry lets the engine run before it may be filled.", **values)


def check_sheet(cures_by: str, edition: str, density_mg_per_ml: int | None, open_days: int | None) -> None:
    """DomainError "sheet-unusable": an unknown way of curing, no edition and page, a nonsense number."""
    if cures_by not in CURES:
        raise DomainError("sheet-unusable", f"It cures by one of: {', '.join(CURES)}.", cures_by=cures_by[:60])
    if not edition.strip():
        raise DomainError("sheet-unusable", "Which sheet is it? Name it with its edition and page.", edition=edition)
    for name, value, most in (("density", density_mg_per_ml, 30_000), ("open life", open_days, 10_000)):
        if value is not None and not (type(value) is int and 0 < value <= most):
            raise DomainError("sheet-unusable", f"{name} {value} makes no sense.", name=name, value=value)


def density_of(text: str) -> int:
    """`1.32 g/mL` or `1320 mg/mL` in whole milligrams to the millilitre; DomainError "sheet-unusable"."""
    found = re.fullmatch(r"([0-9]{1,5}(?:\.[0-9]{1,4})?) ?(g|mg)/mL", text.strip())
    exact = Fraction(found[1]) * (1000 if found[2] == "g" else 1) if found else Fraction(1, 2)
    if exact.denominator != 1:
        raise DomainError("sheet-unusable", f"{text[:40]!r} is no density, as in 1.32 g/mL.", typed=text[:40])
    return int(exact)
