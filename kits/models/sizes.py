"""Sizes that stay with an engine. An entry is never changed: it is withdrawn by a row of its own."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class EngineSize(models.Model):
    """What was cut off, measured or repaired on a job, of a kind that the family's fact `sizes` names.

    `value` is in nanometres, read from `typed`, or what the readings of `EngineSizeReading` come to; null for a thread, whose insert
    stands in `detail`. renewed: the piece was new then, what was entered of it before counts no longer.
    """

    engine = models.ForeignKey("kits.Engine", models.PROTECT, related_name="sizes")
    job = models.ForeignKey("kits.Job", models.PROTECT, db_index=False, related_name="sizes")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    name = models.CharField(max_length=200)
    place = models.CharField(max_length=80, help_text="place of the engine: ENGINE, CYL-2, MAIN-3, HEAD/bolt-07")
    typed = models.CharField(max_length=40, blank=True)
    value = models.BigIntegerField(null=True, blank=True)
    gauge = models.ForeignKey("kits.Gauge", models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    renewed = models.BooleanField(default=False)
    detail = models.CharField(max_length=200, blank=True, help_text="which insert, or what else is to be known")

    class Meta:
        constraints = [
            models.CheckConstraint(name="engine_size_not_negative", condition=Q(value__isnull=True) | Q(value__gte=0)),
            models.CheckConstraint(
                name="engine_size_says_something",
                condition=Q(value__isnull=False) | ~Q(detail="") | Q(renewed=True),
            ),
            models.CheckConstraint(
                name="engine_size_measured_with_gauge", condition=Q(value__isnull=True) | Q(gauge__isnull=False)
            ),
        ]


class EngineSizeReading(models.Model):
    """A reading that was accepted as a size. Once it is withdrawn, the entry counts no longer."""

    size = models.ForeignKey(EngineSize, models.PROTECT, related_name="readings")
    reading = models.ForeignKey("kits.Reading", models.PROTECT, related_name="sizes")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["size", "reading"], name="engine_size_reading_once")]


class EngineSizeWithdrawal(models.Model):
    """The entry was wrong: it never counted."""

    size = models.OneToOneField(EngineSize, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="engine_size_withdrawal_says_why", condition=~Q(reason=""))]
