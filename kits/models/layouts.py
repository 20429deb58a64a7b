"""Layouts of sets that were accepted: which set goes to which bore, turned how, on which shim. Taken back by a row, never changed.

The layout itself, with its limits and its readings, is a result of kind "layout"; here is what binds the bench.
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class AcceptedLayout(models.Model):
    """A person accepted it. `doubtful`: not every point passes with the gauge's allowance, and `reason` says why it is taken."""

    result = models.OneToOneField(
        "kits.MeasuredResult", models.PROTECT, primary_key=True, related_name="accepted_layout"
    )
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    doubtful = models.BooleanField()
    reason = models.TextField(blank=True)

    class Meta:
        permissions = [
            ("act_accept", "accept layouts and what results chose, and take layouts back"),
            ("act_accept_doubtful", "accept what is doubtful by measurement, with a reason"),
        ]
        constraints = [
            models.CheckConstraint(name="layout_doubtful_says_why", condition=Q(doubtful=False) | ~Q(reason=""))
        ]


class LayoutPlace(models.Model):
    """A set of the layout at its bore (a use position)."""

    layout = models.ForeignKey(AcceptedLayout, models.PROTECT, related_name="places", db_index=False)
    position = models.CharField(max_length=80)
    serial = models.ForeignKey("inventory.Serial", models.PROTECT, db_index=False, related_name="+")
    turn_deg = models.PositiveSmallIntegerField(help_text="clockwise seen from the head, from how it was read")
    shim_nm = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["layout", "position"], name="layout_bore_once"),
            models.UniqueConstraint(fields=["layout", "serial"], name="layout_set_once"),
            models.CheckConstraint(name="layout_turn_below_full", condition=Q(turn_deg__lt=360)),
            models.CheckConstraint(name="layout_shim_not_negative", condition=Q(shim_nm__gte=0)),
        ]


class LayoutWithdrawal(models.Model):
    """The acceptance was taken back: which set goes where is open again."""

    layout = models.OneToOneField(AcceptedLayout, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="layout_withdrawal_says_why", condition=~Q(reason=""))]
