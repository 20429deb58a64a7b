"""The structured files of the demo shop, and keys and times for its acts."""

from __future__ import annotations

import json
import uuid
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

from django.conf import settings

from inventory.domain.errors import DomainError
from inventory.queries.days import start_of
from inventory.queries.outcomes import outcome_of, refusal_of
from inventory.services.run import Done, Stamp

#: Every act of the demo has a key of its own name, so loading again, or after a break, repeats nothing.
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "matchbore demo shop")


@cache
def document(name: str) -> dict[str, Any]:
    """A structured file of the shop, by its path below fixtures/shop without the ending."""
    path = settings.BASE_DIR / "fixtures" / "shop" / f"{name}.json"
    loaded: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return loaded


def documents(folder: str) -> Iterable[dict[str, Any]]:
    """Every file of a folder, by name."""
    paths = sorted((settings.BASE_DIR / "fixtures" / "shop" / folder).glob("*.json"))
    return [document(f"{folder}/{path.stem}") for path in paths]


def moment(day: date | str, hour: int = 8, minute: int = 0) -> datetime:
    """A time of day in the shop, in UTC."""
    when = date.fromisoformat(day) if isinstance(day, str) else day
    return start_of(when) + timedelta(hours=hour, minutes=minute)


def stamp(name: str, at: datetime) -> Stamp:
    """The stamp of the demo's act of this name: its key never changes."""
    return Stamp(key=uuid.uuid5(_NAMESPACE, name), occurred_at=at, recorded_at=at)


def once(service: Callable[..., Done], *, stamp: Stamp, **given: Any) -> dict[str, Any]:
    """The outcome of the demo's act with this stamp: of the act that stands in the books already, or done now.

    What a later act is asked for depends on what stands on the shelves; looking first means that a load which was broken
    off goes on where it stopped, instead of asking for something else under a used key.
    """
    known = outcome_of(stamp.key)
    return known if known is not None else service(stamp=stamp, **given).body


def told_no(service: Callable[..., Done], *, stamp: Stamp, **given: Any) -> str:
    """Why the demo's act with this stamp is refused, as it was told the first time; AssertionError if it is not."""
    known = refusal_of(stamp.key)
    if known is not None:
        return known
    try:
        service(stamp=stamp, **given)
    except DomainError as error:
        return error.message
    raise AssertionError("what should have been refused was done")
