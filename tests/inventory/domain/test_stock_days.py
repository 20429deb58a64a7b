"""Days on which none was there, by month: worked by hand, and against a walk day by day."""

from collections import Counter
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.stock_days import MonthStock, Step, months_between, stock_by_month

JAN = date(2025, 1, 1)


def day(number, month=1):
    return date(2025, month, number)


def test_a_part_that_ran_out_was_missing_from_the_next_day_to_the_day_before_more_came():
    steps = [Step(day(10), -4, False), Step(day(20), 6, True)]
    # The tenth had four as it began; the twentieth got six: nine days between them had none.
    assert stock_by_month(4, steps, JAN, day(31)) == {"2025-01": MonthStock(31, 9)}


def test_what_comes_and_goes_on_one_day_was_there_on_that_day():
    assert stock_by_month(0, [Step(day(5), 0, True)], JAN, day(10)) == {"2025-01": MonthStock(10, 9)}
    assert stock_by_month(0, [Step(day(5), 0, False)], JAN, day(10)) == {"2025-01": MonthStock(10, 10)}


def test_months_are_told_apart_and_parts_of_them_are_counted_as_far_as_they_are_asked_about():
    told = stock_by_month(1, [Step(day(30), -1, False)], day(15), day(3, month=3))
    assert told == {"2025-01": MonthStock(17, 1), "2025-02": MonthStock(28, 28), "2025-03": MonthStock(3, 3)}
    assert months_between(date(2024, 12, 31), JAN) == ["2024-12", "2025-01"]
    assert months_between(JAN, date(2024, 12, 31)) == []


@given(
    st.integers(0, 3),
    st.dictionaries(st.integers(0, 69), st.tuples(st.integers(-3, 3), st.booleans())),
    st.integers(0, 70),
)
def test_it_is_what_a_walk_day_by_day_finds(there, changes, length):
    steps = [Step(JAN + timedelta(days=at), change, came) for at, (change, came) in changes.items() if at < length]
    days, without, level = Counter(), Counter(), there
    for number in range(length):
        at = JAN + timedelta(days=number)
        change, came = changes.get(number, (0, False))
        days[f"{at:%Y-%m}"] += 1
        without[f"{at:%Y-%m}"] += level <= 0 and not came
        level += change
    told = stock_by_month(there, steps, JAN, JAN + timedelta(days=length - 1))
    assert told == {month: MonthStock(days[month], without[month]) for month in days}
