"""Who asks: a token for programs and benches, a session for people at a browser."""

from __future__ import annotations

import hashlib
from typing import Any

from django.core.cache import cache
from rest_framework import authentication, exceptions
from rest_framework.request import Request

#: Failed log-ins for one name before it has to wait. Counted in each worker for itself: enough against guessing by hand or script.
MOST_FAILURES = 10
WAIT_S = 15 * 60


class TokenAuthentication(authentication.TokenAuthentication):
    """`Authorization: Token …`; a word that cannot be a token is refused before the database sees it."""

    def authenticate_credentials(self, key: str) -> Any:
        """Person and token; AuthenticationFailed."""
        if not (key.isascii() and key.isalnum() and len(key) <= 40):
            raise exceptions.AuthenticationFailed("The token is not known.")
        return super().authenticate_credentials(key)


def _place_of(name: str, request: Request) -> str:
    whole = f"{name}\0{request.META.get('REMOTE_ADDR', '')}".encode("utf-8", "backslashreplace")
    return "failed-log-ins:" + hashlib.sha256(whole).hexdigest()


def check_failures(name: str, request: Request) -> None:
    """Throttled when this name failed too often from this address."""
    if cache.get(_place_of(name, request), 0) >= MOST_FAILURES:
        raise exceptions.Throttled(WAIT_S, "Too many failed log-ins for this name; wait and try again.")


def count_failure(name: str, request: Request) -> None:
    """One more failed log-in."""
    place = _place_of(name, request)
    cache.add(place, 0, WAIT_S)
    cache.incr(place)


def forget_failures(name: str, request: Request) -> None:
    """The log-in succeeded."""
    cache.set(_place_of(name, request), 0, WAIT_S)
