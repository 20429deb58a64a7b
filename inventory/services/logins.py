"""Tokens by which programs and benches log in, and tries that failed. No acts of the books: nothing is booked."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.apps import apps
from django.db.models import F

from inventory.models import FailedLogin, Person
from inventory.services.run import patiently


def token_of(*, actor: Person) -> str:
    """The person's token, made at the first log-in; asked again it is the same."""
    token, _ = apps.get_model("authtoken", "Token").objects.get_or_create(user=actor)
    return str(token.key)


def drop_token(*, actor: Person) -> bool:
    """The person's token is worth nothing any more; False when there was none."""
    gone, _ = apps.get_model("authtoken", "Token").objects.filter(user=actor).delete()
    return bool(gone)


def count_try(*, actor: Person | None, who: str, now: datetime, window: timedelta) -> int:
    """Count a try to log in before the password is looked at, and say the how-many-eth it is in the window since the first.

    Counted before, so that tries at the same moment, in whatever worker, are never more than the count says; `forget_tries`
    takes it back when the password was right. Rows of past windows are dropped here: what is kept is what was tried within
    one window. actor   nobody yet
    """

    def once() -> int:
        FailedLogin.objects.filter(since__lte=now - window).delete()
        FailedLogin.objects.bulk_create([FailedLogin(who=who, count=0, since=now)], ignore_conflicts=True)
        FailedLogin.objects.filter(who=who).update(count=F("count") + 1)
        # Another's right password may have dropped the row in between.
        return FailedLogin.objects.filter(who=who).values_list("count", flat=True).first() or 1

    return patiently(once)


def forget_tries(*, actor: Person, who: str) -> None:
    """The password was right: the tries before it count no longer."""

    def once() -> None:
        FailedLogin.objects.filter(who=who).delete()

    patiently(once)
