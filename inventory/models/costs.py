"""What suppliers charged for what they had delivered: an entry beside the delivery, never a change of it. And stock value carried forward."""

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


class ValueCarried(models.Model):
    """The books of value at a moment, so that reads go on from there: a cache. It holds as long as there are as many acts up to its
    moment as there were, for acts are never removed; each one after another that holds no more holds no more either."""

    upto = models.DateTimeField(unique=True, help_text="the end of a day: everything that happened up to then")
    acts = models.BigIntegerField(help_text="how many acts happened up to then, as it was made")
    method = models.CharField(max_length=40, help_text="the setting `valuation` it was made by")
    sums = models.JSONField(help_text="coins that are not in stock, by where they went")
    differences = models.JSONField(help_text="what invoices came to since the one before")


class PartCarried(models.Model):
    """What one part has in those books: written where it is not what it was at the moment before; the newest up to a moment counts."""

    point = models.ForeignKey(ValueCarried, models.PROTECT, related_name="parts")
    part = models.ForeignKey("inventory.Part", models.PROTECT, related_name="+", db_index=False)
    kept = models.JSONField(help_text="pools with their layers, in stock and at jobs; empty: nothing any more")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "point"], name="part_carried_once")]
