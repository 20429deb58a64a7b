"""The structured files of the demo shop, and keys and times for its acts."""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from typing import Any

from django.conf import settings

from inventory.services.run import Stamp

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
    """A time of day of the shop, in UTC."""
    when = date.fromisoformat(day) if isinstance(day, str) else day
    return datetime.combine(when, time(0, 0), UTC) + timedelta(hours=hour, minutes=minute)


def stamp(name: str, at: datetime) -> Stamp:
    """The stamp of the demo's act of this name: its key never changes."""
    return Stamp(key=uuid.uuid5(_NAMESPACE, name), occurred_at=at, recorded_at=at)
