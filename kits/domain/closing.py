"""Closing a joint in time: how long it takes, how long the sealant gives, and when oil may go in.

Times of a sealant come from its product sheet alone, at the bay's temperature and humidity; beyond the sheet no number
is given.
Moisture-cured sealant skins fastest hot and wet, and cures slowest cold and dry.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class ClosingRules:
    """The shop's figures, each may be changed (common practice, not of a standard).

    speed_nm_per_s  how fast a bead is laid (20 mm/s)
    placing_s       setting the cover on its dowels
    bolt_s          one bolt, first pass, single-handed
    fraction        share of the sheet's window within which the joint must be closed
    """

    speed_nm_per_s: int = 20_000_000
    placing_s: int = 45
    bolt_s: int = 7
    fraction: Fraction = Fraction(1, 2)


DEFAULT_CLOSING = ClosingRules()


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """One line of a product sheet: at this temperature and relative humidity, the times in seconds."""

    temperature_mk: int
    humidity_percent: int
    window_s: int
    fill_s: int
    run_s: int


def closing_time_s(length_nm: int, bolts: int, rules: ClosingRules = DEFAULT_CLOSING) -> Fraction:
    """Laying the bead, placing the part, all bolts once: L/v + t_place + n·t_bolt, exact seconds.

    `length_nm` 0 is a joint of dabs alone. Raises DomainError `quantity-negative`.
    """
    if length_nm < 0 or bolts < 0:
        raise DomainError(
            "quantity-negative", "a bead and its bolts are not less than nothing", length_nm=length_nm, bolts=bolts
        )
    return Fraction(length_nm, rules.speed_nm_per_s) + rules.placing_s + bolts * rules.bolt_s


def closing_window_s(sheet: Sequence[SheetEntry], temperature_mk: int, humidity_percent: int) -> int | None:
    """The longest window among the entries at least as hot and at least as humid as the bay; None: outside the
    sheet."""
    return max(
        (
            entry.window_s
            for entry in sheet
            if entry.temperature_mk >= temperature_mk and entry.humidity_percent >= humidity_percent
        ),
        default=None,
    )


def fill_and_run_s(
    sheet: Sequence[SheetEntry], temperature_mk: int, humidity_percent: int
) -> tuple[int | None, int | None]:
    """When oil may go in and when the engine may run: the shortest times among the entries at most as warm and as humid
    as the bay.

    (None, None): colder or drier than every entry, outside the sheet.
    """
    there = [
        entry
        for entry in sheet
        if entry.temperature_mk <= temperature_mk and entry.humidity_percent <= humidity_percent
    ]
    return min((entry.fill_s for entry in there), default=None), min((entry.run_s for entry in there), default=None)


def closes_in_time(time_s: Fraction | int, window_s: int | None, rules: ClosingRules = DEFAULT_CLOSING) -> bool | None:
    """True when the joint is closed within the allowed share of the window; None: outside the sheet, a person must
    sign."""
    return None if window_s is None else time_s <= rules.fraction * window_s
