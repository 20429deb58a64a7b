"""Beside jobs and orders: counter sales, workshop use, emergency buys, with their word on demand, and words on months of it. Rows that are
written once."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.off_job import What


class OffJob(models.Model):
    """One such act; why stands with the act. The lines of an emergency buy are those of its receipt."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="off_job")
    what = models.CharField(max_length=16, choices=[(one.value, one.value) for one in What])
    demand = models.BooleanField(help_text="counts in the history of demand")
    buyer = models.ForeignKey(
        "inventory.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="of a sale: who bought it, to be reached in a recall",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="off_job_sale_has_buyer",
                condition=Q(what=What.COUNTER.value, buyer__isnull=False)
                | (~Q(what=What.COUNTER.value) & Q(buyer__isnull=True)),
            )
        ]


class OffJobLine(models.Model):
    """So much of an item that left a shelf."""

    off_job = models.ForeignKey(OffJob, models.PROTECT, related_name="lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="off_job_lines")
    amount = models.BigIntegerField()
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(name="off_job_line_amount_positive", condition=Q(amount__gt=0))]


class SoldReturn(models.Model):
    """So much of a sold line came back, to quarantine."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="sold_return")
    line = models.ForeignKey(OffJobLine, models.PROTECT, related_name="returns")
    amount = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="sold_return_amount_positive", condition=Q(amount__gt=0))]


class DemandMark(models.Model):
    """A person's word that a month of a part's demand was exceptional, or that it was not; why stands with the act. The newest counts."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="demand_mark")
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    month = models.CharField(max_length=7, help_text="2025-01")
    exceptional = models.BooleanField()

    class Meta:
        indexes = [models.Index(fields=["part", "month"], name="demand_mark_of_month")]
