"""What was scrapped."""

from __future__ import annotations

from django.db.models import QuerySet

from inventory.models import Scrap


def scraps() -> QuerySet[Scrap]:
    """What was scrapped and not taken back, with what it is, where it lay and by which act."""
    return Scrap.objects.filter(act__corrected_by__isnull=True).select_related(
        "act__actor", "item__part", "item__lot", "item__serial", "spot__place"
    )
