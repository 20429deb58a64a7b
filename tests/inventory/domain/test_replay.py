"""Replaying movements: the same as adding them up, and whatever stood below nothing is named."""

from collections import Counter
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.replay import Below, Moved, differences, replay

AT = datetime(2025, 1, 15, tzinfo=UTC)
MOVES = st.lists(
    st.tuples(st.integers(0, 5), st.integers(1, 3), st.integers(1, 9), st.integers(1, 4), st.integers(1, 4)).filter(
        lambda move: move[3] != move[4]
    )
)


@given(MOVES)
def test_it_is_the_sum_and_every_moment_below_nothing_is_named(moves: list[tuple[int, ...]]) -> None:
    rows = [Moved(AT + timedelta(days=day), *rest) for day, *rest in sorted(moves, key=lambda move: move[0])]
    levels, below = replay(rows, frozenset({1, 2}))
    twin: Counter[tuple[int, int]] = Counter()
    for one in rows:
        twin[one.item, one.origin] -= one.amount
        twin[one.item, one.target] += one.amount
    assert levels == {pair: level for pair, level in twin.items() if level}
    expected = set()
    for at in {one.at for one in rows}:
        then: Counter[tuple[int, int]] = Counter()
        for one in (one for one in rows if one.at <= at):
            then[one.item, one.origin] -= one.amount
            then[one.item, one.target] += one.amount
        touched = {(one.item, one.origin) for one in rows if one.at == at}
        expected |= {Below(at, *pair, then[pair]) for pair in touched if pair[1] in (1, 2) and then[pair] < 0}
    assert set(below) == expected


def test_within_one_moment_the_order_does_not_count() -> None:
    rows = [Moved(AT, 1, 5, 1, 2), Moved(AT, 1, 5, 9, 1)]
    assert replay(rows, frozenset({1, 2})) == ({(1, 2): 5, (1, 9): -5}, [])


def test_differences_both_ways() -> None:
    assert differences({(1, 1): 5, (1, 2): 3}, {(1, 1): 5, (2, 1): 4}) == [(1, 2, 3, 0), (2, 1, 0, 4)]
    assert differences({(1, 1): 5}, {(1, 1): 5}) == []
