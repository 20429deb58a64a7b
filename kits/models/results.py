"""What readings came to: verdicts, layouts, clearances, grades. One table for all of them.

A result is written once, with its rule of decision in its document and the readings it rests on beside it. It is stale when one of
these was withdrawn, read anew or cut since, when a later result of the same kind and subject on the job took its place, or when the job goes by a revision of
its family that states other limits; all is read from the rows. What was read of a matched set goes with the set, on whatever job.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class MeasuredResult(models.Model):
    """A result of a job. `kind` in plain words ("protrusion"), `subject` what it is of ("CYL-2", "ENGINE")."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="results")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    kind = models.CharField(max_length=60)
    subject = models.CharField(max_length=120)
    family_revision = models.ForeignKey(
        "kits.FamilyRevision", models.PROTECT, db_index=False, related_name="+", help_text="whose facts decided"
    )
    serial = models.ForeignKey(
        "inventory.Serial",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="results",
        help_text="the set that was read",
    )
    document = models.JSONField()

    class Meta:
        permissions = [("act_match_set", "match sets again from what broken ones left, by measurement")]
        constraints = [
            models.CheckConstraint(name="result_kind_not_empty", condition=~Q(kind="")),
            models.CheckConstraint(name="result_subject_not_empty", condition=~Q(subject="")),
        ]


class Acceptance(models.Model):
    """A person accepted what a result chose; the words that settle the list (`JobChoice`) are written by the same act.

    `doubtful`: it does not pass with what is allowed for the gauges, or its readings may not decide; `reason` says why it is taken.
    They count until a reading that the result rests on is withdrawn: then the choices are open again.
    """

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    result = models.ForeignKey(MeasuredResult, models.PROTECT, related_name="acceptances")
    doubtful = models.BooleanField()
    reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="acceptance_doubtful_says_why", condition=Q(doubtful=False) | ~Q(reason=""))
        ]


class ResultReading(models.Model):
    """A reading that a result rests on."""

    result = models.ForeignKey(MeasuredResult, models.PROTECT, related_name="rests_on", db_index=False)
    reading = models.ForeignKey("kits.Reading", models.PROTECT, related_name="results")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["result", "reading"], name="result_rests_on_reading_once")]
