"""How much of each part the shop has fitted: the first look at what it uses."""

from __future__ import annotations

from datetime import datetime

from django.db.models import Sum

from kits.models import Fitting


def used_by_part(since: datetime | None = None) -> dict[str, int]:
    """Whole base units fitted by part number since a moment; what went back into its own place is no use. One query.

    Poured parts counted in tubes are left out: what is fitted of them is in microlitres.
    """
    rows = Fitting.objects.filter(
        reused=False, act__corrected_by__isnull=True, correction__isnull=True, item__tube__isnull=True
    )
    if since is not None:
        rows = rows.filter(act__occurred_at__gte=since)
    return dict(rows.values_list("item__part__number").annotate(total=Sum("amount")).order_by("item__part__number"))
