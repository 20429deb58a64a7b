"""Chances of findings from past jobs."""

from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kits.domain.likely import Likely


def test_few_jobs_never_say_never():
    # Worked example of the demo shop: 3 of 18 → 0.1842, 0 of 18 → 0.0263.
    assert round(float(Likely("undersize", 3, 18).chance), 4) == 0.1842
    assert round(float(Likely("undersize", 0, 18).chance), 4) == 0.0263
    assert Likely("x", 0, 0).chance == Fraction(1, 2)
    assert [Likely("x", 1, jobs).thin for jobs in (4, 5)] == [True, False]
    with pytest.raises(ValueError, match="found in 3 of 2"):
        Likely("x", 3, 2)


@pytest.mark.parametrize(
    ("jobs", "closed_form"), [(4, 0.025 ** (1 / 4)), (10, 0.025 ** (1 / 10)), (60, 0.025 ** (1 / 60))]
)
def test_the_range_where_it_was_never_or_always_found(jobs, closed_form):
    # Where nothing was found the upper end has a closed form, 1 - 0.025^(1/n); where it always was, the lower is its mirror.
    low, high = Likely("x", 0, jobs).range
    assert (low, float(high)) == (0, pytest.approx(1 - closed_form, abs=0.001))
    assert float(high) >= 1 - closed_form
    low, high = Likely("x", jobs, jobs).range
    assert (float(low), high) == (pytest.approx(closed_form, abs=0.001), 1)


def test_nothing_is_known_from_no_job():
    assert Likely("x", 0, 0).range == (0, 1)


@given(st.integers(1, 25).flatmap(lambda jobs: st.tuples(st.integers(0, jobs), st.just(jobs))))
def test_a_share_outside_the_range_would_have_given_this_seldom(case):
    found, jobs = case
    low, high = Likely("x", found, jobs).range

    def chance(share, counts):
        return sum(comb(jobs, count) * share**count * (1 - share) ** (jobs - count) for count in counts)

    assert low <= Likely("x", found, jobs).chance <= high
    if low:
        assert chance(low, range(found, jobs + 1)) <= Fraction(25, 1000)
        assert chance(low + Fraction(2, 1000), range(found, jobs + 1)) > Fraction(25, 1000)
    if high < 1:
        assert chance(high, range(found + 1)) < Fraction(25, 1000)
