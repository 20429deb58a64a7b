"""Deposits in coins, limits in days, and what is at risk."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.old_units import (
    Open,
    Risk,
    What,
    check_coins,
    check_places,
    limit_day,
    outstanding,
    risk_of,
    sums,
)
from inventory.domain.places import PlaceKind

PAID, REFUNDED, LOST = What.PAID, What.REFUNDED, What.LOST
LIMIT = date(2025, 3, 1)
OPEN = Open(4_000, LIMIT, tagged=True, here=True, sent_on=None)
ENTRIES = st.lists(st.tuples(st.sampled_from(list(What)), st.integers(1, 10_000), st.booleans()))


def test_paid_less_refunded_less_lost_is_outstanding():
    # The rule of the demo shop: deposits paid − refunded − lost = outstanding. 45.00 + 45.00 − 45.00 − 5.00 = 40.00, by hand.
    rows = [(PAID, 4_500, False), (PAID, 4_500, False), (REFUNDED, 4_500, False), (LOST, 500, False)]
    assert outstanding(rows) == 4_000
    assert outstanding([*rows, (LOST, 500, True)]) == 4_500
    assert outstanding([*rows, (PAID, 4_500, True)]) == -500
    assert outstanding([]) == 0


@given(ENTRIES)
def test_the_sums_by_holder_and_what_give_the_same(rows):
    found = sums(("one", *row) for row in rows).get("one", dict.fromkeys(What, 0))
    assert outstanding(rows) == found[PAID] - found[REFUNDED] - found[LOST]


def test_holders_are_kept_apart():
    rows = [("a", PAID, 5, False), ("b", PAID, 7, False), ("a", REFUNDED, 2, False), ("b", PAID, 7, True)]
    assert sums(rows) == {"a": {PAID: 5, REFUNDED: 2, LOST: 0}, "b": {PAID: 0, REFUNDED: 0, LOST: 0}}


@pytest.mark.parametrize(
    ("days", "limit"),
    [
        ((30, 90), date(2025, 2, 14)),
        ((None, 90), date(2025, 4, 15)),
        ((0, 90), date(2025, 1, 15)),
        ((None, None), None),
    ],
)
def test_the_limit_is_counted_by_the_terms_of_the_part_then_by_the_supplier_s(days, limit):
    assert limit_day(date(2025, 1, 15), days) == limit


@pytest.mark.parametrize(
    ("changed", "day", "within", "found"),
    [
        ({}, date(2025, 2, 28), 0, None),
        ({}, LIMIT, 0, (Risk.HERE, 0)),
        ({}, date(2025, 3, 4), 0, (Risk.HERE, -3)),
        ({}, date(2025, 2, 19), 10, (Risk.HERE, 10)),
        ({}, date(2025, 2, 18), 10, None),
        ({"here": False}, LIMIT, 0, (Risk.MISSING, 0)),
        ({"tagged": False, "here": False}, LIMIT, 0, (Risk.NO_UNIT, 0)),
        ({"here": False, "sent_on": LIMIT}, date(2025, 6, 1), 0, None),
        ({"here": False, "sent_on": date(2025, 3, 2)}, date(2025, 6, 1), 0, (Risk.SENT_LATE, -92)),
        ({"outstanding_coins": 0}, date(2025, 6, 1), 0, None),
        ({"due_on": None}, date(2025, 6, 1), 999, None),
    ],
)
def test_what_is_at_risk_at_the_limit_and_before_it(changed, day, within, found):
    assert risk_of(replace(OPEN, **changed), day, within) == found


def test_coins_are_more_than_nothing_and_an_old_unit_is_no_stock():
    check_coins(1)
    check_places("the pump", PlaceKind.BENCH, PlaceKind.CRATE)
    check_places("the pump", None, PlaceKind.QUARANTINE)
    for call, code in (
        (lambda: check_coins(0), "amount-not-positive"),
        (lambda: check_coins(10**18), "amount-too-large"),
        (lambda: check_places("the pump", PlaceKind.SHELF, PlaceKind.CRATE), "wrong-place"),
        (lambda: check_places("the pump", PlaceKind.ENGINE, PlaceKind.CRATE), "wrong-place"),
        (lambda: check_places("the pump", PlaceKind.BENCH, PlaceKind.SHELF), "wrong-place"),
    ):
        with pytest.raises(DomainError) as caught:
            call()
        assert caught.value.code == code
