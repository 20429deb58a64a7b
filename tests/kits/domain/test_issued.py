"""Issued = fitted + returned + scrapped + still at the bench: a rule of conservation that must always hold."""

from collections import Counter
from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.places import PlaceKind
from kits.domain.issued import CAME, WENT, Account, Passed, accounts

OTHERS = [kind for kind in PlaceKind if kind not in (PlaceKind.CART, PlaceKind.BENCH)]


def test_ten_bolts_of_a_job():
    moves = [(10, True, "shelf"), (8, False, "engine"), (1, True, "engine"), (1, False, "scrap"), (2, False, "shelf")]
    account = accounts(Passed(1, amount, came, PlaceKind(kind)) for amount, came, kind in moves)[1]
    assert (account.issued, account.fitted, account.out_of_engine, account.returned, account.scrapped) == (
        10,
        8,
        1,
        2,
        1,
    )
    assert (account.came, account.went, account.still_here) == (11, 11, 0)


@pytest.mark.parametrize("kind", list(PlaceKind))
def test_every_kind_of_place_has_its_way_in_and_out(kind):
    came, went = accounts([Passed(1, 3, True, kind)])[1], accounts([Passed(1, 3, False, kind)])[1]
    assert getattr(came, CAME.get(kind, "came_otherwise")) == came.came == came.still_here == 3
    assert getattr(went, WENT.get(kind, "went_elsewhere")) == went.went == 3
    assert (went.still_here, came.went, went.came) == (-3, 0, 0)


passes = st.lists(
    st.builds(Passed, st.integers(1, 3), st.integers(1, 9), st.booleans(), st.sampled_from(OTHERS)), max_size=40
)


@given(passes, st.randoms(use_true_random=False))
def test_what_came_is_what_went_and_what_is_there_in_whatever_order(passed, random):
    """Beside a bench that is simply added to and taken from."""
    bench: Counter[int] = Counter()
    for one in passed:
        bench[one.item] += one.amount if one.came else -one.amount
    found = accounts(passed)
    assert {item: account.still_here for item, account in found.items()} == {
        one.item: bench[one.item] for one in passed
    }
    for account in found.values():
        values = {field.name: getattr(account, field.name) for field in fields(Account)}
        assert sum(values.values()) == account.came + account.went
        if not any(values[way] for way in values if way not in ("issued", "fitted", "returned", "scrapped")):
            assert account.issued == account.fitted + account.returned + account.scrapped + account.still_here
    shuffled = list(passed)
    random.shuffle(shuffled)
    assert accounts(shuffled) == found
