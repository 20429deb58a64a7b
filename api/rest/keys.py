"""The key and the times of a write, made at the edge, and its answer.

Every write carries `Idempotency-Key`, a UUID that the caller makes once for one act: sent again, the same act is not done
again, its first answer is given again and says so in `Idempotent-Replayed`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.problems import refuse
from api.rest.words import KEY_HEADER, REPLAYED_HEADER
from inventory.domain.text import shown
from inventory.services.run import Done, Stamp

_WAY_OUT = ("Send a new UUID for a new act, the same UUID to ask again for the answer of the same act.",)


def key_of(request: Request) -> UUID:
    """The caller's key; DomainError "key-missing" when there is none or it is not a UUID."""
    text = request.headers.get(KEY_HEADER, "")
    if not text:
        raise refuse("key-missing", f"There is no {KEY_HEADER} header.", ways_out=_WAY_OUT)
    try:
        if len(text) != 36:
            raise ValueError
        return UUID(text)
    except ValueError:
        raise refuse(
            "key-missing", f'{KEY_HEADER} "{shown(text)}" is not a UUID.', ways_out=_WAY_OUT, key=shown(text)
        ) from None


def stamp_of(request: Request, data: Mapping[str, Any]) -> Stamp:
    """Key, when it happened (now, unless the body says earlier), when it became known (now), and the device that sent it later."""
    now = timezone.now()
    occurred_at: datetime = data.get("occurred_at") or now
    return Stamp(
        key=key_of(request),
        occurred_at=occurred_at,
        recorded_at=now,
        device=data.get("device", ""),
        device_at=data.get("device_at"),
    )


def answer(done: Done) -> Response:
    """201 with the act's own address and its stored outcome; a replay gives the very same body."""
    headers = {"Location": f"/api/v1/acts/{done.act_id}"}
    if done.replayed:
        headers[REPLAYED_HEADER] = "true"
    return Response(in_order(done.body), status=status.HTTP_201_CREATED, headers=headers)


def in_order(value: Any) -> Any:
    """Objects with their names sorted: PostgreSQL keeps JSON in an order of its own, and a replay is to be the same to the byte."""
    if isinstance(value, Mapping):
        return {name: in_order(value[name]) for name in sorted(value)}
    if isinstance(value, list):
        return [in_order(inner) for inner in value]
    return value
