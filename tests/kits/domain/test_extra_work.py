"""Extra work against the owner's limit: limit − used ≥ 0."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.extra_work import Price, Spending, Word, limit_of, spending

PIECE = Fraction(1)
PRICES = {
    "shells": Price(4180, PIECE),
    "ground shells": Price(4620, PIECE),
    "oil": Price(285, Fraction(1_000_000)),
    "tube": Price(760, Fraction(80_000), whole=True),
    "odd": Price(None, PIECE),
}


def test_the_difference_of_the_lists_is_priced():
    booked = {"shells": 5, "oil": 5_200_000, "tube": 20_000}
    extra = {"ground shells": 5, "oil": 5_200_001, "tube": 90_000, "odd": 2}
    found = spending(10_000, extra, booked, PRICES)
    # Five other shells, a drop of oil (rounded up to a coin), one tube more; two of what has no price are named.
    assert found == Spending(10_000, 5 * (4620 - 4180) + 760 + 1, ("odd",))
    assert (found.left_coins, found.over) == (10_000 - 2961, False)


def test_on_the_limit_it_passes_and_one_coin_beyond_it_does_not():
    extra = {"shells": 2}
    assert [spending(limit, extra, {}, PRICES).over for limit in (8360, 8359)] == [False, True]
    free = spending(None, extra, {}, PRICES)
    assert (free.left_coins, free.over, free.used_coins) == (None, False, 8360)


def test_a_word_counts_once_and_one_without_a_sum_limits_nothing():
    assert limit_of([Word(1, 500), Word(1, 500), Word(2, 300), Word(3, None)]) == 800
    assert (limit_of([Word(3, None)]), limit_of([]), limit_of([Word(4, 0)])) == (None, None, 0)


def test_nonsense_is_refused():
    with pytest.raises(DomainError) as caught:
        spending(1, {"shells": -1}, {}, PRICES)
    assert caught.value.code == "amount-negative"
    with pytest.raises(KeyError):
        spending(1, {"unknown": 1}, {}, PRICES)


amounts = st.dictionaries(st.sampled_from(["shells", "ground shells"]), st.integers(0, 9))


@given(amounts, amounts)
def test_it_is_what_one_bill_is_dearer_than_the_other(extra, booked):
    def bill(parts):
        return sum(PRICES[part].coins for part, count in parts.items() for _ in range(count))

    assert spending(None, extra, booked, PRICES).used_coins == bill(extra) - bill(booked)
