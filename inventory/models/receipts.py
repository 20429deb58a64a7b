"""What was received, at what total. Totals are kept in coins; a unit cost is a fraction of two whole numbers."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class Receipt(models.Model):
    """One delivery."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="receipt")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, related_name="receipts")
    note = models.CharField(max_length=120, blank=True, help_text="delivery note or order number")


class ReceiptLine(models.Model):
    """One item of a delivery; `total_coins` is for the whole amount, empty when not known yet."""

    receipt = models.ForeignKey(Receipt, models.PROTECT, related_name="lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="receipt_lines")
    amount = models.BigIntegerField()
    total_coins = models.BigIntegerField(null=True, blank=True)
    typed = models.CharField(max_length=40, blank=True, help_text="amount as typed")

    class Meta:
        constraints = [
            models.CheckConstraint(name="receipt_line_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(
                name="receipt_line_total_not_negative",
                condition=Q(total_coins__isnull=True) | Q(total_coins__gte=0),
            ),
        ]
