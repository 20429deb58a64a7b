"""Pieces of lots that are kept back: on hand, counted, not free."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.keeping import HowEnded


class KeptPiece(models.Model):
    """So much of an item at a shelf spot is kept for its lot from the act on. It is part of what the balance says is held."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="kept_pieces")
    lot = models.ForeignKey("inventory.Lot", models.PROTECT, related_name="kept_pieces")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="kept_pieces")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    amount = models.PositiveIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="kept_piece_positive", condition=Q(amount__gte=1))]


class KeptEnd(models.Model):
    """The piece is not kept any more. `how` says whether its lot may keep another."""

    kept = models.OneToOneField(KeptPiece, models.PROTECT, primary_key=True, related_name="end")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    how = models.CharField(max_length=10, choices=[(one.value, one.value) for one in HowEnded])
    why = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="kept_end_says_why", condition=~Q(why=""))]
