"""Whether a sample lets a lot pass."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.inspections import MOST_SAMPLE, Plan, check_plan, passes


def test_on_the_number_that_is_accepted_a_lot_passes_and_with_one_more_it_does_not():
    # a plan as the shop may set it (invented): 5 of each lot, 1 may be bad
    plan = Plan(5, 1)
    assert [passes(plan, 100, 5, bad) for bad in (0, 1, 2)] == [True, True, False]
    # of a lot smaller than the sample all are looked at
    assert (plan.needed(3), passes(plan, 3, 3, 1)) == (3, True)


@given(st.integers(1, 30), st.integers(1, 40), st.integers(0, 45), st.integers(-1, 45))
def test_what_was_looked_at_is_between_what_is_asked_for_and_what_came(sample, delivered, sampled, bad):
    plan = Plan(sample, 0)
    makes_sense = min(sample, delivered) <= sampled <= delivered and 0 <= bad <= sampled
    if makes_sense:
        assert passes(plan, delivered, sampled, bad) is (bad == 0)
    else:
        with pytest.raises(DomainError) as refused:
            passes(plan, delivered, sampled, bad)
        assert refused.value.code == "sample-unusable"


def test_a_plan_that_no_lot_can_fail_is_none():
    for plan in (Plan(0, 0), Plan(1, 0), Plan(MOST_SAMPLE, MOST_SAMPLE - 1)):
        check_plan(plan)
    for plan in (Plan(1, 1), Plan(0, 1), Plan(2, -1), Plan(-1, -2), Plan(MOST_SAMPLE + 1, 0)):
        with pytest.raises(DomainError) as refused:
            check_plan(plan)
        assert refused.value.code == "sample-unusable"
