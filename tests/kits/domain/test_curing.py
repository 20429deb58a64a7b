"""Windows and waits of a product sheet, and closing times, against the demo shop's worked joints and what must hold for any sheet."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.product_sheets import SheetEntry
from kits.domain.curing import (
    ClosingRules,
    check_bay,
    closing,
    closing_time_s,
    closing_window_s,
    waits_s,
)

MM = 1_000_000  # nm
ZERO_CELSIUS_MK = 273_150  # definition of the degree Celsius (SI brochure, 9th edition, 2.3.1)


def entry(celsius: int, percent: int, minutes: int, fill_h: str, run_h: str) -> SheetEntry:
    hours = [int(Fraction(text) * 3600) for text in (fill_h, run_h)]
    return SheetEntry(ZERO_CELSIUS_MK + celsius * 1000, percent * 10, minutes * 60, *hours)


#: The invented product sheet of the demo shop.
SHEET = (
    entry(15, 40, 14, "4", "24"),
    entry(23, 50, 10, "2", "12"),
    entry(30, 60, 8, "1.5", "8"),
    entry(30, 75, 6, "1", "6"),
)


def bay(celsius: int, percent: int) -> tuple[int, int]:
    return ZERO_CELSIUS_MK + celsius * 1000, percent * 10


@pytest.mark.parametrize(
    ("celsius", "percent", "window_min", "fill_h", "run_h"),
    [
        # worked examples of the demo shop: on an entry, and 25 °C / 55 % between entries
        (23, 50, 10, "2", "12"),
        (25, 55, 8, "2", "12"),
        (30, 60, 8, "1.5", "8"),
        (30, 75, 6, "1", "6"),
        (15, 40, 14, "4", "24"),
        # by the rule itself, by hand: warm and dry takes the waits of the cool dry entry; cool and wet the worst window
        (30, 40, 8, "4", "24"),
        (15, 75, 6, "4", "24"),
        (30, 61, 6, "1.5", "8"),
    ],
)
def test_windows_and_waits_of_the_sheet(celsius: int, percent: int, window_min: int, fill_h: str, run_h: str) -> None:
    assert closing_window_s(SHEET, *bay(celsius, percent)) == window_min * 60
    assert waits_s(SHEET, *bay(celsius, percent)) == (int(Fraction(fill_h) * 3600), int(Fraction(run_h) * 3600))


def test_outside_the_sheet_no_number_is_given() -> None:
    assert [closing_window_s(SHEET, *bay(*it)) for it in ((31, 50), (23, 76), (40, 90))] == [None, None, None]
    assert [waits_s(SHEET, *bay(*it)) for it in ((14, 50), (23, 39), (5, 20))] == [None, None, None]
    # one base unit beyond: a millikelvin hotter, a tenth of a percent wetter; colder, drier
    hot, wet = bay(30, 75)
    assert (closing_window_s(SHEET, hot, wet), closing_window_s(SHEET, hot + 1, wet)) == (360, None)
    assert closing_window_s(SHEET, hot, wet + 1) is None
    cold, dry = bay(15, 40)
    assert (waits_s(SHEET, cold - 1, dry), waits_s(SHEET, cold, dry - 1)) == (None, None)
    assert (closing_window_s((), hot, wet), waits_s((), hot, wet)) == (None, None)


#: Joints of the invented demo shop: bead mm, bolts, seconds alone.
JOINTS = [
    ("Alder-4 sump", 1480, 18, "245"),
    ("Alder-4 timing cover", 620, 12, "160"),
    ("Alder-4 rear carrier", 420, 6, "108"),
    ("Rowan-6 sump", 2360, 32, "387"),
    ("Hornbeam-V8 sump", 1720, 22, "285"),
    ("Hornbeam-V8 front cover", 980, 14, "192"),
    ("Hornbeam-V8 liner seat", 305, 2, "74.25"),
    ("Hornbeam-V8 rear cap", 124, 4, "79.2"),
    ("Hornbeam-V8 valley", 0, 12, "129"),
    ("Hornbeam-V8 rocker cover corners", 120, 8, "107"),
    ("Larch-3 sump", 1310, 16, "222.5"),
]


@pytest.mark.parametrize(("joint", "length_mm", "bolts", "seconds"), JOINTS)
def test_closing_times_of_the_demo_shop(joint: str, length_mm: int, bolts: int, seconds: str) -> None:
    assert closing_time_s(length_mm * MM, bolts) == Fraction(seconds)


def _close(celsius: int, percent: int, length_mm: int, bolts: int):
    return closing(SHEET, *bay(celsius, percent), bead_nm=length_mm * MM, bolts=bolts)


def test_in_time_in_a_cool_bay_not_in_a_hot_one() -> None:
    # worked example: 74 + 45 + 126 = 245 s, 300 s allowed at 23 °C / 50 %, 240 s at 30 °C / 60 %; with a helper 191 s
    cool, hot = _close(23, 50, 1480, 18), _close(30, 60, 1480, 18)
    assert (cool.needed_s, cool.allowed_s, cool.in_time(helper=False), cool.needs_helper) == (245, 300, True, False)
    assert (hot.window_s, hot.needed_s, hot.allowed_s, hot.in_time(helper=False)) == (480, 245, 240, False)
    assert (hot.with_helper_s, hot.in_time(helper=True), hot.needs_helper) == (191, True, True)


def test_the_large_sump_needs_a_helper_and_a_cool_bay() -> None:
    # worked example: 387 s alone, 118 + 45 + 128 = 291 s with a helper; 23 °C / 50 % passes, 30 °C does not
    cool, hot = _close(23, 50, 2360, 32), _close(30, 60, 2360, 32)
    assert (cool.needed_s, cool.with_helper_s, cool.needs_helper) == (387, 291, True)
    assert (hot.in_time(helper=True), hot.needs_helper) == (False, False)


def test_outside_the_sheet_nothing_is_in_time() -> None:
    found = _close(31, 50, 0, 1)
    assert (found.window_s, found.allowed_s) == (None, None)
    assert (found.in_time(helper=False), found.in_time(helper=True), found.needs_helper) == (False, False, False)


def test_a_time_on_the_limit_passes() -> None:
    # 10 minutes, half of it 300 s: 45 s + 255 s of bead, and 50 nm (2.5 ns) more
    on = closing(SHEET, *bay(23, 50), bead_nm=255 * 20 * MM, bolts=0)
    over = closing(SHEET, *bay(23, 50), bead_nm=255 * 20 * MM + 50, bolts=0)
    assert (on.in_time(helper=False), over.in_time(helper=False)) == (True, False)


@pytest.mark.parametrize(
    "wrong", [(-1, 500), (400_001, 500), (296_150, -1), (296_150, 1001), (296_150, True), (1.5, 1)]
)
def test_a_bay_without_sense_is_refused(wrong: tuple[int, int]) -> None:
    with pytest.raises(DomainError) as refused:
        check_bay(*wrong)
    assert refused.value.code == "bay-unreadable"


def test_figures_without_sense_are_defects() -> None:
    for length, bolts in ((-1, 0), (0, -1)):
        with pytest.raises(ValueError, match="not negative"):
            closing_time_s(length, bolts)
    for fraction in (Fraction(0), Fraction(11, 10)):
        with pytest.raises(ValueError, match="share of the window"):
            closing(SHEET, *bay(23, 50), bead_nm=0, bolts=0, rules=ClosingRules(fraction=fraction))


ENTRIES = st.builds(
    SheetEntry,
    st.integers(280_000, 310_000),
    st.integers(0, 1000),
    st.integers(1, 1000),
    st.integers(0, 1000),
    st.integers(1000, 2000),
)
BAYS = st.tuples(st.integers(280_000, 310_000), st.integers(0, 1000))


@given(st.lists(ENTRIES, max_size=6), BAYS, st.integers(0, 5000), st.integers(0, 300))
@settings(max_examples=60, deadline=None)
def test_a_hotter_wetter_bay_never_leaves_more_time(
    entries: list[SheetEntry], at: tuple[int, int], hotter: int, wetter: int
) -> None:
    other = at[0] + hotter, min(at[1] + wetter, 1000)
    here, there = closing_window_s(entries, *at), closing_window_s(entries, *other)
    assert there is None or (here is not None and there <= here)
    cool, warm = waits_s(entries, *at), waits_s(entries, *other)
    assert cool is None or (warm is not None and warm[0] <= cool[0] and warm[1] <= cool[1])


@given(st.lists(ENTRIES, min_size=1, max_size=6), BAYS)
@settings(max_examples=60, deadline=None)
def test_numbers_come_from_the_sheet_and_from_nowhere_else(entries: list[SheetEntry], at: tuple[int, int]) -> None:
    """Brute force: every entry is looked at by itself."""
    windows, fills = set(), set()
    for one in entries:
        if not (one.temperature_mk < at[0] or one.humidity_permille < at[1]):
            windows.add(one.window_s)
        if not (one.temperature_mk > at[0] or one.humidity_permille > at[1]):
            fills.add((one.fill_after_s, one.run_after_s))
    found, waits = closing_window_s(entries, *at), waits_s(entries, *at)
    assert found == (sorted(windows)[-1] if windows else None)
    assert waits == (tuple(sorted(column)[0] for column in zip(*fills, strict=True)) if fills else None)


@given(st.integers(0, 5000 * MM), st.integers(0, 60), st.integers(1, MM), st.integers(1, 9))
@settings(max_examples=40, deadline=None)
def test_longer_beads_and_more_bolts_take_longer(length: int, bolts: int, more: int, extra: int) -> None:
    time = closing_time_s(length, bolts)
    assert closing_time_s(length + more, bolts) > time
    assert closing_time_s(length, bolts + extra) > time
    assert closing_time_s(length, bolts, helper=True) <= time
