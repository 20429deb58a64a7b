"""Things of the customer that went back, against a signature."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class GiveBack(models.Model):
    """Somebody signed for what is the customer's own. The name is read only by those who may see owners."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="give_back")
    job = models.ForeignKey("kits.Job", models.PROTECT, related_name="gives_back")
    signed_by = models.CharField(max_length=200)

    class Meta:
        permissions = [("act_give_back", "give the customer's own parts back against a signature")]
        constraints = [models.CheckConstraint(name="give_back_is_signed", condition=~Q(signed_by=""))]


class GivenThing(models.Model):
    """One of the things that were signed for, and where it had lain."""

    give_back = models.ForeignKey(GiveBack, models.PROTECT, related_name="things")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="given_amount_positive", condition=Q(amount__gt=0))]
