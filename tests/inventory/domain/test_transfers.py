"""What may ride to another site, what is still in transit, why what comes goes to quarantine, how many days the road takes."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.stores import Carried
from inventory.domain.transfers import (
    How,
    LineState,
    State,
    check_rides,
    days_between,
    here_on,
    open_lines,
    state_of,
    why_aside,
)

SHELF, QUARANTINE = PlaceKind.SHELF, PlaceKind.QUARANTINE
DAY = date(2025, 1, 15)
RING = Carried("R-1 lot=B1")


def code(*arguments):
    try:
        check_rides(*arguments)
    except DomainError as error:
        return error.code
    return ""


@pytest.mark.parametrize("kind", list(PlaceKind))
def test_things_ride_from_shelves_and_out_of_quarantine_only(kind):
    assert code(RING, kind, False, None, DAY) == ("" if kind in (SHELF, QUARANTINE) else "wrong-place")


def test_what_may_not_be_used_does_not_leave_its_shelf_but_rides_from_quarantine_to_quarantine():
    orphan, unread = Carried("half", orphan=True), Carried("ring", lot_unknown=True)
    yesterday = date(2025, 1, 14)
    asked = [(RING, True, None), (RING, False, yesterday), (orphan, False, None), (unread, False, None)]
    assert [code(thing, SHELF, *facts, DAY) for thing, *facts in asked] == [
        "stopped",
        "expired",
        "set-broken",
        "lot-unknown",
    ]
    assert [code(thing, QUARANTINE, *facts, DAY) for thing, *facts in asked] == [""] * 4
    # Good through its last day.
    assert code(RING, SHELF, False, DAY, DAY) == ""


def test_what_comes_goes_to_quarantine_for_a_reason_that_is_said():
    assert why_aside(True, False, None, DAY) == "it was sent out of quarantine"
    assert why_aside(False, True, None, DAY) == "it is stopped"
    assert why_aside(False, False, date(2025, 1, 14), DAY) == "it is past its day, 2025-01-14"
    assert why_aside(False, False, DAY, DAY) == ""


@given(st.integers(0, 50), st.integers(0, 10), st.lists(st.tuples(st.sampled_from(list(How)), st.integers(0, 10))))
def test_sent_is_what_came_what_was_explained_and_what_is_in_transit(rest, came, said):
    explained = {how: sum(amount for one, amount in said if one is how) for how in How}
    sent = rest + came + sum(explained.values())
    assert LineState(sent, came, explained).in_transit == rest


def test_a_note_is_done_when_nothing_of_it_is_in_transit_and_unexplained_once_the_receiver_signed():
    assert [
        state_of(3, False, False),
        state_of(3, True, False),
        state_of(0, True, False),
        state_of(0, False, False),
    ] == [
        State.ON_THE_WAY,
        State.UNEXPLAINED,
        State.DONE,
        State.DONE,
    ]
    assert state_of(0, False, True) is State.TAKEN_BACK


def test_the_road_is_as_long_both_ways_and_unknown_where_nobody_said():
    table = {"TB": {"QY": 1}, "QY": {"FG": 2}, "FG": {"XX": -1}}
    asked = [("TB", "QY"), ("QY", "TB"), ("FG", "QY"), ("TB", "FG"), ("FG", "XX")]
    assert [days_between(table, *ends) for ends in asked] == [1, 1, 2, None, None]
    assert (here_on(DAY, 1), here_on(DAY, 0), here_on(DAY, None)) == (date(2025, 1, 16), DAY, None)


def test_lines_that_nobody_answered_are_those_with_something_in_transit():
    assert open_lines({1: 1}, {1: 4, 2: 3, 3: 0}) == (2,)
