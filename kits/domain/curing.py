"""How long a sealed joint stays open: the product sheet's window, the time that closing takes, and when to fill and to start.

Temperatures are whole millikelvin, relative humidities whole tenths of a percent, times of a sheet whole seconds. What a
person needs to close a joint is an exact fraction of seconds.

Skinning is worst hot and wet, curing is slowest cold and dry. So the window is the longest among the sheet's entries that are
at least as hot and at least as humid as the bay, and the waits are the shortest among those at most as warm and at most as
humid. Where there is no such entry the bay is outside the sheet: no number is given, none is made up between entries.

Caution to show beside this: the sheet of the product in hand, its safety data sheet and the engine maker's manual come first;
ventilate, gloves, no naked flame while it cures.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import SATURATED, SheetEntry


@dataclass(frozen=True, slots=True)
class ClosingRules:
    """The shop's figures; each shop times its own people (common practice, not of a standard).

    bead_nm_per_s   speed at which a bead is laid
    placing_s       putting the cover on and finding the holes
    bolt_s, bolt_with_helper_s   first pass over one bolt, alone and with a second driver
    fraction        of the window that closing may take
    """

    bead_nm_per_s: int = 20_000_000
    placing_s: int = 45
    bolt_s: int = 7
    bolt_with_helper_s: int = 4
    fraction: Fraction = Fraction(1, 2)


DEFAULT_RULES = ClosingRules()


def check_bay(temperature_mk: int, humidity_permille: int) -> None:
    """DomainError "bay-unreadable": no temperature or humidity of air."""
    for name, value, most in (
        ("temperature_mk", temperature_mk, 400_000),
        ("humidity_permille", humidity_permille, SATURATED),
    ):
        if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= most:
            raise DomainError(
                "bay-unreadable", f"The bay's {name.split('_')[0]} makes no sense.", what=name, value=value
            )


def closing_window_s(entries: Iterable[SheetEntry], temperature_mk: int, humidity_permille: int) -> int | None:
    """The window to close: the longest of the entries at least as hot and at least as humid as the bay, in seconds.

    None: hotter or wetter than every entry, outside the sheet. DomainError "bay-unreadable".
    """
    check_bay(temperature_mk, humidity_permille)
    worse = [
        entry.window_s
        for entry in entries
        if entry.temperature_mk >= temperature_mk and entry.humidity_permille >= humidity_permille
    ]
    return max(worse, default=None)


def waits_s(entries: Iterable[SheetEntry], temperature_mk: int, humidity_permille: int) -> tuple[int, int] | None:
    """(fill after, run after): the shortest of the entries at most as warm and at most as humid as the bay, in seconds.

    None: colder or drier than every entry, outside the sheet. DomainError "bay-unreadable".
    """
    check_bay(temperature_mk, humidity_permille)
    slower = [
        entry
        for entry in entries
        if entry.temperature_mk <= temperature_mk and entry.humidity_permille <= humidity_permille
    ]
    if not slower:
        return None
    return min(entry.fill_after_s for entry in slower), min(entry.run_after_s for entry in slower)


def closing_time_s(bead_nm: int, bolts: int, *, helper: bool = False, rules: ClosingRules = DEFAULT_RULES) -> Fraction:
    """What closing a joint takes: length / speed + placing + bolts × time of a bolt; dabs count as no length.

    bead_nm  length of all beads of the joint, loops round bolt holes included
    """
    if bead_nm < 0 or bolts < 0 or rules.bead_nm_per_s <= 0:
        raise ValueError("lengths and numbers of bolts are not negative, and a bead is laid at some speed")
    bolt_s = rules.bolt_with_helper_s if helper else rules.bolt_s
    return Fraction(bead_nm, rules.bead_nm_per_s) + rules.placing_s + bolts * bolt_s


@dataclass(frozen=True, slots=True)
class Closing:
    """A joint's time against the window of this bay.

    window_s, allowed_s   None: outside the sheet
    needed_s, with_helper_s   alone, and with a second driver
    """

    window_s: int | None
    allowed_s: Fraction | None
    needed_s: Fraction
    with_helper_s: Fraction

    def in_time(self, helper: bool) -> bool:
        """Whether it can be closed in time; never outside the sheet."""
        return self.allowed_s is not None and (self.with_helper_s if helper else self.needed_s) <= self.allowed_s

    @property
    def needs_helper(self) -> bool:
        """Too long alone, in time with a helper."""
        return not self.in_time(helper=False) and self.in_time(helper=True)


def closing(
    entries: Iterable[SheetEntry],
    temperature_mk: int,
    humidity_permille: int,
    *,
    bead_nm: int,
    bolts: int,
    rules: ClosingRules = DEFAULT_RULES,
) -> Closing:
    """A joint of these beads and bolts in this bay. DomainError "bay-unreadable"."""
    if not 0 < rules.fraction <= 1:
        raise ValueError("closing takes a share of the window: more than nothing, the whole at most")
    window = closing_window_s(entries, temperature_mk, humidity_permille)
    return Closing(
        window,
        None if window is None else rules.fraction * window,
        closing_time_s(bead_nm, bolts, rules=rules),
        closing_time_s(bead_nm, bolts, helper=True, rules=rules),
    )
