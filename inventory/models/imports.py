"""Tables that are brought in: the file as it came, its rows with what was found, what people answered, and that it was booked."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.import_cells import DayOrder
from inventory.domain.import_rows import Verdict


class ImportFile(models.Model):
    """A table file, kept as it came, and how its columns were understood."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    kind = models.CharField(max_length=20)
    name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64, db_index=True)
    size_bytes = models.PositiveIntegerField()
    packed = models.TextField(help_text="the file itself, deflated (RFC 1950), in base 64")
    read_as = models.CharField(max_length=200)
    headings = models.JSONField()
    columns = models.JSONField(help_text="column of each heading, '' where it is not known")
    evidence = models.JSONField(help_text="what each column says as a whole")
    day_order = models.CharField(max_length=12, blank=True, choices=[(order.value, order.value) for order in DayOrder])
    rows_in = models.PositiveIntegerField(help_text="rows under the headings that are not empty")


class ImportRow(models.Model):
    """A row, and what was found. Not yet booked, so found anew after each answer; nothing else refers to it."""

    file = models.ForeignKey(ImportFile, models.PROTECT, related_name="rows", db_index=False)
    line = models.PositiveIntegerField(help_text="row number in the file")
    cells = models.JSONField(help_text="as it stands in the file, by column; under '' what stands in unknown columns")
    key = models.CharField(max_length=300, help_text="what the row is about: the same for rows of the same thing")
    verdict = models.CharField(max_length=10, choices=[(verdict.value, verdict.value) for verdict in Verdict])
    known = models.BooleanField(default=False, help_text="on record as it stands: nothing is to be done")
    values = models.JSONField()
    doubts = models.JSONField(default=list)
    errors = models.JSONField(default=list)
    warnings = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["file", "line"], name="import_row_once"),
            models.CheckConstraint(
                name="import_row_says_why", condition=Q(verdict=Verdict.ACCEPTED) | ~Q(doubts=[], errors=[])
            ),
        ]
        indexes = [
            models.Index(fields=["file", "key"], name="import_row_key"),
            models.Index(fields=["file", "verdict", "line"], name="import_row_verdict"),
        ]


class ImportAnswer(models.Model):
    """What a person said of one cell of a row; under the column '' of the row itself. The newest counts."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="+", db_index=False)
    file = models.ForeignKey(ImportFile, models.PROTECT, related_name="answers", db_index=False)
    line = models.PositiveIntegerField()
    column = models.CharField(max_length=40, blank=True)
    said = models.CharField(max_length=2000, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["file", "line", "column", "act"], name="import_answer_once_in_act")
        ]


class ImportBooked(models.Model):
    """The accepted rows of a file were booked; once."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="+")
    file = models.OneToOneField(ImportFile, models.PROTECT, related_name="booked")
