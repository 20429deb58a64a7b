"""Hours worked on extra work: entries that are added and reversed, never edited."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class WorkedTime(models.Model):
    """So long somebody worked on a finding of extra work on a day."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="worked")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    finding = models.ForeignKey("kits.JobFinding", models.PROTECT, db_index=False, related_name="worked")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")
    worked_on = models.DateField()
    time_s = models.PositiveIntegerField()
    typed = models.CharField(max_length=40)

    class Meta:
        permissions = [("act_extra_hours", "enter hours worked on extra work")]
        constraints = [models.CheckConstraint(name="worked_some_time", condition=Q(time_s__gt=0))]


class WorkedTimeReversal(models.Model):
    """An entry that was wrong counts for nothing from then on; it stays to be read."""

    entry = models.OneToOneField(WorkedTime, models.PROTECT, primary_key=True, related_name="reversal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()
