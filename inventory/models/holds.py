"""Holds for a job and what became of them; shorts raised by name; lots and items stopped and freed."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import Q

from inventory.domain.breaking import how_broken


class Hold(models.Model):
    """A pending row: this much of this item, on this shelf spot, is promised to that cart. Never changes."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="holds")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="holds")
    from_spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    to_spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+")
    amount = models.BigIntegerField()
    needed_on = models.DateField(help_text="day of fitting as it was planned then")
    until = models.DateField(
        null=True, blank=True, help_text="past this day the hold has lapsed: listed, not freed by itself"
    )

    class Meta:
        constraints = [models.CheckConstraint(name="hold_amount_positive", condition=Q(amount__gt=0))]

    @property
    def day(self) -> date:
        """The day of fitting as it is planned now: that of the cart, once it was moved."""
        return self.to_spot.place.needed_on or self.needed_on


class HoldEnd(models.Model):
    """What became of a hold, at most once: picked (in whole or in part), released, lapsed, or made impossible."""

    class How(models.TextChoices):
        PICKED = "picked"
        RELEASED = "released"
        LAPSED = "lapsed"
        IMPOSSIBLE = "made impossible"

    hold = models.OneToOneField(Hold, models.PROTECT, primary_key=True, related_name="end")
    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="hold_ends")
    how = models.CharField(max_length=16, choices=How.choices)
    picked = models.BigIntegerField(default=0, help_text="how much was picked; the rest was freed")
    why = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="hold_end_picked_only_when_picked",
                condition=(Q(how="picked") & Q(picked__gt=0)) | (~Q(how="picked") & Q(picked=0)),
            )
        ]


class Short(models.Model):
    """A job came up short, by name: raised in the act that caused it."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="shorts")
    hold = models.ForeignKey(Hold, models.PROTECT, null=True, blank=True, db_index=False, related_name="+")
    to_spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+")
    part = models.ForeignKey("inventory.Part", models.PROTECT, related_name="+")
    amount = models.BigIntegerField()
    why = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="short_amount_positive", condition=Q(amount__gt=0))]


class Stop(models.Model):
    """A lot or one item may not be used from here on. Not a move: things stay where they are, and are blocked there."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="stops")
    lot = models.ForeignKey("inventory.Lot", models.PROTECT, null=True, blank=True, related_name="stops")
    item = models.ForeignKey("inventory.Item", models.PROTECT, null=True, blank=True, related_name="stops")
    reason = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="stop_one_target",
                condition=Q(lot__isnull=False, item__isnull=True) | Q(lot__isnull=True, item__isnull=False),
            )
        ]


class Free(models.Model):
    """A stop is lifted, at most once."""

    stop = models.OneToOneField(Stop, models.PROTECT, primary_key=True, related_name="freed")
    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="frees")
    reason = models.TextField()


class SetBreak(models.Model):
    """A matched set was broken, by damage or because members of it were not there; it stays broken, visibly."""

    serial = models.OneToOneField("inventory.Serial", models.PROTECT, primary_key=True, related_name="broken")
    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="set_breaks")
    damaged = models.CharField(max_length=6, blank=True, help_text="liner, piston or pin; empty: none")
    missing = models.CharField(max_length=20, blank=True, help_text="members that were not there, parted by spaces")
    why = models.TextField()
    photo_ref = models.CharField(max_length=200, blank=True, help_text="where the photo of the damage is kept")
    no_photo = models.CharField(max_length=200, blank=True, help_text="why there is no photo of the damage")

    class Meta:
        constraints = [
            models.CheckConstraint(name="set_break_names_a_member", condition=~Q(damaged="", missing="")),
            models.CheckConstraint(
                name="set_break_photo_or_why", condition=Q(damaged="") | ~Q(photo_ref="", no_photo="")
            ),
        ]

    @property
    def said(self) -> str:
        """What of it is damaged and what is missing, in words."""
        return how_broken(self.damaged, self.missing.split())
