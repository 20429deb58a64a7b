"""The shop's day by its time zone. The changes of the clock are those of the IANA time zone database (zic, 2024a and later)."""

from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.models import Person
from inventory.queries.days import day_of, last_of, shop_day, shop_time, start_of
from tests.factories.stores import PersonFactory

TICK = timedelta(microseconds=1)
EVENING = datetime(2025, 1, 15, 23, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "day", "shown"),
    [
        ("UTC", date(2025, 1, 15), "2025-01-15 23:30"),
        ("Africa/Johannesburg", date(2025, 1, 16), "2025-01-16 01:30"),
        ("America/New_York", date(2025, 1, 15), "2025-01-15 18:30"),
        ("Pacific/Auckland", date(2025, 1, 16), "2025-01-16 12:30"),
    ],
)
def test_a_moment_is_of_the_day_that_the_shop_has(settings, zone, day, shown):
    settings.TIME_ZONE = zone
    assert (shop_day(EVENING), f"{shop_time(EVENING):%Y-%m-%d %H:%M}") == (day, shown)


@pytest.mark.parametrize(
    ("zone", "day", "start", "hours"),
    [
        ("Africa/Johannesburg", date(2025, 1, 16), datetime(2025, 1, 15, 22, tzinfo=UTC), 24),
        # The clock is put on in the last week of March, and back in that of October.
        ("Europe/Athens", date(2025, 3, 30), datetime(2025, 3, 29, 22, tzinfo=UTC), 23),
        ("Europe/Athens", date(2025, 10, 26), datetime(2025, 10, 25, 21, tzinfo=UTC), 25),
        # Midnight was skipped: the day began at one o'clock. It came twice: the day began with the first.
        ("America/Sao_Paulo", date(2018, 11, 4), datetime(2018, 11, 4, 3, tzinfo=UTC), 23),
        ("America/Havana", date(2025, 11, 2), datetime(2025, 11, 2, 4, tzinfo=UTC), 25),
    ],
)
def test_a_day_is_as_long_as_the_clocks_make_it(settings, zone, day, start, hours):
    settings.TIME_ZONE = zone
    assert (start_of(day), last_of(day)) == (start, start + timedelta(hours=hours) - TICK)


@pytest.mark.parametrize("zone", ["UTC", "Europe/Athens", "America/Sao_Paulo", "Pacific/Chatham"])
def test_every_moment_is_of_one_day(settings, zone):
    settings.TIME_ZONE = zone
    for day in (date(2018, 1, 1) + timedelta(days=at) for at in range(366)):
        assert start_of(day + timedelta(days=1)) - last_of(day) == TICK
        assert {shop_day(start_of(day)), shop_day(last_of(day))} == {day}


@pytest.mark.parametrize("zone", ["Europe/Athens", "America/New_York"])
def test_the_first_and_the_last_day_that_are_taken_have_their_moments(settings, zone):
    settings.TIME_ZONE = zone
    assert shop_day(start_of(date(1900, 1, 1))) == date(1900, 1, 1)
    assert last_of(date.max) == datetime.max.replace(tzinfo=UTC)


def test_up_to_a_moment_is_that_moment():
    assert last_of(EVENING) is EVENING


@pytest.mark.django_db
@pytest.mark.parametrize("zone", ["UTC", "Europe/Athens", "America/New_York", "Pacific/Auckland"])
def test_the_database_reckons_the_same_day(settings, zone):
    settings.TIME_ZONE = zone
    midnight = start_of(date(2025, 3, 30))
    for moment in (EVENING, midnight - TICK, midnight, last_of(date(2025, 3, 30))):
        person = PersonFactory(date_joined=moment)
        found = Person.objects.filter(pk=person.pk).annotate(on=day_of("date_joined")).get()
        assert found.on == shop_day(moment)
