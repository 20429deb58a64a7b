"""Incoming inspection: how many pieces of a delivered lot are looked at, and what was found."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class SamplePlan(models.Model):
    """How a lot of the part is sampled when it comes in, from one supplier or from any; the newest counts.

    `sample` pieces are looked at (0: none any more), the lot passes with at most `accept` bad ones among them.
    """

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="sample_plans")
    part = models.ForeignKey("inventory.Part", models.PROTECT, related_name="sample_plans")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, null=True, blank=True, db_index=False)
    sample = models.PositiveIntegerField()
    accept = models.PositiveIntegerField()
    checks = models.TextField(blank=True, help_text="what is looked at: dimensions, hardness, and by what")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="sample_plan_may_fail", condition=Q(accept__lt=F("sample")) | Q(sample=0, accept=0)
            )
        ]


class LotInspection(models.Model):
    """What a sample of one lot of one delivery was like. Passed or not follows from its plan; the newest counts."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="lot_inspections")
    receipt = models.ForeignKey("inventory.Receipt", models.PROTECT, db_index=False, related_name="inspections")
    lot = models.ForeignKey("inventory.Lot", models.PROTECT, related_name="inspections")
    plan = models.ForeignKey(SamplePlan, models.PROTECT, db_index=False, related_name="inspections")
    sampled = models.PositiveIntegerField()
    bad = models.PositiveIntegerField()
    results = models.JSONField(default=list, help_text="what was measured, as it was written down")

    class Meta:
        constraints = [
            models.CheckConstraint(name="inspection_sampled_something", condition=Q(sampled__gte=1)),
            models.CheckConstraint(name="inspection_bad_within_sample", condition=Q(bad__lte=F("sampled"))),
        ]
