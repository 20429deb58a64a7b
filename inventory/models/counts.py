"""Counting in turn: every line that was counted, and the sheets on which is counted without seeing what the books say."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.counting import CountClass


class CountedLine(models.Model):
    """A thing was counted at a spot: what the books said at that moment, and what was there. It does not count once its act is taken
    back."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="counted_lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    at = models.DateTimeField(help_text="when it was counted; what was moved after that is not in it")
    on_books = models.BigIntegerField()
    counted = models.BigIntegerField()
    reason = models.TextField(blank=True, help_text="of the difference")
    by_two = models.BooleanField(default=False, help_text="two people found the same, each on their own")

    class Meta:
        constraints = [models.CheckConstraint(name="counted_line_not_negative", condition=Q(counted__gte=0))]
        indexes = [models.Index(fields=["item", "spot", "at"], name="counted_line_of_thing")]


class CountSheet(models.Model):
    """Bins of a site that are counted together, listed without amounts."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, related_name="count_sheet")
    site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False)
    note = models.CharField(max_length=200, blank=True)


class CountSheetBin(models.Model):
    """One bin of a sheet: what lies of a part at a spot, and the class that it is counted in."""

    sheet = models.ForeignKey(CountSheet, models.PROTECT, db_index=False, related_name="bins")
    number = models.PositiveIntegerField()
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    count_class = models.CharField(max_length=20, choices=[(one.value, one.value) for one in CountClass])

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sheet", "number"], name="count_sheet_bin_number"),
            models.UniqueConstraint(fields=["sheet", "spot", "part"], name="count_sheet_bin_once"),
        ]


class CountSheetLine(models.Model):
    """One thing in a bin of a sheet: the books had it there when the sheet was opened, or it was found there (then of a later act)."""

    sheet = models.ForeignKey(CountSheet, models.PROTECT, db_index=False, related_name="lines")
    number = models.PositiveIntegerField()
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    bin = models.ForeignKey(CountSheetBin, models.PROTECT, db_index=False, related_name="lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sheet", "number"], name="count_sheet_line_number"),
            models.UniqueConstraint(fields=["bin", "item"], name="count_sheet_line_once"),
        ]


class SheetCount(models.Model):
    """What somebody counted of a line, at the moment of the act; a count whose act was taken back does not count."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    line = models.ForeignKey(CountSheetLine, models.PROTECT, related_name="counts")
    counted = models.BigIntegerField()
    typed = models.CharField(max_length=60)
    stored_wrongly = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["act", "line"], name="sheet_count_once_in_act"),
            models.CheckConstraint(name="sheet_count_not_negative", condition=Q(counted__gte=0)),
        ]


class CountPosting(models.Model):
    """The act by which a sheet was booked: once for each sheet. Taken back, a new sheet is opened."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="count_posting")
    sheet = models.OneToOneField(CountSheet, models.PROTECT, related_name="posting")
