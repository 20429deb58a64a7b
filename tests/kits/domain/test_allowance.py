"""The reading allowance: root of the sum of squares, times two, rounded up."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.allowance import FACTOR, combined, root_up


def test_the_worked_example_of_the_demo_shop():
    # u of the height 3 µm, of the depth 4 µm: U = 10 µm (worked example of the demo shop, independent script).
    assert (FACTOR, combined([3_000, 4_000])) == (2, 10_000)


@pytest.mark.parametrize(
    ("uncertainties", "factor", "allowance"),
    [
        ([0], 2, 0),
        ([1], 2, 2),
        ([1, 1], 1, 2),  # root of 2 is 1.41: up
        ([1, 1], 2, 3),
        ([3_000, 4_000, 1], 2, 10_001),  # one nanometre more of anything is one nanometre up
        ([1_000], Fraction(165, 100), 1_650),  # one-sided 95 %: about 1.65 sigma (normal distribution, from memory)
    ],
)
def test_it_is_never_smaller_than_its_gauges(uncertainties, factor, allowance):
    assert combined(uncertainties, factor) == allowance


@given(st.lists(st.integers(0, 10**9), min_size=1, max_size=6), st.fractions(Fraction(1, 10), 4, max_denominator=100))
@settings(max_examples=60, deadline=None)
def test_it_is_the_smallest_whole_number_that_is_large_enough(uncertainties, factor):
    whole, square = combined(uncertainties, factor), factor**2 * sum(u * u for u in uncertainties)
    assert whole**2 >= square
    assert whole == 0 or (whole - 1) ** 2 < square


def test_roots_of_whole_numbers():
    assert [root_up(n) for n in (0, 1, 2, 4, 5, Fraction(1, 100), Fraction(401, 100))] == [0, 1, 2, 2, 3, 1, 3]


@pytest.mark.parametrize("given_", [[], [-1], [1.0], [True], ["3"], [None]])
def test_nonsense_is_refused(given_):
    with pytest.raises(DomainError) as caught:
        combined(given_)
    assert caught.value.code == "reading-unusable"


@pytest.mark.parametrize("factor", [0, -2, 2.0, True, float("nan")])
def test_a_factor_is_a_number_above_zero(factor):
    with pytest.raises(DomainError) as caught:
        combined([1], factor)
    assert caught.value.code == "reading-unusable"
