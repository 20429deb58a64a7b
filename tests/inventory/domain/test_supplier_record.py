"""Lead times with lines that did not come yet, lines on time, promises that passed."""

from datetime import date
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.supplier_record import (
    LeadTimes,
    Line,
    Wait,
    lead_times,
    on_time,
    promises_passed,
    quantile,
    survival,
    wait_of,
)

#: Weeks in remission of 21 patients on 6-mercaptopurine, "+" for at least so long, and of 21 on a placebo. Source: Freireich et al. 1963,
#: Blood 21, 699-716; the usual worked example of the product-limit estimator, as in Kleinbaum and Klein, Survival Analysis, chapter 2.
TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"
#: The curve of the treated group as the book tabulates it, from memory, to four places.
CURVE = {6: 8571, 7: 8067, 10: 7529, 13: 6902, 16: 6275, 22: 5378, 23: 4482}
D = date(2025, 1, 1)


def read(text):
    return [Wait(int(word.rstrip("+")), not word.endswith("+")) for word in text.split()]


def test_the_published_example_comes_out():
    steps = survival(read(TREATED))
    assert {days: round(share * 10_000) for days, share in steps} == CURVE
    found = lead_times(read(TREATED))
    assert (found.came, found.at_least, found.median, found.lower, found.upper) == (9, 12, 23, 13, None)
    # Mean to 35 weeks 23.29 (from memory, as statistics packages print it); the curve ends above zero, so it is restricted.
    assert (round(found.mean, 2), found.restricted_to) == (Fraction("23.29"), 35)


def test_where_everything_came_it_is_the_plain_mean_and_median():
    # Same source: the placebo group, mean 8.67, median 8
    waits = read(PLACEBO)
    found = lead_times(waits)
    assert (found.mean, found.median, found.restricted_to) == (Fraction(sum(one.days for one in waits), 21), 8, None)
    assert round(found.mean, 2) == Fraction("8.67")


def to_the_right(waits):
    """The same curve by another way: each censored line hands its weight on to those that are longer, equally (Efron 1967)."""
    ordered = sorted(waits, key=lambda one: (one.days, not one.came))
    weights = [Fraction(1, len(ordered))] * len(ordered)
    for at, one in enumerate(ordered):
        later = len(ordered) - at - 1
        if not one.came and later:
            share = weights[at] / later
            weights[at] = Fraction(0)
            weights[at + 1 :] = [weight + share for weight in weights[at + 1 :]]
    days = sorted({one.days for one in ordered if one.came})
    return [
        (day, 1 - sum(weight for one, weight in zip(ordered, weights, strict=True) if one.came and one.days <= day))
        for day in days
    ]


@given(st.lists(st.builds(Wait, st.integers(0, 12), st.booleans()), min_size=1, max_size=14))
def test_the_curve_is_that_of_weights_handed_to_the_right(waits):
    assert survival(waits) == to_the_right(waits)


@given(st.lists(st.builds(Wait, st.integers(0, 40), st.just(True)), min_size=1, max_size=14))
def test_without_open_lines_the_estimates_are_the_plain_ones(waits):
    found = lead_times(waits)
    days = sorted(one.days for one in waits)
    assert found.mean == Fraction(sum(days), len(days))
    assert found.median == days[(len(days) + 1) // 2 - 1]


@given(st.lists(st.builds(Wait, st.integers(0, 40), st.booleans()), min_size=1, max_size=12), st.integers(1, 20))
def test_an_open_line_that_waits_longer_never_makes_the_supplier_faster(waits, more):
    longer = [one if one.came else Wait(one.days + more, came=False) for one in waits]
    before, after = lead_times(waits), lead_times(longer)
    assert after.mean >= before.mean
    for share in (Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)):
        first, second = quantile(survival(waits), share), quantile(survival(longer), share)
        assert second is None or (first is not None and second >= first)


def test_nothing_says_nothing():
    assert lead_times([]) == LeadTimes(0, 0, None, None, None, None, None)
    assert lead_times([Wait(9, came=False)]) == LeadTimes(0, 1, Fraction(9), 9, None, None, None)


def line(**more):
    """Ten ordered on New Year's Day, promised for the 10th."""
    given = {
        "ordered_on": D,
        "ordered": 10,
        "given_up": 0,
        "promises": [date(2025, 1, 10)],
        "arrivals": [],
        "usable": [],
    }
    return Line(**(given | more))


def test_a_line_is_on_time_when_all_of_it_came_by_the_day_promised_first():
    tenth, eleventh = date(2025, 1, 10), date(2025, 1, 11)
    came = line(arrivals=[(date(2025, 1, 8), 6), (tenth, 4)], promises=[tenth, date(2025, 1, 20)])
    assert on_time(came, eleventh) is True
    assert on_time(line(arrivals=[(tenth, 9), (eleventh, 1)]), eleventh) is False
    # What was rejected did not come: it was replaced on the 11th.
    assert on_time(line(arrivals=[(tenth, 10), (tenth, -1), (eleventh, 1)]), eleventh) is False
    assert [on_time(line(), day) for day in (tenth, eleventh)] == [None, False]
    assert on_time(line(promises=[]), eleventh) is None
    # Given up before it was due, and after.
    assert on_time(line(given_up=10, closed_on=tenth), eleventh) is None
    assert on_time(line(given_up=10, closed_on=eleventh), eleventh) is False
    assert on_time(line(given_up=1, arrivals=[(tenth, 9)]), eleventh) is True


def test_the_wait_of_a_line_ends_when_all_of_it_is_usable():
    on = date(2025, 3, 1)
    assert wait_of(line(usable=[(date(2025, 1, 8), 6), (date(2025, 1, 20), 4)]), on) == Wait(19, came=True)
    assert wait_of(line(usable=[(date(2025, 1, 8), 9)]), on) == Wait(59, came=False)
    assert wait_of(line(usable=[(date(2025, 1, 8), 9)], given_up=1), on) == Wait(7, came=True)
    assert wait_of(line(given_up=10, closed_on=date(2025, 1, 31)), on) == Wait(30, came=False)
    # Accepted, found bad a week later, replaced.
    back = line(usable=[(date(2025, 1, 8), 10), (date(2025, 1, 15), -2), (date(2025, 1, 22), 2)])
    assert wait_of(back, on) == Wait(21, came=True)


def test_promises_that_passed_are_counted_up_to_the_day_it_came_or_was_given_up():
    promises = [date(2025, 1, 10), date(2025, 1, 20), date(2025, 1, 30)]
    on = date(2025, 3, 1)
    assert promises_passed(line(promises=promises), on) == 3
    assert promises_passed(line(promises=promises), date(2025, 1, 20)) == 1
    assert promises_passed(line(promises=promises, arrivals=[(date(2025, 1, 20), 10)]), on) == 1
    assert promises_passed(line(promises=promises, given_up=10, closed_on=date(2025, 1, 25)), on) == 2
