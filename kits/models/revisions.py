"""What people said to newer revisions of what their jobs were booked with."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class RevisionWord(models.Model):
    """A newer revision of a procedure, or of the engine family, was taken over by a job, or the job keeps its old one."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="revision_words")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    taken = models.BooleanField(help_text="false: the job keeps what it had")
    procedure_revision = models.ForeignKey(
        "kits.ProcedureRevision",
        models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="+",
        help_text="the newer one",
    )
    family_revision = models.ForeignKey(
        "kits.FamilyRevision", models.PROTECT, db_index=False, related_name="+",
        help_text="the newer one; where the word is on a procedure, the one that the job works by",
    )  # fmt: skip
    instead_of = models.PositiveIntegerField(help_text="the revision that the job worked by until then")
    reason = models.TextField()

    class Meta:
        permissions = [("act_revise_job", "take newer revisions over to jobs, or keep the old ones")]
        constraints = [models.CheckConstraint(name="revision_word_says_why", condition=~Q(reason=""))]
