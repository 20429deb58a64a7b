"""Lending: the limit of the answer, the day of the payback, and what becomes of the donor's hold."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.loans import Fate, Owed, Share, Word, fate_of, in_time, payback_late, shared_out, split, word

ASKED = datetime(2025, 1, 15, 8, tzinfo=UTC)
TWO_HOURS = ASKED + timedelta(hours=2)
LATER = TWO_HOURS + timedelta(microseconds=1)


def test_two_hours_are_in_time_and_a_microsecond_more_is_not() -> None:
    assert in_time(ASKED, TWO_HOURS, 120)
    assert not in_time(ASKED, LATER, 120)


@pytest.mark.parametrize(
    ("agreed", "now", "said"),
    [
        (None, TWO_HOURS, Word.ASKED),
        (None, LATER, Word.STAYS),
        (True, LATER, Word.AGREED),
        (False, LATER, Word.REFUSED),
    ],
)
def test_silence_is_no_consent(agreed: bool | None, now: datetime, said: Word) -> None:
    assert word(ASKED, agreed, now, 120) is said


def late(
    promised_on: date | None, on: date = date(2025, 1, 15), *, lent: int = 3, came: int = 0, coming: int = 10
) -> bool:
    """Needed on 2025-02-03."""
    return payback_late(promised_on, date(2025, 2, 3), on, lent=lent, came=came, coming=coming)


@pytest.mark.parametrize(
    ("agreed", "gone_at", "said"),
    [
        (None, TWO_HOURS, Word.LAPSED),
        (None, LATER, Word.STAYS),
        (True, LATER, Word.LAPSED),
        (False, TWO_HOURS, Word.REFUSED),
    ],
)
def test_a_request_lapses_with_what_it_asks_for_unless_it_was_over_before(
    agreed: bool | None, gone_at: datetime, said: Word
) -> None:
    assert word(ASKED, agreed, LATER, 120, gone_at) is said


def test_what_was_lent_is_held_picked_or_gone() -> None:
    assert fate_of([]) == Fate(0, 0, 0)
    # of three one is held, two were picked of four that were held, five were stopped
    assert fate_of([(1, False, 0), (4, True, 2), (5, True, 0)]) == Fate(held=1, picked=2, gone=7)


def test_a_payback_on_the_day_is_in_time() -> None:
    # Worked example of the demo shop (invented): needed on 2025-02-03, promised for 2025-02-19.
    assert late(date(2025, 2, 19))
    assert not late(date(2025, 2, 3))
    assert late(date(2025, 2, 4))
    assert late(None)


def test_a_payback_that_will_not_come_or_whose_day_went_by_is_none() -> None:
    day = date(2025, 2, 3)
    assert late(day, coming=2) and not late(day, coming=3) and not late(day, came=1, coming=2)
    assert not late(day, day) and late(day, date(2025, 2, 4))
    assert not late(day, date(2025, 2, 4), came=3, coming=7) and late(day, date(2025, 2, 4), came=2, coming=8)
    # it was promised for too late, and is here
    assert not late(date(2025, 2, 19), came=3) and not late(None, came=3, coming=0) and late(None, came=2)


def test_what_serves_no_position_goes_first_then_the_last_positions() -> None:
    found = split(6, 4, [["A", 1, 2], ["B", 1, 3]])
    assert (found.rest, found.kept, found.given) == (2, [["A", 1, 2]], [["B", 1, 3]])
    found = split(5, 1, [["A", 1, 2], ["B", 1, 3]])
    assert (found.kept, found.given) == ([["A", 1, 2], ["B", 1, 2]], [["B", 1, 1]])


def test_one_more_beside_the_list_keeps_its_position_until_all_of_it_goes() -> None:
    assert split(10, 3, [["A", 1, 0]]).kept == [["A", 1, 0]]
    gone = split(10, 10, [["A", 1, 0]])
    assert (gone.rest, gone.kept, gone.given) == (0, [], [["A", 1, 0]])


@given(st.data())
def test_nothing_is_gained_or_lost_by_splitting(data: st.DataObject) -> None:
    units = data.draw(st.lists(st.integers(0, 5), max_size=6))
    amount = sum(units) + data.draw(st.integers(0, 5)) or 1
    lent = data.draw(st.integers(1, amount))
    positions: list[list[str | int]] = [[f"P-{at}", 1, number] for at, number in enumerate(units)]
    found = split(amount, lent, positions)
    served: dict[str | int, int] = {}
    for name, _, number in [*found.kept, *found.given]:
        served[name] = served.get(name, 0) + int(number)
    assert served == {name: number for name, _, number in positions}
    assert found.rest + lent == amount
    assert sum(int(share[2]) for share in found.kept) <= found.rest
    assert sum(int(share[2]) for share in found.given) <= lent


def test_who_needs_it_first_has_it_first_and_of_equal_days_the_older_loan() -> None:
    early, late_ = date(2025, 2, 3), date(2025, 3, 3)
    owed = [Owed(1, 2, 10, late_), Owed(2, 3, 11, early), Owed(3, 1, 12, early)]
    # one came before any was lent, two before the third
    shares = shared_out(owed, [(9, 1), (11, 0), (12, 2), (15, 2)], 3)
    assert shares == {2: Share(3, 0), 3: Share(1, 0, (2,)), 1: Share(0, 2, (2, 3))}
    # of what came only before it was lent it has nothing
    assert shared_out([Owed(3, 1, 12, early), Owed(1, 2, 10, late_)], [(12, 2)], 0) == {
        3: Share(),
        1: Share(2, 0, (3,)),
    }


def test_what_was_said_to_be_paid_back_keeps_what_had_come_by_then() -> None:
    day = date(2025, 2, 3)
    closed, running = Owed(1, 2, 10, day, until=20), Owed(2, 2, 11, day)
    assert shared_out([closed, running], [(15, 2)], 2) == {1: Share(2, 0), 2: Share(0, 2)}
    # it was closed with nothing of the line here: what comes later is not its own
    assert shared_out([closed, running], [(25, 2)], 2) == {1: Share(), 2: Share(2, 0)}


_LOANS = st.lists(
    st.tuples(st.integers(1, 4), st.integers(1, 30), st.integers(1, 4), st.none() | st.integers(1, 40)), max_size=5
)


@given(_LOANS, st.lists(st.tuples(st.integers(1, 40), st.integers(0, 5)), max_size=5), st.integers(0, 8))
def test_shares_by_brute_force(loans, came, coming) -> None:
    # Piece by piece, as they come: each goes to the first in the row that lacks it still and may have it.
    owed = [
        Owed(at, amount, since, date(2025, 2, day), until and since + until)
        for at, (amount, since, day, until) in enumerate(loans)
    ]
    over = sorted((one.until, one.loan) for one in owed if one.until is not None)
    queue = sorted((one.needed_on, one.since, one.loan) for one in owed if one.until is None)
    row = [owed[key[-1]] for key in (*over, *queue)]
    got, still = dict.fromkeys(range(len(owed)), 0), dict.fromkeys(range(len(owed)), 0)
    for act in [act for act, pieces in sorted(came) for _ in range(pieces)]:
        for one in row:
            if got[one.loan] < one.amount and one.since < act and (one.until is None or act < one.until):
                got[one.loan] += 1
                break
    for _ in range(coming):
        for one in row:
            if one.until is None and got[one.loan] + still[one.loan] < one.amount:
                still[one.loan] += 1
                break
    shares = shared_out(owed, came, coming)
    assert {loan: (its.came, its.coming) for loan, its in shares.items()} == {
        loan: (got[loan], still[loan]) for loan in got
    }
    running = [one.loan for one in row if one.until is None]
    assert all(shares[loan].before == tuple(running[:at]) for at, loan in enumerate(running))
