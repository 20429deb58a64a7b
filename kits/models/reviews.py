"""What the benches said against the parts lines of procedures, and what came of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class LineDoubt(models.Model):
    """An extra was asked for because the list is wrong: the parts line that it speaks of, as the job's revision has it."""

    extra = models.ForeignKey("kits.Extra", models.PROTECT, related_name="doubts", db_index=False)
    revision = models.ForeignKey("kits.ProcedureRevision", models.PROTECT, related_name="+")
    line = models.CharField(max_length=60, blank=True, help_text="empty: no line of the procedure asks for the part")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["extra", "revision", "line"], name="line_doubted_once")]


class LineReview(models.Model):
    """A person looked at a line that was doubted often, and said what came of it."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="line_review")
    procedure = models.ForeignKey("kits.Procedure", models.PROTECT, related_name="line_reviews")
    line = models.CharField(max_length=60, blank=True)
    part = models.ForeignKey(
        "inventory.Part", models.PROTECT, null=True, blank=True, db_index=False, related_name="+",
        help_text="that no line asks for, where `line` is empty",
    )  # fmt: skip
    mended_in = models.ForeignKey(
        "kits.ProcedureRevision", models.PROTECT, null=True, blank=True, db_index=False, related_name="+",
        help_text="empty: the list is right as it was",
    )  # fmt: skip
    word = models.TextField(help_text="what was mended, or why the list is right")

    class Meta:
        constraints = [
            models.CheckConstraint(name="line_review_says_why", condition=~Q(word="")),
            models.CheckConstraint(
                name="line_review_of_line_or_part",
                condition=Q(line="", part__isnull=False) | (~Q(line="") & Q(part__isnull=True)),
            ),
        ]


class DoubtAnswered(models.Model):
    """The review that a doubt counted for: it counts for no other."""

    doubt = models.OneToOneField(LineDoubt, models.PROTECT, primary_key=True, related_name="answered")
    review = models.ForeignKey(LineReview, models.PROTECT, related_name="doubts")
