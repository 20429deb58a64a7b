"""Repeats that agree or do not, what a reading may decide, and what was likely meant."""

from __future__ import annotations

from fractions import Fraction
from statistics import median

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.quantities import parse_quantity, read_amount
from inventory.domain.units import Dimension
from kits.domain.readings import (
    LINER_READINGS,
    MEASURE_AGAIN,
    WHAT,
    Band,
    Conditions,
    agreed,
    check_point,
    likely_meant,
    marks,
    never_used,
)

DRY = Conditions(clean=True, clamped=True, without_rubber=True)


@pytest.mark.parametrize(
    ("values", "allowance", "value", "how"),
    [
        ([93_035_000], 0, 93_035_000, "one reading"),
        ([93_030_000, 93_040_000], 10_000, 93_035_000, "mean of two"),  # differ by U exactly: agreed
        ([93_030_000, 93_040_001], 10_000, None, MEASURE_AGAIN),  # one nanometre more is not
        ([93_030_000, 93_040_001, 93_039_000], 10_000, 93_039_000, "median of 3"),
        ([93_030_000, 99_000_000, 93_031_000], 10_000, 93_031_000, "median of 3"),
        ([1, 2], 1, 2, "mean of two"),  # 1.5 rounds to the even 2
        ([2, 3], 1, 2, "mean of two"),
        ([4, 1, 3, 2], 0, 2, "median of 4"),
        ([-5, -9], 4, -7, "mean of two"),
    ],
)
def test_repeats(values, allowance, value, how):
    found = agreed(values, allowance)
    assert (found.value, found.how, found.count, found.spread) == (value, how, len(values), max(values) - min(values))


@given(st.lists(st.integers(-(10**9), 10**9), min_size=3, max_size=9), st.integers(0, 10**6))
@settings(max_examples=60, deadline=None)
def test_three_or_more_give_the_median_where_the_newest_agrees(values, allowance):
    # the standard library's median is the twin
    twin = round(median(Fraction(value) for value in values))
    assert agreed(values, allowance).value == (twin if abs(values[-1] - twin) <= allowance else None)
    # what came before it counts in whatever order
    assert agreed([*sorted(values[:-1]), values[-1]], allowance) == agreed(values, allowance)
    assert agreed([*values, values[-1], twin], 2 * 10**9).value is not None


def test_what_is_read_last_is_not_outvoted_by_what_was_there_before():
    # a seat 93.000 mm deep, read twice, then once more after 0.070 mm was cut off it; U = 0.010 mm
    before, after = [93_000_000, 93_002_000], 93_072_000
    assert agreed([*before, after], 10_000).how == MEASURE_AGAIN
    # a slip is outvoted once two agree
    assert agreed([93_000_000, after, 93_002_000], 10_000).value == 93_002_000
    # on the allowance it agrees, one nanometre beyond it does not
    assert agreed([*before, 93_012_000], 10_000).value == 93_002_000
    assert agreed([*before, 93_012_001], 10_000).value is None


@pytest.mark.parametrize("values", [[], [1.0], [True], ["1"], [float("nan")], [None, 1]])
def test_values_that_are_none(values):
    with pytest.raises(DomainError) as caught:
        agreed(values, 1)
    assert caught.value.code == "reading-unusable"


@pytest.mark.parametrize("allowance", [-1, 0.5, True])
def test_an_allowance_that_is_none(allowance):
    with pytest.raises(DomainError) as caught:
        agreed([1, 2], allowance)
    assert caught.value.code == "reading-unusable"


@pytest.mark.parametrize(
    ("what", "conditions", "state", "clamp", "said"),
    [
        ("liner-height", DRY, "in date", True, ()),
        ("liner-height", DRY, "out of date", False, ("gauge out of date",)),
        ("liner-height", Conditions(True, None, True), "in date", False, ()),
        ("protrusion", Conditions(True, None, True), "in date", True, ("nobody said whether it was clamped",)),
        ("protrusion", Conditions(True, False, True), "in date", True, ("not clamped",)),
        # A liner on the bench, its flange, and the seat in an empty block are read by themselves.
        ("liner-height", Conditions(True, None, True), "in date", True, ()),
        ("flange-thickness", Conditions(True, False, True), "in date", True, ()),
        ("counterbore-depth", Conditions(True, None, True), "in date", True, ()),
        ("liner-height", Conditions(True, True, False), "in date", False, ("rubber rings were on",)),
        ("block-depth", Conditions(False, True, True), "in date", False, ("not clean",)),
        (
            "protrusion",
            Conditions(),
            "never calibrated",
            False,
            ("gauge never calibrated", "nobody said whether rubber rings were on", "nobody said whether it was clean"),
        ),
        ("ring-gap", Conditions(), "in date", True, ()),
        ("ring-gap", Conditions(), "withdrawn", False, ("gauge withdrawn",)),
    ],
)
def test_what_a_reading_may_not_decide(what, conditions, state, clamp, said):
    assert marks(what, conditions, state, clamp) == said


def test_a_liner_with_its_rings_on_is_never_computed_with():
    rings_on = Conditions(without_rubber=False)
    assert {what for what in WHAT if never_used(what, rings_on)} == LINER_READINGS
    assert not any(never_used(what, Conditions()) or never_used(what, DRY) for what in WHAT)


#: 93.030 mm ± 0.020 mm of the demo shop's bottom-ledge engine, 2 % wider.
BAND = Band(91_149_800, 94_911_000, "liner height")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        # the two slips of the demo shop: the decimal point, and inches in a field of millimetres (3.66 × 25.4 = 92.964)
        ("9.30 mm", [("93.0 mm", 93_000_000, "decimal point")]),
        ("3.66 mm", [("3.66 in", 92_964_000, "in for mm")]),
        ("9303 mm", [("93.03 mm", 93_030_000, "decimal point")]),
        ("93.03 in", [("93.03 mm", 93_030_000, "mm for in")]),
        ("9.303 mm", [("93.03 mm", 93_030_000, "decimal point")]),  # 9.303 cm would be the same
        ("50 mm", []),
        ("39.0 mm", []),
    ],
)
def test_what_was_likely_meant(typed, meant):
    found = likely_meant(parse_quantity(typed), BAND)
    assert [(one.text, one.value, one.slip) for one in found] == meant
    # each offer is read back to the same value
    assert [read_amount(one.text, Dimension.LENGTH).amount for one in found] == [one.value for one in found]


def test_a_band_includes_its_ends():
    assert [BAND.holds(n) for n in (BAND.low - 1, BAND.low, BAND.high, BAND.high + 1)] == [False, True, True, False]


def test_lengths_weights_and_what_may_lie_below_the_deck():
    assert {code for code, what in WHAT.items() if what.dimension is Dimension.MASS} == {"weight"}
    assert {code for code, what in WHAT.items() if what.below_zero} == {"protrusion", "piston-projection"}


@pytest.mark.parametrize(
    ("what", "point", "rings"),
    [
        ("liner-height", "13", ()),
        ("liner-height", "top", ()),
        ("seat-cupping", "0", ()),
        ("ring-gap", "third", ("top", "second", "oil")),
        ("ring-gap", "Top", ("top", "second", "oil")),
        ("ring-gap", "", ("top", "second", "oil")),
    ],
)
def test_a_point_that_nothing_of_the_kind_has_is_refused(what, point, rings):
    with pytest.raises(DomainError) as caught:
        check_point(what, point, rings)
    assert (caught.value.code, caught.value.values["given"]) == ("reading-unusable", point)
    assert all(ring in caught.value.message for ring in rings)


@pytest.mark.parametrize(
    ("what", "point", "rings"),
    [
        ("liner-height", "12", ()),
        ("liner-height", "", ()),
        ("ring-gap", "top", ("top",)),
        ("ring-gap", "fire", ()),
        ("bore-diameter", "top/across", ("top",)),
    ],
)
def test_every_other_point_is_kept_as_it_is(what, point, rings):
    assert check_point(what, point, rings) is None
