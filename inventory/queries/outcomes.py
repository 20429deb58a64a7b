"""What an act answered, or why it was refused, by its key."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from inventory.models import Outcome, Refusal


def outcome_of(key: UUID) -> dict[str, Any] | None:
    """The stored outcome of the act with this key; None when there is no such act. One query."""
    row = Outcome.objects.filter(act__key=key).first()
    return None if row is None else dict(row.body)


def refusal_of(key: UUID) -> str | None:
    """The sentence of the first refusal under this key; None when nothing was refused under it. One query."""
    return Refusal.objects.filter(key=key).order_by("pk").values_list("message", flat=True).first()
