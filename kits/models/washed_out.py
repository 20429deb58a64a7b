"""Plugs, dowels and oil jets counted out of a block for washing, and back; hot washes."""

from __future__ import annotations

from django.db import models


class WashedCount(models.Model):
    """One count of one kind: out of the block, or back into it. Counts add up; a recount replaces the earlier ones."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="washed_counts")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    name = models.CharField(max_length=40, help_text="as the family's list has it")
    count = models.PositiveIntegerField()
    back = models.BooleanField()
    recount = models.BooleanField(default=False)

    class Meta:
        permissions = [("act_count_washed", "count plugs, dowels and jets out and back")]


class HotWash(models.Model):
    """A piece came out of a hot wash at the moment of the act. Never changed."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="hot_washes")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    piece = models.CharField(max_length=20, help_text="block, liner, piston or crank")
