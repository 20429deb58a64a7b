"""What suppliers charged for what they had delivered: an entry beside the delivery, never a change of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class InvoiceTotal(models.Model):
    """Coins that were charged for a whole line of a delivery. The newest counts; one whose act was taken back does not."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="invoice_total")
    line = models.ForeignKey("inventory.ReceiptLine", models.PROTECT, related_name="invoice_totals")
    coins = models.BigIntegerField()
    note = models.CharField(max_length=120, blank=True, help_text="number of the invoice")

    class Meta:
        constraints = [models.CheckConstraint(name="invoice_total_not_negative", condition=Q(coins__gte=0))]
