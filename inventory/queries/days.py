"""The shop's day: the one place where a moment becomes a day, and a day the moments between which it lies.

Which day a moment is of depends on where the shop stands: its time zone is one setting (`MATCHBORE_TIME_ZONE`). Nothing here
looks at the clock, and domain code is handed days.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo

from django.db.models.functions import TruncDate
from django.utils.timezone import get_default_timezone


def shop_day(moment: datetime) -> date:
    """The day in the shop at a moment (aware)."""
    return shop_time(moment).date()


def shop_time(moment: datetime) -> datetime:
    """A moment (aware) as the shop's clocks show it, for people to read."""
    return moment.astimezone(get_default_timezone())


def shop_zone() -> tzinfo:
    """The time zone of the shop, for a database that takes months of moments."""
    return get_default_timezone()


def day_of(field: str) -> TruncDate:
    """The day in the shop of a column of moments, as the database reckons it."""
    return TruncDate(field, tzinfo=shop_zone())


def start_of(day: date) -> datetime:
    """The first moment of a day in the shop, in UTC: midnight, or where the clock is put on at midnight, that moment."""
    return datetime.combine(day, time(), get_default_timezone()).astimezone(UTC)


def last_of(given: date | datetime) -> datetime:
    """The last moment of a day in the shop, in UTC, to the microsecond as moments are kept; a moment is that moment itself."""
    if isinstance(given, datetime):
        return given
    if given == date.max:
        return datetime.max.replace(tzinfo=UTC)
    return start_of(given + timedelta(days=1)) - timedelta(microseconds=1)
