"""Tokens by which programs and benches log in. Not an act of the books: no stock is touched, nothing is booked."""

from __future__ import annotations

from django.apps import apps

from inventory.models import Person


def token_of(*, actor: Person) -> str:
    """The person's token, made at the first log-in; asked again it is the same."""
    token, _ = apps.get_model("authtoken", "Token").objects.get_or_create(user=actor)
    return str(token.key)


def drop_token(*, actor: Person) -> bool:
    """The person's token is worth nothing any more; False when there was none."""
    gone, _ = apps.get_model("authtoken", "Token").objects.filter(user=actor).delete()
    return bool(gone)
