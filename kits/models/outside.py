"""Pieces of a job at an outside machinist: sent and brought back by acts that move them."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import F, Q


class OutsideWork(models.Model):
    """A piece that came out of the engine went from the bench of the job to the place of an outside machinist; the same act moves it."""

    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="outside_work")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField(help_text="whole base units of the item")
    spot = models.ForeignKey(
        "inventory.Spot",
        models.PROTECT,
        db_index=False,
        related_name="+",
        help_text="of the machinist's place: the job's",
    )
    positions = models.JSONField(default=list, help_text="use positions at which it sat; empty: not known")
    needed_by = models.JSONField(
        default=list, help_text="procedure/step, where a person said so; empty: by its positions"
    )
    work = models.CharField(max_length=200, blank=True, help_text="what is done to it")
    sent_on = models.DateField()
    due_on = models.DateField(help_text="as it was said when it was sent; `OutsideDue` has later words")

    class Meta:
        constraints = [
            models.CheckConstraint(name="outside_work_is_something", condition=Q(amount__gt=0)),
            models.CheckConstraint(name="outside_due_after_sent", condition=Q(due_on__gte=F("sent_on"))),
        ]

    @property
    def left(self) -> int:
        """How much of it is not lost there, as `kits.queries.outside` read it; all of one that was just sent."""
        lost: int = vars(self).get("lost", 0)
        return self.amount - lost

    @property
    def due(self) -> date:
        """The newest day named for it. KeyError where it was not read by `kits.queries.outside`, which looks for later words."""
        named: date | None = vars(self)["named"]
        return named or self.due_on


class OutsideDue(models.Model):
    """The machinist named another day for it: the newest counts."""

    outside_work = models.ForeignKey(OutsideWork, models.PROTECT, related_name="dues")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    due_on = models.DateField()
    reason = models.TextField()


class OutsideReturn(models.Model):
    """The piece came back to the bench. One that was corrected counts for nothing: the piece is out again."""

    outside_work = models.ForeignKey(OutsideWork, models.PROTECT, related_name="returns")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    back_on = models.DateField()


class OutsideLoss(models.Model):
    """So much of it was lost at the machinist's; the same act moves it out of what the shop has. One that was corrected counts for nothing."""

    outside_work = models.ForeignKey(OutsideWork, models.PROTECT, related_name="losses")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField(help_text="whole base units of the item")
    said_by = models.CharField(max_length=200, help_text="who there said so")
    reason = models.TextField()

    class Meta:
        constraints = [
            models.CheckConstraint(name="outside_loss_is_something", condition=Q(amount__gt=0)),
            models.CheckConstraint(name="outside_loss_says_who_and_why", condition=~Q(said_by="") & ~Q(reason="")),
        ]
