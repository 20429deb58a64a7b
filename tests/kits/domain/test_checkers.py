"""Who checks at a site, by weekday, with who stands in."""

from datetime import date

from kits.domain.checkers import WEEKDAYS, Duty, next_day, on_duty

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
