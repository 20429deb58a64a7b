"""What an engine's term runs on: its hand-over to the customer, and its meters read and changed."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class EngineHandover(models.Model):
    """The engine went to the customer: its term runs from that day, unless it was a rework inside an earlier term.

    One counts for a job; one whose act was corrected counts for nothing.
    """

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="engine_handovers")
    handed_over_on = models.DateField()
    used_in = models.CharField(max_length=60, blank=True, help_text="truck, boat, …: some limits count there alone")
    new_term = models.BooleanField(help_text="false: the earlier term goes on")

    class Meta:
        permissions = [
            ("act_hand_engine_over", "hand an engine over to the customer"),
            ("act_release_kept", "release the kept piece of a lot"),
        ]


class MeterReading(models.Model):
    """Hours or kilometres of an engine, read on a day; or its meter changed. A later one never overwrites an earlier."""

    engine = models.ForeignKey("kits.Engine", models.PROTECT, related_name="meter_readings")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    meter = models.CharField(max_length=10, choices=[("hours", "hours"), ("kilometres", "kilometres")])
    moment = models.CharField(max_length=12, help_text="arrival, hand-over, claim, or meter change")
    read_on = models.DateField()
    amount = models.BigIntegerField(
        help_text="seconds or metres: what the meter showed, a changed one when it came out"
    )
    begins = models.BigIntegerField(
        null=True, blank=True, help_text="only for a change: what the new meter began at, seconds or metres"
    )
    photo_ref = models.CharField(max_length=200, blank=True, help_text="where the photograph is kept; empty: none")
    asked = models.TextField(blank=True, help_text="what was asked about it; kept all the same, with the reason")

    class Meta:
        permissions = [("act_read_meter", "read and change meters of engines")]
        constraints = [
            models.CheckConstraint(name="meter_reading_not_negative", condition=Q(amount__gte=0)),
            models.CheckConstraint(
                name="meter_begins_only_when_changed",
                condition=Q(moment="meter change", begins__gte=0)
                | (~Q(moment="meter change") & Q(begins__isnull=True)),
            ),
        ]


class MeterReadingWithdrawal(models.Model):
    """The reading, or the change, was wrong: it never counted. It stays on record."""

    reading = models.OneToOneField(MeterReading, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="meter_reading_withdrawal_says_why", condition=~Q(reason=""))]
