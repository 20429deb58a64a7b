"""What may be sold or used up beside jobs, what comes back of it, and the history of demand by month."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.off_job import Leaving, Month, Used, Way, What, by_month, check_leaves, check_pack, check_returns
from inventory.domain.places import PlaceKind
from inventory.domain.stores import Carried

DAY = date(2025, 1, 15)
SHELF = PlaceKind.SHELF
RING = Carried("R-1")


def code(what, thing=RING, origin=SHELF, tube=False, stopped=False, use_by=None):
    try:
        check_leaves(what, Leaving(thing, origin, tube, stopped, use_by), DAY)
    except DomainError as error:
        return error.code
    return ""


@pytest.mark.parametrize("what", [What.COUNTER, What.WORKSHOP])
def test_neither_buyer_nor_workshop_gets_half_a_set_what_is_stopped_or_what_lies_apart(what):
    assert code(what) == ""
    assert code(what, Carried("half", orphan=True), PlaceKind.QUARANTINE) == "half-a-set"
    assert code(what, origin=PlaceKind.QUARANTINE) == code(what, origin=PlaceKind.CART) == "wrong-place"
    assert code(what, Carried("ring", lot_unknown=True)) == "lot-unknown"
    assert code(what, stopped=True) == "stopped"


def test_a_buyer_gets_nothing_opened_or_past_its_day_which_the_workshop_may_use_up():
    old = date(2025, 1, 14)
    assert [code(What.COUNTER, use_by=old), code(What.COUNTER, use_by=DAY), code(What.COUNTER, tube=True)] == [
        "expired",
        "",
        "part-unusable",
    ]
    assert [code(What.WORKSHOP, use_by=old), code(What.WORKSHOP, tube=True)] == ["", ""]


def test_no_more_comes_back_than_was_sold():
    check_returns("R-1", 2, 5, 3)
    with pytest.raises(DomainError) as caught:
        check_returns("R-1", 3, 5, 3)
    assert (caught.value.code, caught.value.values["outstanding"]) == ("more-than-outstanding", 2)


@pytest.mark.parametrize(
    ("asked", "free", "pack", "loose", "whole"),
    [
        (4, 10, 10, False, 10),  # four of a pack of ten that is not broken: the whole ten
        (4, 10, 10, True, None),
        (4, 10, 1, False, None),
        (20, 30, 10, False, None),
        (11, 30, 10, False, 20),
        (6, 6, 10, False, None),  # the rest of one that came open goes whole
        (4, 6, 10, False, 6),
        (16, 26, 10, False, 20),
    ],
)
def test_a_pack_that_is_not_issued_loose_goes_whole(asked, free, pack, loose, whole):
    if whole is None:
        check_pack("R-1", asked, free, pack, loose)
        return
    with pytest.raises(DomainError) as caught:
        check_pack("R-1", asked, free, pack, loose)
    assert (caught.value.code, caught.value.values["whole"]) == ("pack-not-whole", whole)


def test_a_month_counts_issues_less_what_came_back_and_what_is_flagged():
    rows = [
        Used(1, "2025-01", Way.ISSUED, 10), Used(1, "2025-01", Way.RETURNED, 2), Used(1, "2025-01", Way.SOLD, 3),
        Used(1, "2025-01", Way.SOLD, -1), Used(1, "2025-01", Way.NOT_COUNTED, 7), Used(1, "2025-02", Way.RETURNED, 1),
    ]  # fmt: skip
    found = by_month(rows)
    assert found == {
        (1, "2025-01"): Month(issued=10, returned=2, sold=2, not_counted=7),
        (1, "2025-02"): Month(returned=1),
    }
    assert [one.demand for one in found.values()] == [10, -1]


@given(st.lists(st.tuples(st.sampled_from(list(Way)), st.sampled_from(["2025-01", "2025-02"]), st.integers(-9, 9))))
def test_over_all_months_what_counts_is_everything_but_what_does_not_count(given_rows):
    found = by_month(Used(1, month, way, amount) for way, month, amount in given_rows)
    sign = {Way.RETURNED: -1, Way.NOT_COUNTED: 0}
    assert sum(one.demand for one in found.values()) == sum(sign.get(way, 1) * amount for way, _, amount in given_rows)
