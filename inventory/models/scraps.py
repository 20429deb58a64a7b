"""What was scrapped: who pays for it, where its photo is, whether it was made unusable."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.stores import WhoPays


class Scrap(models.Model):
    """So much of an item was scrapped; the reason, the person and the job stand with the act."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="scraps")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="scraps")
    spot = models.ForeignKey(
        "inventory.Spot", models.PROTECT, db_index=False, related_name="+", help_text="where it lay"
    )
    amount = models.BigIntegerField()
    who_pays = models.CharField(max_length=8, choices=[(who.value, who.value) for who in WhoPays])
    photo_ref = models.CharField(max_length=200, blank=True, help_text="where the photo is kept")
    no_photo = models.CharField(max_length=200, blank=True, help_text="why there is no photo of a matched set")
    destroyed = models.BooleanField(help_text="made unusable: rings cut, bolts marked")

    class Meta:
        constraints = [
            models.CheckConstraint(name="scrap_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(
                name="scrap_paid_by_somebody", condition=Q(who_pays__in=[who.value for who in WhoPays])
            ),
        ]
