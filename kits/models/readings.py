"""What was measured on a job. A reading is never changed: it is withdrawn by a row of its own, and read again."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class Reading(models.Model):
    """One reading.

    `value` is in whole base units of what is measured (nm, mg), read from `typed`, or from `meant` where a person said what the typed
    text was meant to be. Temperatures are in millikelvin. A condition that is empty was not said.
    """

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="readings")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    what = models.CharField(max_length=30)
    place = models.CharField(max_length=80, blank=True, help_text="place of the engine: CYL-2, MAIN-3, HEAD/bolt-07")
    serial = models.ForeignKey(
        "inventory.Serial", models.PROTECT, null=True, blank=True, related_name="readings", help_text="the matched set"
    )
    item = models.ForeignKey("inventory.Item", models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    point = models.CharField(max_length=40, blank=True, help_text="clock hour, or plane and direction: top/across")
    repeat = models.PositiveIntegerField(help_text="how-manyeth reading of the same; counted on, withdrawn ones too")
    typed = models.CharField(max_length=40)
    meant = models.CharField(
        max_length=40, blank=True, help_text="what the typed text was meant to be, where it was a slip"
    )
    value = models.BigIntegerField()
    unit = models.CharField(max_length=8, help_text="Rec 20 code of the unit that was typed")
    exact = models.BooleanField(help_text="false: the typed value was rounded to the base unit")
    gauge = models.ForeignKey("kits.Gauge", models.PROTECT, related_name="readings")
    part_mk = models.BigIntegerField(null=True, blank=True)
    part_typed = models.CharField(max_length=40, blank=True)
    gauge_mk = models.BigIntegerField(null=True, blank=True)
    gauge_typed = models.CharField(max_length=40, blank=True)
    is_clean = models.BooleanField(null=True, blank=True)
    clamped = models.BooleanField(null=True, blank=True)
    clamp_load = models.CharField(max_length=80, blank=True)
    without_rubber = models.BooleanField(null=True, blank=True)
    confirmed = models.BooleanField(default=False, help_text="outside what is plausible, and confirmed as typed")
    reason = models.TextField(blank=True)

    class Meta:
        permissions = [
            ("act_measure", "record readings"),
            ("act_withdraw_reading", "withdraw readings"),
        ]
        constraints = [
            models.CheckConstraint(name="reading_repeat_from_one", condition=Q(repeat__gte=1)),
            models.CheckConstraint(
                name="reading_is_of_something",
                condition=~Q(place="") | Q(serial__isnull=False) | Q(item__isnull=False),
            ),
            models.CheckConstraint(name="reading_confirmed_says_why", condition=Q(confirmed=False) | ~Q(reason="")),
        ]


class ReadingWithdrawal(models.Model):
    """The reading does not count; every result that rests on it is stale from then on."""

    reading = models.OneToOneField(Reading, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="reading_withdrawal_says_why", condition=~Q(reason=""))]
