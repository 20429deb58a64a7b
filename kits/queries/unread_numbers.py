"""Engine numbers of replacement notices that no family on record has: entered before any family was, and read by none since."""

from __future__ import annotations

from typing import Any

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.models import Replacement
from kits.domain.engine_numbers import parse_engine_number
from kits.models import EngineFamily

_NAMES = (("engine_below", "below"), ("engine_from", "from"))


def unread_why(typed: str, families: dict[str, int]) -> str:
    """Why an engine number is none of any family, in words; "" where it is one, and while no family is on record.

    families  prefix → number of digits
    """
    try:
        if families:
            parse_engine_number(typed, families)
    except DomainError as error:
        return error.message
    return ""


def widths() -> dict[str, int]:
    """Prefix → number of digits of every family on record. One query."""
    return dict(EngineFamily.objects.values_list("prefix", "width"))


def unread_notices() -> list[dict[str, Any]]:
    """Notices that count and whose engine number is none of any family on record, by number of the notice: [{replacement, old, numbers:
    "below X9-730", why}]. Two queries.

    Such a number decides nothing rightly: old stock that is left to engines below it goes into no engine, and what replaces it from there
    on is taken for none.
    """
    families = widths()
    rows = Replacement.objects.filter(~Q(engine_below="") | ~Q(engine_from=""), withdrawn=False)
    found = []
    for row in rows.select_related("old").order_by("pk"):
        for field, word in _NAMES:
            typed = getattr(row, field)
            why = unread_why(typed, families) if typed else ""
            if why:
                found.append({"replacement": row.pk, "old": row.old.number, "numbers": f"{word} {typed}", "why": why})
    return found
