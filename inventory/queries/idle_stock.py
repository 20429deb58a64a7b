"""What stands on the shelves and nobody used for long: how many months since the last use, and how long it lasts at the past's rate."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Count, Sum

from inventory.domain.items import Base
from inventory.domain.places import PlaceKind
from inventory.models import Balance, Part
from inventory.queries.write_offs import months_between, use_of

Body = dict[str, Any]


def idle_stock(on: date, months: int, window_days: int, site: str = "") -> list[Body]:
    """Parts with pieces on the shelves now that nobody used for so many whole months up to a day, or ever; what was never used first,
    then the longest idle. JSON-ready.

    site: code of one, and empty for all of them as one, as in `write_offs`, whose use it is; cover is what lies there over the rate of the window, None where nothing was used in it. What is counted
    in pieces alone. Five queries, one where nothing lies there.
    """
    rows = Balance.objects.filter(
        amount__gt=0, real=True, place__kind=PlaceKind.SHELF.value, part__base=Base.PIECE.value, item__tube__isnull=True
    )
    if site:
        rows = rows.filter(place__site__code=site)
    lies = {pk: (pieces, bins) for pk, pieces, bins in rows.values_list("part").annotate(Sum("amount"), Count("spot"))}
    if not lies:
        return []
    used = use_of(lies, on, window_days, site)
    last = {pk: used[pk].last for pk in lies}
    idle = {pk for pk, day in last.items() if day is None or months_between(day, on) >= months}
    parts = Part.objects.filter(pk__in=idle).order_by("number")
    answer = []
    for part in sorted(parts, key=lambda one: (last[one.pk] or date.min, one.number)):
        (pieces, bins), use, day = lies[part.pk], used[part.pk], last[part.pk]
        answer.append(
            {
                "part": part.number,
                "name": part.name,
                "on_shelf": pieces,
                "bins": bins,
                "last_used_on": day,
                "months_since_use": None if day is None else months_between(day, on),
                "used": use.pieces,
                "window_days": use.days,
                "cover_days": int(pieces / use.per_day) if use.per_day else None,
                "coins": None if part.price_coins is None else part.price_coins * pieces,
            }
        )
    return answer
