"""Periods of use positions against a naive replay, day by day."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.periods import Change, Period, periods

START = datetime(2024, 1, 1, tzinfo=UTC)


def day(number: int) -> datetime:
    return START + timedelta(days=number)


def change(amount: int, on: int, order: int, item: int = 1, position: str = "CYL-1/ring") -> Change:
    return Change(position, item, amount, day(on), order, order)


def test_fitted_taken_out_and_another_fitted():
    assert periods([change(1, 1, 1), change(-1, 5, 2), change(1, 5, 3, item=2)]) == (
        Period("CYL-1/ring", 1, 1, day(1), day(5), 1, 2),
        Period("CYL-1/ring", 2, 1, day(5), None, 3, None),
    )


def test_what_was_in_and_out_at_one_moment_did_not_sit_there():
    assert periods([change(1, 1, 1), change(-1, 1, 2)]) == ()


def test_of_an_amount_what_came_first_leaves_first():
    assert periods([change(3, 1, 1), change(2, 2, 2), change(-4, 3, 3)]) == (
        Period("CYL-1/ring", 1, 3, day(1), day(3), 1, 3),
        Period("CYL-1/ring", 1, 1, day(2), day(3), 2, 3),
        Period("CYL-1/ring", 1, 1, day(2), None, 2, None),
    )


def test_a_backdated_change_counts_from_when_it_happened():
    late = change(-1, 2, 9)
    assert periods([change(1, 1, 1), change(1, 4, 2, item=2), late])[0].until == day(2)


# Each step: which position, on which later day, which item is fitted if the position is empty (else it is emptied).
STEPS = st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 3), st.integers(1, 4)), max_size=30)


@settings(max_examples=80)
@given(STEPS)
def test_periods_of_one_position_never_overlap_and_say_what_a_replay_says(steps):
    now, there, changes = 0, {}, []
    history: list[dict[str, int]] = []
    for order, (position, later, item) in enumerate(steps):
        for _ in range(later):
            history.append(dict(there))
        now += later
        if position in there:
            changes.append(change(-1, now, order, there.pop(position), position))
        else:
            there[position] = item
            changes.append(change(1, now, order, item, position))
    history.append(dict(there))
    found = periods(changes)
    for one in "abc":
        mine = [period for period in found if period.position == one]
        for before, after in zip(mine, mine[1:], strict=False):
            assert before.until is not None and before.until <= after.since
    for number, expected in enumerate(history):
        moment = day(number)
        sitting = {p.position: p.item for p in found if p.since <= moment and (p.until is None or moment < p.until)}
        assert sitting == expected
