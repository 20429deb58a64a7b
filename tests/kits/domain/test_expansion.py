"""Sizes at 20 °C: the worked example, whole properties, and what is doubtful without a temperature or a coefficient."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kits.domain.expansion import REFERENCE_MK, WARM_FOR, Corrected, at_reference, corrected, light_pieces, still_warm

STEEL, ALLOY = Fraction("11.5"), Fraction(22)
PPM = {"block": ALLOY, "crank": STEEL, "liner": Fraction(11)}


def mk(celsius: int) -> int:
    """Degrees Celsius as millikelvin."""
    return REFERENCE_MK + 1000 * (celsius - 20)


@pytest.mark.parametrize(("gauge", "shift_um"), [(31, "10.7"), (25, "17.2"), (20, "22.5")])
def test_a_warm_alloy_block(gauge: int, shift_um: str) -> None:
    # Worked example of the demo shop: 92.972 read with the block at 31 °C, alloy 22, steel gauge 11.5 parts per million: the size at
    # 20 °C is smaller by 10.7, 17.2 and 22.5 µm, by how warm the gauge is.
    found = at_reference(92_972_000, mk(31), mk(gauge), ALLOY, STEEL)
    assert round((92_972_000 - found) / 1000, 1) == Fraction(shift_um)


@given(st.integers(1, 10**9), st.integers(-40, 90), st.integers(-40, 90))
def test_at_20_degrees_nothing_moves_and_equal_growth_cancels(length: int, part: int, gauge: int) -> None:
    assert at_reference(length, mk(20), mk(20), ALLOY, STEEL) == length
    assert at_reference(length, mk(part), mk(part), STEEL, STEEL) == length
    warmer = at_reference(length, mk(part + 1), mk(gauge), ALLOY, STEEL)
    assert warmer < at_reference(length, mk(part), mk(gauge), ALLOY, STEEL)


def test_it_is_rounded_once() -> None:
    # 60.000 mm at 31 °C, gauge at 20 °C, 22 parts per million: 60 · 22e-6 · 11 = 0.01452 mm, by hand.
    found = corrected("housing-bore", 60_000_000, mk(31), mk(20), STEEL, PPM, frozenset({"block"}))
    assert found == Corrected(60_000_000 - 14_520, -14_520)


MISSING = "the temperature of part or gauge is missing"
UNKNOWN = "no coefficient of expansion of part or gauge is on record"


@pytest.mark.parametrize(
    ("what", "part", "gauge", "gauge_ppm", "doubt"),
    [
        ("housing-bore", None, None, STEEL, f"block: {MISSING}"),
        ("housing-bore", 31, None, STEEL, f"block: {MISSING}"),
        ("housing-bore", None, 20, STEEL, f"block: {MISSING}"),
        ("housing-bore", 31, 31, None, f"block: {UNKNOWN}"),
        ("housing-bore", 20, 20, None, ""),
        ("journal-diameter", None, None, STEEL, ""),  # steel with a steel gauge, both as warm as the shop
        ("journal-diameter", 40, None, STEEL, f"crank: {MISSING}"),
        ("piston-diameter", None, None, STEEL, f"piston: {MISSING}"),
        ("piston-diameter", 22, 22, STEEL, f"piston: {UNKNOWN}"),  # the family states none for it
        ("ring-gap", None, None, None, ""),
        ("piston-projection", 31, None, None, ""),
    ],
)
def test_what_is_doubtful(
    what: str, part: int | None, gauge: int | None, gauge_ppm: Fraction | None, doubt: str
) -> None:
    at = [None if celsius is None else mk(celsius) for celsius in (part, gauge)]
    found = corrected(what, 50_000_000, at[0], at[1], gauge_ppm, PPM, frozenset({"block", "piston"}))
    assert found == Corrected(50_000_000, 0, doubt)


def test_light_alloy() -> None:
    # Iron and steel 10 to 12, aluminium alloys 19 to 24 parts per million and kelvin: common practice.
    assert light_pieces({}, "iron") == {"piston"}
    assert light_pieces({}, "alloy") == {"piston", "block"}
    assert light_pieces({"block": Fraction(11), "piston": Fraction("11.5")}, "alloy") == set()
    assert light_pieces({"block": ALLOY, "liner": Fraction(19)}, "") == {"block", "liner", "piston"}


WASHED = datetime(2025, 1, 20, 10, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("what", "temperatures", "after", "piece"),
    [
        ("block-depth", (None, None), WARM_FOR, "block"),
        ("block-depth", (None, None), WARM_FOR + timedelta(microseconds=1), ""),
        ("block-depth", (None, None), timedelta(microseconds=-1), ""),
        ("block-depth", (mk(45), None), timedelta(hours=1), "block"),
        ("block-depth", (mk(45), mk(20)), timedelta(hours=1), ""),
        # The crank is of steel, the liner was not washed, and a weight grows with nothing.
        ("journal-diameter", (None, None), timedelta(hours=1), ""),
        ("bore-diameter", (None, None), timedelta(hours=1), ""),
        ("weight", (None, None), timedelta(hours=1), ""),
    ],
)
def test_light_alloy_is_asked_about_for_four_hours_after_its_hot_wash(what, temperatures, after, piece):
    """Common practice: an alloy block comes out of the hot wash at some 45 °C and is gauged when it has cooled."""
    washed = {"block": [WASHED - timedelta(days=1), WASHED], "crank": [WASHED]}
    assert still_warm(what, temperatures, {"block"}, washed, WASHED + after) == piece
