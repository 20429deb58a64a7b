"""What is kept back of lots, and until when as far as somebody knows: the stores know no engines."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from django.db.models import QuerySet

from inventory.models import KeptPiece

#: Gets a lot's id; the last day on which a piece of it is kept, None while that cannot be said.
Until = Callable[[int], date | None]
KEPT_WAY_OUT = "Release what is kept of the lot, once its last term has ended."
_until: list[Until] = []


def ask_until(of: Until) -> None:
    """Have this app say until when a lot's piece is kept."""
    if of not in _until:
        _until.append(of)


def open_kept() -> QuerySet[KeptPiece]:
    """Pieces that are kept now."""
    return KeptPiece.objects.filter(end__isnull=True)


def kept_at(item_id: int, spot_id: int) -> KeptPiece | None:
    """What is kept of an item at a spot. One query."""
    return open_kept().filter(item=item_id, spot=spot_id).select_related("lot").first()


def kept_until(kept: KeptPiece) -> date | None:
    """The last day of the last term of an engine with that lot; None while an engine with it has no term yet."""
    days = [day for day in (of(kept.lot_id) for of in _until) if day is not None]
    return max(days) if days else None


def kept_words(kept: KeptPiece, until: date | None) -> str:
    """Why it is not free, for the sentence of a refusal."""
    last = f"until {until}" if until else "until the last term of an engine with it has ended"
    return f"{kept.amount} of them is the kept one of lot {kept.lot.code}, {last}"
