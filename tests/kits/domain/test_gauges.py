"""The register's facts, and how a gauge stands on a day."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.units import Dimension
from kits.domain.gauges import (
    FAILED,
    FOUND_WRONG,
    IN_DATE,
    NOT_CALIBRATED,
    OUT_OF_DATE,
    WITHDRAWN,
    Calibrated,
    check_dates,
    expansion,
    read_gauge,
    standing,
)

DONE, DUE = date(2024, 6, 3), date(2025, 6, 2)
ONE = Calibrated(DONE, DUE, passed=True)
FAULTY = Calibrated(date(2024, 9, 1), date(2025, 9, 1), passed=False)
AGAIN = Calibrated(date(2024, 9, 5), date(2025, 9, 4), passed=True, uncertainty=4_000)


@pytest.mark.parametrize(
    ("calibrations", "day", "state", "due", "uncertainty"),
    [
        ([], DONE, NOT_CALIBRATED, None, 3_000),
        ([ONE], date(2024, 6, 2), NOT_CALIBRATED, None, 3_000),
        ([ONE], DONE, IN_DATE, DUE, 3_000),  # the day itself counts, at both ends
        ([ONE], DUE, IN_DATE, DUE, 3_000),
        ([ONE], date(2025, 6, 3), OUT_OF_DATE, DUE, 3_000),
        # nobody knows since when it was wrong (common practice: results since the last good calibration are looked at again)
        ([ONE, FAULTY], date(2024, 8, 31), FOUND_WRONG, DUE, 3_000),
        ([ONE, FAULTY, AGAIN], DONE, FOUND_WRONG, DUE, 3_000),
        ([ONE, AGAIN, FAULTY], DONE, FOUND_WRONG, DUE, 3_000),
        ([ONE, FAULTY], date(2024, 6, 2), NOT_CALIBRATED, None, 3_000),
        # the next one was passed: what failed later says nothing of it
        ([ONE, Calibrated(date(2024, 8, 1), DUE, True), FAULTY], DONE, IN_DATE, DUE, 3_000),
        # corrected on the same day: the later entry counts
        ([ONE, FAULTY, Calibrated(FAULTY.done_on, DUE, True)], DONE, IN_DATE, DUE, 3_000),
        ([ONE, FAULTY], date(2024, 9, 1), FAILED, date(2025, 9, 1), 3_000),
        ([ONE, FAULTY, AGAIN], date(2024, 9, 5), IN_DATE, date(2025, 9, 4), 4_000),
        ([AGAIN, ONE], date(2024, 9, 5), IN_DATE, date(2025, 9, 4), 4_000),  # entered late: still the older one
        ([AGAIN, ONE], date(2024, 7, 1), IN_DATE, DUE, 3_000),
        (
            [FAULTY, Calibrated(date(2024, 9, 1), DUE, True)],
            date(2024, 9, 2),
            IN_DATE,
            DUE,
            3_000,
        ),  # same day: later entry
    ],
)
def test_in_date_by_the_newest_calibration_up_to_the_day(calibrations, day, state, due, uncertainty):
    found = standing(3_000, calibrations, day)
    assert (found.state, found.next_due, found.uncertainty) == (state, due, uncertainty)
    assert found.in_date == (state == IN_DATE)


def test_a_withdrawn_gauge_counts_until_the_day_before():
    days = [date(2024, 7, 9), date(2024, 7, 10), date(2024, 7, 11)]
    assert [standing(1, [ONE], day, date(2024, 7, 10)).state for day in days] == [IN_DATE, WITHDRAWN, WITHDRAWN]


DAYS = st.dates(date(2024, 1, 1), date(2024, 3, 1))


@given(st.lists(st.tuples(DAYS, DAYS), max_size=6), DAYS)
@settings(max_examples=80, deadline=None)
def test_the_twin_that_sorts(pairs, day):
    rows = [Calibrated(min(pair), max(pair), True) for pair in pairs]
    before = sorted((row for row in rows if row.done_on <= day), key=lambda row: row.done_on)
    state = NOT_CALIBRATED if not before else IN_DATE if before[-1].next_due >= day else OUT_OF_DATE
    assert standing(1, rows, day).state == state


def test_what_is_typed_is_read_into_whole_base_units():
    facts = read_gauge("length", "0 mm", "4 in", "0.001 mm", "0.0000005 mm", "11.5")
    assert (facts.low, facts.high, facts.resolution) == (0, 101_600_000, 1_000)  # 1 in = 25.4 mm exactly
    assert facts.uncertainty == 1  # half a nanometre, rounded up
    assert expansion(facts.expansion_ppm) == Fraction(23, 2)
    scale = read_gauge("mass", "0 g", "3 kg", "0.1 g", "0.05 g")
    assert (scale.measures, scale.high, scale.resolution, scale.uncertainty) == (Dimension.MASS, 3_000_000, 100, 50)
    angle = read_gauge("angle", "0 °", "360 °", "1 °", "0.5 °")
    assert (angle.high, angle.uncertainty) == (1_296_000, 1_800)
    # half a degree Celsius as a difference is half a kelvin
    thermometer = read_gauge("temperature", "-10 °C", "110 °C", "0.1 °C", "0.5 °C")
    assert (thermometer.low, thermometer.resolution, thermometer.uncertainty) == (263_150, 100, 500)


@pytest.mark.parametrize(
    ("given_", "field"),
    [
        ({"measures": "colour"}, "measures"),
        ({"low": "25 mm", "high": "25 mm"}, "range"),
        ({"low": "26 mm"}, "range"),
        ({"resolution": "0 mm"}, "resolution"),
        ({"resolution": "26 mm"}, "resolution"),
        ({"uncertainty": "0 mm"}, "uncertainty"),
        ({"uncertainty": "26 mm"}, "uncertainty"),
        ({"expansion_ppm": "1e2"}, "expansion_ppm"),
        ({"expansion_ppm": "-11"}, "expansion_ppm"),
        ({"expansion_ppm": "NaN"}, "expansion_ppm"),
    ],
)
def test_a_record_that_makes_no_sense(given_, field):
    good = {"measures": "length", "low": "0 mm", "high": "25 mm", "resolution": "0.001 mm", "uncertainty": "0.002 mm"}
    with pytest.raises(DomainError) as caught:
        read_gauge(**(good | given_))
    assert (caught.value.code, caught.value.values["field"]) == ("gauge-unusable", field)


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("high", "25", "quantity-unreadable"),
        ("high", "25 g", "quantity-wrong-dimension"),
        ("uncertainty", "-0.001 mm", "gauge-unusable"),
        ("uncertainty", "NaN mm", "quantity-unreadable"),
        ("resolution", "0,001 mm", "quantity-unreadable"),
        ("uncertainty", "99999999999 m", "quantity-too-large"),
    ],
)
def test_amounts_are_read_as_everywhere(name, text, code):
    good = {"low": "0 mm", "high": "25 mm", "resolution": "0.001 mm", "uncertainty": "0.002 mm"}
    with pytest.raises(DomainError) as caught:
        read_gauge("length", **(good | {name: text}))
    assert caught.value.code == code


def test_a_calibration_lies_in_the_past_and_is_due_later():
    check_dates(DONE, DONE, DONE)
    for done_on, due, code in ((DUE, DUE, "from-the-future"), (DONE, date(2024, 6, 2), "dates-turned")):
        with pytest.raises(DomainError) as caught:
            check_dates(done_on, due, date(2025, 1, 1))
        assert caught.value.code == code
