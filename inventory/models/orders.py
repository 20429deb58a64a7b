"""Purchase orders: what was asked of a supplier, what it promised, what of it will not come any more.

How far a line is stands nowhere: it is computed from the deliveries that name it (`inventory/domain/orders.py`).
"""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class PurchaseOrder(models.Model):
    """One order to one supplier. It does not count where its act was taken back."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="purchase_orders")
    number = models.CharField(max_length=40, unique=True)
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, related_name="orders")
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(name="order_number_not_empty", condition=~Q(number=""))]

    def __str__(self) -> str:
        return self.number


class OrderLine(models.Model):
    """So much of a part, in whole base units; `total_coins` is for all of it, empty where no price was agreed."""

    order = models.ForeignKey(PurchaseOrder, models.PROTECT, related_name="lines", db_index=False)
    line = models.PositiveIntegerField()
    part = models.ForeignKey("inventory.Part", models.PROTECT, related_name="ordered")
    amount = models.BigIntegerField()
    typed = models.CharField(max_length=40, blank=True, help_text="amount as typed")
    total_coins = models.BigIntegerField(null=True, blank=True)
    job = models.CharField(max_length=80, blank=True, db_index=True, help_text="number of the job it is for")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["order", "line"], name="order_line_once"),
            models.CheckConstraint(name="order_line_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(
                name="order_line_total_not_negative",
                condition=Q(total_coins__isnull=True) | Q(total_coins__gte=0),
            ),
        ]


class OrderPromise(models.Model):
    """A day that the supplier promised for a line. The newest holds; one that passed stays, and is counted."""

    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="promises")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="promises")
    promised_on = models.DateField()


class OrderLineEnd(models.Model):
    """So much of a line will not come any more; the reason stands with the act, which may be taken back."""

    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="ends")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="order_ends")
    amount = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="order_end_amount_positive", condition=Q(amount__gt=0))]
