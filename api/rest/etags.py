"""Editing without overwriting somebody else's change: the version that was read comes back in If-Match (RFC 9110, 13.1.1)."""

from __future__ import annotations

import re

from rest_framework.request import Request

from api.rest.problems import refuse
from inventory.domain.text import shown

_VERSION = re.compile(r'"([0-9]{1,9})"')


def etag(version: int) -> str:
    """The entity tag of a version."""
    return f'"{version}"'


def version_of(request: Request) -> int:
    """The version in If-Match; DomainError "version-missing" without one, "version-stale" for a tag that never was ours."""
    text = request.headers.get("If-Match", "")
    if not text:
        raise refuse(
            "version-missing",
            "There is no If-Match header.",
            ways_out=("Read the thing, and send the ETag that came with it in If-Match.",),
        )
    found = _VERSION.fullmatch(text.strip())
    if found is None:
        raise refuse("version-stale", f"{shown(text)} is not a version that was given out.", given=shown(text))
    return int(found[1])
