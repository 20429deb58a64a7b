"""Money in coins: reading, showing, splitting."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.money import format_money, parse_money, split_total


@pytest.mark.parametrize(
    ("text", "coins"), [("93.20", 9320), ("93.2", 9320), ("93", 9300), ("0.22", 22), (" 7.60 ", 760), ("0", 0)]
)
def test_prices_are_read_in_coins(text: str, coins: int) -> None:
    assert parse_money(text) == coins


@pytest.mark.parametrize(
    "text",
    [
        "93,20",
        "1,000.00",
        "-1.00",
        "93.205",
        "",
        ".5",
        "1e3",
        "£5",
        "5 EUR",
        "NaN",
        "1\x00",
        "9" * 13,
        "٣",
        "1.00\n",
        None,
        5,
        3.2,
    ],
)
def test_what_is_no_price_is_refused(text: object) -> None:
    with pytest.raises(DomainError) as caught:
        parse_money(text)  # type: ignore[arg-type]  # what arrives in JSON may be anything
    assert caught.value.code == "money-unreadable" and caught.value.ways_out


def test_prices_are_shown_with_two_places() -> None:
    assert [format_money(coins) for coins in (9320, 22, 0, -5, 100)] == ["93.20", "0.22", "0.00", "-0.05", "1.00"]


def test_largest_remainder() -> None:
    # Hamilton's method on the usual textbook votes: 100 seats for 47, 16, 15.9, 12, 6, 3.1 (thousands), worked by hand
    assert split_total(10, [47_000, 16_000, 15_900, 12_000, 6_000, 3_100]) == [5, 2, 1, 1, 1, 0]
    assert split_total(100, [1, 1, 1]) == [34, 33, 33]  # a tie goes to the first
    assert split_total(1, [0, 1, 1]) == [0, 1, 0]
    assert split_total(0, [3, 4]) == [0, 0]


@pytest.mark.parametrize("weights", [[], [0, 0], [1, -1], [2, -1]])
def test_nothing_to_split_by_is_a_defect(weights: list[int]) -> None:
    with pytest.raises(ValueError, match="split by weights"):
        split_total(10, weights)


@settings(max_examples=200, deadline=None)
@given(st.integers(-(10**6), 10**6), st.lists(st.fractions(0, 50, max_denominator=9), min_size=1, max_size=8))
def test_shares_add_up_and_are_near(total: int, weights: list[Fraction]) -> None:
    whole = sum(weights)
    if whole == 0:
        return
    shares = split_total(total, weights)
    assert sum(shares) == total
    for share, weight in zip(shares, weights, strict=True):
        assert abs(share - total * weight / whole) < 1
        assert weight != 0 or share == 0


def test_no_other_split_lies_nearer() -> None:
    """Brute force: the sum of squared differences is the least possible (a known property of the largest
    remainders)."""
    for weights in product(range(4), repeat=3):
        if sum(weights) == 0:
            continue
        for total in range(7):
            exact = [Fraction(total * weight, sum(weights)) for weight in weights]

            def miss(shares: tuple[int, ...], exact: list[Fraction] = exact) -> Fraction:
                return sum(((share - value) ** 2 for share, value in zip(shares, exact, strict=True)), Fraction(0))

            least = min(miss(shares) for shares in product(range(total + 1), repeat=3) if sum(shares) == total)
            assert miss(tuple(split_total(total, weights))) == least
