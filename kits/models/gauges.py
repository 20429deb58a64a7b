"""The register of gauges. Its rows are written once: a calibration, a study, the end of a gauge come in rows beside it."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class Gauge(models.Model):
    """A gauge with a number of its own. Amounts are whole base units of what it measures; `typed` keeps them as they came in."""

    number = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=60, help_text="height gauge, bore gauge, scales, … in the shop's words")
    measures = models.CharField(max_length=20, help_text="length, mass, angle, …: a dimension of the table of units")
    low = models.BigIntegerField()
    high = models.BigIntegerField()
    resolution = models.BigIntegerField()
    uncertainty = models.BigIntegerField(help_text="standard uncertainty (1 sigma), rounded up")
    typed = models.JSONField(help_text="low, high, resolution, uncertainty as typed")
    expansion_ppm = models.CharField(max_length=10, blank=True, help_text="per kelvin, exact decimal; empty: unknown")
    site = models.ForeignKey("inventory.Site", models.PROTECT, related_name="gauges")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")

    class Meta:
        permissions = [("act_gauge", "enter gauges, their calibrations, studies and ends")]
        constraints = [
            models.CheckConstraint(name="gauge_range_not_turned", condition=Q(high__gte=F("low"))),
            models.CheckConstraint(name="gauge_resolution_positive", condition=Q(resolution__gt=0)),
            models.CheckConstraint(name="gauge_uncertainty_positive", condition=Q(uncertainty__gt=0)),
        ]

    def __str__(self) -> str:
        return self.number


class Calibration(models.Model):
    """A gauge was held against a master. The newest done on or before a day says whether the gauge is in date on that day."""

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="calibrations")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    done_on = models.DateField()
    next_due = models.DateField()
    passed = models.BooleanField()
    master = models.CharField(max_length=200, help_text="number or name of the master it was held against")
    done_by = models.CharField(max_length=200, help_text="who or which laboratory did it")
    uncertainty = models.BigIntegerField(
        null=True, blank=True, help_text="1 sigma as found, rounded up; empty: as before"
    )
    uncertainty_typed = models.CharField(max_length=40, blank=True)
    result = models.TextField(blank=True)
    certificate = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="calibration_due_after_done", condition=Q(next_due__gte=F("done_on"))),
            models.CheckConstraint(
                name="calibration_uncertainty_positive",
                condition=Q(uncertainty__isnull=True) | Q(uncertainty__gt=0),
            ),
        ]


class GaugeWithdrawal(models.Model):
    """The gauge is lost, damaged or worn out. What was read with it before stays what it was."""

    gauge = models.OneToOneField(Gauge, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()


class GaugeStudy(models.Model):
    """A repeatability study: every reading of it as typed, and what came out, as one document."""

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="studies")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    document = models.JSONField()
