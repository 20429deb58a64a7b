"""Express against the bench that waits."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.expedite import express, idle_days

ORDERED, NEEDED = date(2025, 1, 15), date(2025, 2, 3)


def test_a_bench_waits_from_the_day_on_which_it_needs_the_part() -> None:
    assert idle_days(NEEDED, date(2025, 2, 19)) == 16
    assert idle_days(NEEDED, NEEDED) == 0
    assert idle_days(NEEDED, date(2025, 1, 20)) == 0


def test_what_costs_as_much_as_it_saves_is_worth_it_and_a_coin_more_is_not() -> None:
    # Worked by hand: usually here on 02-19, fast on 02-04: 16 idle days become 1, so 15 at 20 000 coins = 300 000.
    found = express(ORDERED, NEEDED, 35, 20, 300_000, 20_000)
    assert (found.arrives_on, found.in_time) == (date(2025, 2, 4), False)
    assert (found.idle_days_saved, found.saved_coins, found.worth_it) == (15, 300_000, True)
    assert express(ORDERED, NEEDED, 35, 20, 300_001, 20_000).worth_it is False


def test_what_is_here_in_time_anyhow_is_never_worth_it() -> None:
    found = express(ORDERED, NEEDED, 19, 1, 0, 20_000)
    assert (found.in_time, found.idle_days_saved, found.worth_it) == (True, 0, False)


def test_nobody_can_tell_where_days_or_cost_are_not_known() -> None:
    unknown = express(ORDERED, NEEDED, None, 5, 100, 20_000)
    assert (unknown.in_time, unknown.idle_days_saved, unknown.worth_it) == (True, None, None)
    no_price = express(ORDERED, NEEDED, 35, 5, 100, None)
    assert (no_price.idle_days_saved, no_price.saved_coins, no_price.worth_it) == (16, None, None)


@given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60))
def test_days_saved_are_those_on_which_only_the_slower_is_missing(until: int, lead: int, fast: int) -> None:
    needed = ORDERED + timedelta(days=until)
    waiting = [
        day
        for day in (ORDERED + timedelta(days=at) for at in range(120))
        if needed <= day < ORDERED + timedelta(days=lead)
    ]
    spared = [day for day in waiting if day >= ORDERED + timedelta(days=fast)]
    assert express(ORDERED, needed, lead, fast, 0, 1).idle_days_saved == len(spared)
