"""Closing in time: the demo shop's joints and its invented product sheet."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.domain.errors import DomainError
from kits.domain.closing import (
    ClosingRules,
    SheetEntry,
    closes_in_time,
    closing_time_s,
    closing_window_s,
    fill_and_run_s,
)

MM = 1_000_000
#: Invented sheet of the demo shop's RTV: °C, % humidity, window min, fill h, run h.
SHEET = [
    SheetEntry(celsius * 1000 + 273_150, humidity, int(window * 60), int(fill * 3600), int(run * 3600))
    for celsius, humidity, window, fill, run in (
        (15, 40, 14, 4, 24),
        (23, 50, 10, 2, 12),
        (30, 60, 8, 1.5, 8),
        (30, 75, 6, 1, 6),
    )
]


def _bay(celsius: int) -> int:
    return celsius * 1000 + 273_150


@pytest.mark.parametrize(
    ("joint", "length_mm", "bolts", "seconds"),
    [
        ("Alder-4 sump", 1480, 18, "245"),
        ("Alder-4 timing cover", 620, 12, "160"),
        ("Alder-4 rear carrier", 420, 6, "108"),
        ("Rowan-6 sump", 2360, 32, "387"),
        ("Hornbeam-V8 sump", 1720, 22, "285"),
        ("Hornbeam-V8 front cover", 980, 14, "192"),
        ("Hornbeam-V8 liner seat", 305, 2, "74.25"),
        ("Hornbeam-V8 rear cap", 124, 4, "79.2"),
        ("Hornbeam-V8 valley corners", 0, 12, "129"),
        ("Hornbeam-V8 rocker cover corners", 120, 8, "107"),
        ("Larch-3 sump", 1310, 16, "222.5"),
    ],
)
def test_closing_times_of_the_demo_shop_s_joints(joint: str, length_mm: int, bolts: int, seconds: str) -> None:
    assert closing_time_s(length_mm * MM, bolts) == Fraction(seconds), joint


def test_the_sump_at_two_temperatures() -> None:
    # worked example of the demo shop: 245 s against half of ten minutes passes, against half of eight (30 °C) does not
    time_s = closing_time_s(1480 * MM, 18)
    assert closes_in_time(time_s, closing_window_s(SHEET, _bay(23), 50)) is True
    assert closes_in_time(time_s, closing_window_s(SHEET, _bay(30), 60)) is False
    assert closes_in_time(300, 600) is True and closes_in_time(301, 600) is False


def test_a_helper_makes_the_long_sump_possible() -> None:
    # worked example of the demo shop: 387 s alone; 118 + 45 + 128 = 291 s with a helper, at 23 °C but not at 30 °C
    alone, helped = closing_time_s(2360 * MM, 32), closing_time_s(2360 * MM, 32, ClosingRules(bolt_s=4))
    assert (alone, helped) == (387, 291)
    assert [closes_in_time(time_s, closing_window_s(SHEET, _bay(23), 50)) for time_s in (alone, helped)] == [
        False,
        True,
    ]
    assert closes_in_time(helped, closing_window_s(SHEET, _bay(30), 60)) is False


def test_a_bay_between_the_entries() -> None:
    # worked example of the demo shop: 25 °C, 55 %: window 8 min (30/60), fill after 2 h and run after 12 h (23/50)
    assert closing_window_s(SHEET, _bay(25), 55) == 480
    assert fill_and_run_s(SHEET, _bay(25), 55) == (7200, 43_200)


def test_outside_the_sheet_no_number_is_given() -> None:
    assert closing_window_s(SHEET, _bay(31), 50) is None  # hotter than every entry
    assert closing_window_s(SHEET, _bay(20), 76) is None  # more humid than every entry
    assert fill_and_run_s(SHEET, _bay(14), 50) == (None, None)  # colder than every entry
    assert fill_and_run_s(SHEET, _bay(23), 39) == (None, None)  # drier than every entry
    assert closes_in_time(10, None) is None
    assert closing_window_s([], _bay(23), 50) is None


def test_less_than_nothing_is_refused() -> None:
    for length_nm, bolts in ((-1, 3), (1, -3)):
        with pytest.raises(DomainError) as caught:
            closing_time_s(length_nm, bolts)
        assert caught.value.code == "quantity-negative"
