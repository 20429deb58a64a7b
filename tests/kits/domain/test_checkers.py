"""Who checks at a site, by weekday, with who stands in."""

from datetime import date, timedelta

from kits.domain.checkers import WEEKDAYS, Duty, earliest_day, next_day, on_duty

#: The small site of the demo shop: its checker comes on Tuesday and Thursday.
REGULAR, COVER = 1, 2
DUTIES = (Duty(REGULAR, frozenset({1, 3}), False), Duty(COVER, frozenset(), True))
MONDAY, TUESDAY = date(2025, 1, 13), date(2025, 1, 14)


def test_the_days_are_what_they_are_called():
    assert (WEEKDAYS[MONDAY.weekday()], WEEKDAYS[TUESDAY.weekday()]) == ("Monday", "Tuesday")


def test_the_named_one_comes_before_who_stands_in():
    assert on_duty(DUTIES, TUESDAY) == (REGULAR, COVER)
    assert on_duty(DUTIES, MONDAY) == (COVER,)
    assert on_duty(DUTIES[:1], MONDAY) == ()
    assert on_duty((), MONDAY) == ()


def test_the_step_waits_for_the_next_day_with_another_person():
    assert next_day(DUTIES[:1], None, MONDAY) == TUESDAY
    assert next_day(DUTIES[:1], None, TUESDAY) == date(2025, 1, 16)
    assert next_day(DUTIES[:1], REGULAR, MONDAY) is None
    assert next_day(DUTIES, REGULAR, MONDAY) == TUESDAY
    assert next_day((), None, MONDAY) is None


def test_the_hand_over_moves_to_the_first_day_on_which_another_than_the_fitter_checks():
    assert earliest_day(DUTIES[:1], (), TUESDAY) == TUESDAY
    assert earliest_day(DUTIES[:1], (), MONDAY) == TUESDAY
    assert earliest_day(DUTIES[:1], (COVER,), date(2025, 1, 17)) == date(2025, 1, 21)
    assert earliest_day(DUTIES[:1], (REGULAR,), MONDAY) is None
    assert earliest_day(DUTIES, (REGULAR,), MONDAY) == MONDAY
    assert earliest_day((), (REGULAR,), MONDAY) == MONDAY


def test_the_earliest_day_is_the_first_of_all_days_that_would_do():
    """Brute force over a fortnight, every weekday of the one named checker."""
    for weekday in range(7):
        duties = (Duty(REGULAR, frozenset({weekday}), False),)
        for ahead in range(7):
            start = MONDAY + timedelta(days=ahead)
            good = [
                then
                for then in (start + timedelta(days=n) for n in range(14))
                if any(person != COVER for person in on_duty(duties, then))
            ]
            assert earliest_day(duties, (COVER,), start) == good[0]
