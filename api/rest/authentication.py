"""Who asks: a token for programs and benches, a session for people at a browser."""

from __future__ import annotations

import hashlib
from datetime import timedelta
from typing import Any

from rest_framework import authentication, exceptions
from rest_framework.request import Request

#: Failed log-ins for one name from one address before it has to wait; counted in the database, for all workers together.
MOST_FAILURES = 10
WAIT = timedelta(minutes=15)


class TokenAuthentication(authentication.TokenAuthentication):
    """`Authorization: Token …`; a word that cannot be a token is refused before the database sees it."""

    def authenticate_credentials(self, key: str) -> Any:
        """Person and token; AuthenticationFailed."""
        if not (key.isascii() and key.isalnum() and len(key) <= 40):
            raise exceptions.AuthenticationFailed("The token is not known.")
        return super().authenticate_credentials(key)


def who_tries(name: str, request: Request) -> str:
    """Digest of the name and the address it comes from; neither is kept."""
    whole = f"{name}\0{request.META.get('REMOTE_ADDR', '')}".encode("utf-8", "backslashreplace")
    return hashlib.sha256(whole).hexdigest()
