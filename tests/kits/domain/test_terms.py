"""Terms: months with the month-end rule, running totals over changed meters, whichever limit is reached first."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.reading import Reader
from kits.domain.terms import (
    ARRIVAL,
    CHANGE,
    CLAIM,
    HAND_OVER,
    HOURS,
    KILOMETRES,
    Reading,
    Warranty,
    in_base,
    last_day,
    limits_in,
    not_read,
    questions,
    read_warranty,
    said,
    term,
    totals,
)

H, KM = 3600, 1000
TRUCK = Warranty(18, 3000 * H)
BOAT = Warranty(24, 600 * H, 40_000 * KM, "boat")


def day(text):
    return date.fromisoformat(text)


def hours(on, amount, moment=CLAIM, begins=None):
    return Reading(day(on), amount * H, moment, None if begins is None else begins * H)


def km(on, amount, moment=CLAIM):
    return Reading(day(on), amount * KM, moment)


def checks(found):
    return {one.limit: one.within for one in found.checks}


@pytest.mark.parametrize(
    ("begins", "months", "ends"),
    [
        ("2023-08-31", 18, "2025-02-28"),  # worked example of the demo shop, included
        ("2022-08-31", 18, "2024-02-29"),  # the same in a leap year: February 2024 has 29 days (Gregorian calendar)
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-07-24", 18, "2026-01-24"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2023-12-31", 1, "2024-01-31"),
        ("2024-11-30", 3, "2025-02-28"),
    ],
)
def test_months_end_on_the_same_day_or_the_last_of_the_month(begins, months, ends):
    assert last_day(day(begins), months) == day(ends)


@pytest.mark.parametrize("months", [0, -1, True, 1.5, 1201])
def test_nonsense_months_are_refused(months):
    with pytest.raises(DomainError) as caught:
        last_day(day("2024-01-01"), months)
    assert caught.value.code == "amount-not-positive"


@given(st.dates(date(1990, 1, 1), date(2060, 1, 1)), st.integers(1, 60), st.integers(1, 60))
def test_months_by_counting_days(begins, first, second):
    """A twin that walks: the day after, while fewer month boundaries were crossed; more months never end earlier."""
    at, crossed = begins, 0
    while crossed < first:
        at += timedelta(days=1)
        if at.day == 1:
            crossed += 1
    while at.day < begins.day and (at + timedelta(days=1)).month == at.month:
        at += timedelta(days=1)
    assert last_day(begins, first) == at
    assert (last_day(begins, first) < last_day(begins, second)) == (first < second)


def test_a_changed_meter_goes_on():
    # Worked example of the demo shop: the old meter came out at 1,240 h, the new one began at 0 and shows 1,790: 3,030 h.
    read = [hours("2024-01-10", 0, HAND_OVER), hours("2024-09-01", 1240, CHANGE, 0), hours("2025-05-01", 1790)]
    assert [one.amount // H for one in totals(read)] == [0, 1240, 3030]
    assert said(totals(read)[-1].amount, HOURS) == "3,030 h"
    out = term(TRUCK, day("2024-01-10"), "", {HOURS: read}, day("2025-05-01"))
    assert (out.within, checks(out)) == (False, {"months": True, "hours": False, "kilometres": True})
    assert out.why == "3,030 h since hand-over on 2025-05-01, limit 3,000 h"
    # A new meter that did not begin at nothing.
    second = [hours("2024-09-01", 1240, CHANGE, 100), hours("2025-05-01", 1890)]
    assert totals(second)[-1].amount == 3030 * H


def test_inside_months_and_hours():
    # Worked example of the demo shop: built 2024-07-24, 1,089 h on 2024-12-02, 18 months and 3,000 h: yes.
    found = term(TRUCK, day("2024-07-24"), "", {HOURS: [hours("2024-12-02", 1089)]}, day("2024-12-02"))
    assert (found.within, found.ends_on) == (True, day("2026-01-24"))
    assert [one.why for one in found.checks] == [
        "18 months from 2024-07-24: to 2026-01-24, that day included",
        "1,089 h since hand-over on 2024-12-02, limit 3,000 h",
        "no limit of kilometres",
    ]


def test_a_value_on_the_limit_passes_and_one_beyond_does_not():
    begins, read = day("2023-08-31"), [hours("2023-08-31", 100, HAND_OVER), hours("2025-02-28", 3100)]
    assert term(TRUCK, begins, "", {HOURS: read}, day("2025-02-28")).within is True
    assert checks(term(TRUCK, begins, "", {HOURS: read}, day("2025-03-01"))) == {
        "months": False, "hours": True, "kilometres": True,
    }  # fmt: skip
    beyond = [read[0], Reading(day("2025-02-28"), 3100 * H + 1, CLAIM)]
    assert term(TRUCK, begins, "", {HOURS: beyond}, day("2025-02-28")).within is False


def test_no_hand_over_no_term():
    found = term(TRUCK, None, "", {HOURS: [hours("2024-12-02", 9000)]}, day("2024-12-02"))
    assert (found.begun, found.within, found.checks) == (False, None, ())
    assert found.why == "no hand-over is on record: the term has not begun"
    early = term(TRUCK, day("2024-07-24"), "", {}, day("2024-07-23"))
    assert (early.begun, early.within) == (False, None)
    assert term(None, day("2024-07-24"), "", {}, day("2024-07-24")).within is None


def test_what_is_not_on_record_decides_nothing_but_what_it_must():
    begins, on = day("2024-07-24"), day("2025-01-01")
    assert checks(term(TRUCK, begins, "", {}, on))["hours"] is None
    at_arrival = hours("2024-07-01", 8000, ARRIVAL)
    # At most 2,900 h since hand-over: a yes. 3,100 h since arrival are no proof of a no.
    assert checks(term(TRUCK, begins, "", {HOURS: [at_arrival, hours("2025-01-01", 10_900)]}, on))["hours"] is True
    open_one = term(TRUCK, begins, "", {HOURS: [at_arrival, hours("2025-01-01", 11_100)]}, on)
    assert (open_one.within, checks(open_one)["hours"]) == (None, None)
    # Readings after the day are not looked at.
    later = [hours("2024-07-24", 0, HAND_OVER), hours("2024-12-01", 500), hours("2025-06-01", 9000)]
    assert checks(term(TRUCK, begins, "", {HOURS: later}, on))["hours"] is True


def test_readings_that_contradict_each_other_are_asked_about():
    read = [hours("2024-07-24", 0, HAND_OVER), hours("2024-12-01", 10_890), hours("2024-12-02", 1089)]
    found = term(TRUCK, day("2024-07-24"), "", {HOURS: read}, day("2024-12-02"))
    assert (found.within, checks(found)["hours"]) == (None, None)
    assert found.why.endswith("but an earlier reading says 10,890 h: ask")


def test_in_a_boat_hours_count_and_elsewhere_the_distance():
    begins, on = day("2024-01-01"), day("2024-06-01")
    read = {HOURS: [hours("2024-01-01", 0, HAND_OVER), hours("2024-06-01", 601)]}
    read[KILOMETRES] = [km("2024-01-01", 10, HAND_OVER), km("2024-06-01", 40_011)]
    assert checks(term(BOAT, begins, "boat", read, on)) == {"months": True, "hours": False, "kilometres": True}
    assert checks(term(BOAT, begins, "road", read, on)) == {"months": True, "hours": True, "kilometres": False}


def test_meters_with_a_limit_are_read_for_a_claim_on_its_day():
    boat = Warranty(18, 3000 * 3600, 200_000_000, "boat")
    assert limits_in(boat, "boat") == {HOURS: 3000 * 3600, KILOMETRES: None}
    assert limits_in(boat, "truck") == {HOURS: None, KILOMETRES: 200_000_000}
    assert limits_in(Warranty(18, 3600), "anywhere") == {HOURS: 3600, KILOMETRES: None}
    both = {HOURS: 1, KILOMETRES: 1}
    on = day("2025-06-01")
    read = {
        HOURS: [Reading(on, 5, CLAIM)],
        KILOMETRES: [Reading(on, 5, ARRIVAL), Reading(date(2025, 5, 31), 5, CLAIM)],
    }
    assert not_read(both, read, on) == (KILOMETRES,)
    assert not_read(both, {}, on) == (HOURS, KILOMETRES)
    assert not_read({HOURS: None, KILOMETRES: None}, {}, on) == ()


def test_what_is_asked():
    before = [hours("2024-01-10", 1240, ARRIVAL), hours("2024-09-01", 1300)]
    assert questions(before, hours("2024-10-01", 1300), HOURS, photographed=True) == ()
    assert questions(before, hours("2024-10-01", 1299), HOURS, photographed=False) == (
        "1,299 h is lower than 1,300 h on 2024-09-01 (claim)",
        "the meter was not photographed",
    )
    assert questions(before, hours("2024-05-01", 1301), HOURS, photographed=True) == (
        "1,301 h is higher than 1,300 h on 2024-09-01 (claim)",
    )
    assert questions([], hours("2024-05-01", 7), HOURS, photographed=True) == ()
    # A change is asked about by what the old meter showed.
    assert questions(before, hours("2024-10-01", 1290, CHANGE, 0), HOURS, photographed=True) == (
        "1,290 h is lower than 1,300 h on 2024-09-01 (claim)",
    )


def test_what_a_meter_shows_is_whole_in_its_base_unit():
    assert (in_base(Decimal("1089.5"), HOURS), in_base(7, KILOMETRES)) == (3_922_200, 7000)
    for value, meter, code in (
        (Decimal(1), "miles", "meter-unknown"),
        (Decimal("-0.1"), HOURS, "amount-negative"),
        (Decimal("NaN"), HOURS, "amount-negative"),
        (Decimal("0.00001"), HOURS, "quantity-not-whole"),
    ):
        with pytest.raises(DomainError) as caught:
            in_base(value, meter)
        assert caught.value.code == code


def test_amounts_for_a_person():
    assert [said(10895 * 360, HOURS), said(0, HOURS), said(60_000 * KM, KILOMETRES)] == [
        "1,089.5 h",
        "0 h",
        "60,000 km",
    ]


def test_the_terms_of_a_family_are_read_and_every_fault_named():
    reader = Reader()
    assert read_warranty({"warranty": {"months": 18, "running": "3000 h"}}, reader) == TRUCK
    boat = {"months": 24, "distance": "40000 km", "running": "600 h", "running_where": "boat"}
    assert read_warranty({"warranty": boat}, reader) == BOAT
    assert (read_warranty({}, reader), reader.problems) == (None, [])
    read_warranty({"warranty": {"months": True, "running": "3000 km", "colour": 1}}, reader)
    read_warranty({"warranty": {"months": 12, "distance": "0 km", "running_where": "boat"}}, reader)
    assert [one.detail for one in reader.problems] == [
        "unknown key 'colour'",
        "'months' must be a whole number from 1 to 1200",
        "'running' must be a whole number of h, as in '3000 h'",
        "'distance' must be a whole number of km, as in '3000 km'",
        "'running_where' says where hours count, and there is no limit of hours",
    ]


readings_of = st.lists(
    st.builds(
        Reading,
        st.dates(date(2024, 1, 1), date(2024, 3, 1)),
        st.integers(0, 50),
        st.just(CLAIM),
        st.one_of(st.none(), st.integers(0, 5)),
    ),
    max_size=6,
)


@given(readings_of)
def test_totals_add_up_stretch_by_stretch(readings):
    """A twin: each meter's own stretch, last shown less first begun, added up."""
    ordered = sorted(readings, key=lambda one: one.on)
    for upto, found in enumerate(totals(readings)):
        finished, begun = 0, 0
        for one in ordered[:upto]:
            if one.begins is not None:
                finished += one.amount - begun
                begun = one.begins
        assert found.amount == finished + ordered[upto].amount - begun
