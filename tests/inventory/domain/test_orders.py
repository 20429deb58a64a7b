"""How far an order's line is, which line a delivery answers, which promises passed."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.orders import (
    Coming,
    LineState,
    Ordered,
    Share,
    allot,
    check_given_up,
    complete_on,
    line_state,
    passed,
)
from inventory.domain.receiving import Delivered

JANUARY = [date(2025, 1, day) for day in range(1, 32)]


@st.composite
def deliveries(draw):
    """One delivered line, whatever became of it within what there is."""
    amount = draw(st.integers(1, 30))
    aside = draw(st.booleans())
    accepted = draw(st.integers(0, amount)) if aside else 0
    rejected = draw(st.integers(0, amount - accepted))
    gone = draw(st.integers(0, amount - accepted - rejected)) if aside else 0
    good = accepted if aside else amount - rejected
    return Delivered(amount, aside, accepted, rejected, draw(st.integers(0, good)), gone)


@given(st.integers(1, 60), st.integers(0, 20), st.lists(deliveries(), max_size=6))
def test_delivered_is_accepted_and_rejected_and_in_inspection(ordered, given_up, lines):
    given_up = min(given_up, ordered)
    state = line_state(ordered, given_up, lines)
    assert state.delivered == state.accepted + state.rejected + state.gone + state.in_inspection
    assert min(state.accepted, state.rejected, state.in_inspection) >= 0
    # What is kept or gone here, what is given up and what is to come are what was ordered, and what was kept beyond it.
    here = state.accepted + state.gone + state.in_inspection
    assert ordered + state.over == here + given_up + state.outstanding
    assert state.over == 0 or state.outstanding == 0


def test_of_twenty_rings_eighteen_came_and_two_were_torn():
    # 20 ordered, 18 came: the parts manager's morning (worked example of the demo shop, invented); two of them torn
    state = line_state(20, 0, [Delivered(14), Delivered(4, rejected=2)])
    assert (state.delivered, state.accepted, state.rejected, state.in_inspection) == (18, 16, 2, 0)
    assert (state.outstanding, state.over, state.is_open) == (4, 0, True)
    closed = line_state(20, 4, [Delivered(14), Delivered(4, rejected=2)])
    assert (closed.outstanding, closed.over, closed.is_open) == (0, 0, False)


def by_hand(lines, coming):
    """Piece by piece: every piece goes to the first line of its part that still waits for one; else it is over on the last."""
    left = {line.row: line.outstanding for line in lines}
    told = []
    for one in coming:
        pieces = []
        for _ in range(one.amount):
            mine = [line for line in lines if line.part == one.part]
            waiting = [line for line in mine if left[line.row] > 0]
            if not mine:
                pieces.append((None, False))
            elif waiting:
                left[waiting[0].row] -= 1
                pieces.append((waiting[0].row, False))
            else:
                pieces.append((mine[-1].row, True))
        told.append({piece: pieces.count(piece) for piece in pieces})
    return told


@given(
    st.lists(st.tuples(st.integers(1, 3), st.integers(0, 9)), max_size=5),
    st.lists(st.tuples(st.integers(1, 3), st.integers(1, 12)), max_size=5),
)
def test_a_delivery_is_allotted_as_piece_by_piece(lines, coming):
    ordered = [Ordered(100 + at, at, part, left) for at, (part, left) in enumerate(lines, 1)]
    came = [Coming(part, amount) for part, amount in coming]
    told = [{(share.row, share.over): share.amount for share in shares} for shares in allot("PO", ordered, came)]
    assert told == by_hand(ordered, came)


def test_a_line_that_is_named_is_answered_and_no_other():
    lines = [Ordered(7, 1, 1, 5), Ordered(8, 2, 1, 5), Ordered(9, 3, 2, 5)]
    assert allot("PO", lines, [Coming(1, 6, line=2)]) == [(Share(8, 5), Share(8, 1, over=True))]
    wrong, unknown = allot("PO", lines, [Coming(1, 1, line=3), Coming(1, 1, line=4)])
    assert (wrong.code, unknown.code) == ("wrong-part", "not-found")


def test_what_is_rejected_as_it_came_takes_up_nothing():
    lines = [Ordered(7, 1, 1, 1)]
    assert allot("PO", lines, [Coming(1, 1, bad=True), Coming(1, 1)]) == [(Share(7, 1),), (Share(7, 1),)]


def test_a_promise_that_passed_is_counted_though_a_later_one_took_its_place():
    promised = [date(2025, 1, 10), date(2025, 1, 20)]
    assert passed(promised, None, date(2025, 1, 10)) == ()
    assert passed(promised, None, date(2025, 1, 11)) == (date(2025, 1, 10),)
    assert passed(promised, date(2025, 1, 20), date(2025, 3, 1)) == (date(2025, 1, 10),)
    assert passed(promised, date(2025, 1, 21), date(2025, 3, 1)) == tuple(promised)
    assert passed(promised, date(2025, 1, 10), date(2025, 3, 1)) == ()


@given(st.integers(0, 20), st.lists(st.tuples(st.sampled_from(JANUARY), st.integers(-5, 10)), max_size=8))
def test_a_line_is_complete_from_the_day_on_which_it_stays_so(wanted, arrivals):
    def total(day):
        return sum(amount for on, amount in arrivals if on <= day)

    days = sorted({day for day, _ in arrivals})
    from_then = [day for day in days if all(total(later) >= wanted for later in days if later >= day)]
    assert complete_on(wanted, arrivals) == (from_then[0] if from_then and wanted else None)


def test_no_more_is_given_up_than_is_to_come():
    state = LineState(20, 18, 16, 2, 0, 0)
    assert check_given_up(state, 1, None) == 4
    assert check_given_up(state, 1, 4) == 4
    for asked, code in ((5, "more-than-outstanding"), (0, "amount-not-positive"), (-1, "amount-not-positive")):
        with pytest.raises(DomainError) as refused:
            check_given_up(state, 1, asked)
        assert refused.value.code == code
    with pytest.raises(DomainError) as done:
        check_given_up(LineState(20, 20, 20, 0, 0, 0), 1, None)
    assert done.value.code == "line-done"
