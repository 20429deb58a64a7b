"""The books: immutable movements, and the balance that is a cache of their sum."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class Movement(models.Model):
    """One positive whole amount of one item went from one spot to another."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="movements")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="movements")
    amount = models.BigIntegerField()
    from_spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+")
    to_spot = models.ForeignKey("inventory.Spot", models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(name="movement_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(name="movement_goes_somewhere", condition=~Q(from_spot=F("to_spot"))),
        ]


class Balance(models.Model):
    """How much of an item stands at a spot: a cache that the audit recomputes from the movements.

    `pickable` is true on a shelf for things a job may be promised; the index over it leaves engines out on purpose (with
    them, finding free stock of a common part reads every engine ever built). `in_shop` is true in every real place but an
    engine: what is on hand is found by it.
    """

    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="balances")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    place = models.ForeignKey("inventory.Place", models.PROTECT, db_index=False, related_name="+")
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField(default=0)
    held = models.BigIntegerField(default=0)
    real = models.BooleanField()
    single = models.BooleanField()
    pickable = models.BooleanField()
    in_shop = models.BooleanField()
    last_at = models.DateTimeField(
        help_text="latest occurred_at that touched this row: earlier acts are checked in full"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["item", "spot"], name="balance_once"),
            models.UniqueConstraint(
                fields=["item"], condition=Q(single=True, real=True, amount__gt=0), name="balance_single_in_one_place"
            ),
            models.CheckConstraint(
                name="balance_real_not_negative",
                condition=Q(real=False) | (Q(held__gte=0) & Q(amount__gte=F("held"))),
            ),
            models.CheckConstraint(
                name="balance_single_at_most_one", condition=Q(single=False) | Q(real=False) | Q(amount__lte=1)
            ),
            models.CheckConstraint(name="balance_held_only_pickable", condition=Q(pickable=True) | Q(held=0)),
        ]
        indexes = [
            models.Index(fields=["place"], condition=Q(amount__gt=0), name="balance_in_place"),
            models.Index(fields=["part"], condition=Q(pickable=True, amount__gt=0), name="balance_pickable_part"),
            models.Index(fields=["part"], condition=Q(in_shop=True, amount__gt=0), name="balance_on_hand_part"),
        ]
