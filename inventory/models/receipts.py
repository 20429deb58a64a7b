"""What came in, set against a purchase order where there is one: what was set aside, accepted since, rejected, sent back."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.receiving import Settled, Why


class Receipt(models.Model):
    """One delivery."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="receipt")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, related_name="receipts")
    note = models.CharField(max_length=120, blank=True, help_text="delivery note")


class ReceiptLine(models.Model):
    """One item of a delivery; `total_coins` is for the whole amount, empty when not known yet."""

    receipt = models.ForeignKey(Receipt, models.PROTECT, related_name="lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="receipt_lines")
    amount = models.BigIntegerField()
    total_coins = models.BigIntegerField(null=True, blank=True)
    typed = models.CharField(max_length=40, blank=True, help_text="amount as typed")
    order_line = models.ForeignKey(
        "inventory.OrderLine", models.PROTECT, null=True, blank=True, related_name="receipt_lines"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="receipt_line_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(
                name="receipt_line_total_not_negative",
                condition=Q(total_coins__isnull=True) | Q(total_coins__gte=0),
            ),
        ]


class SetAside(models.Model):
    """A line of a delivery that was not accepted as it came, and why. It lies in quarantine."""

    line = models.OneToOneField(ReceiptLine, models.PROTECT, primary_key=True, related_name="aside")
    why = models.CharField(max_length=20, choices=[(one.value, one.value) for one in Why])
    words = models.CharField(max_length=300)
    inspect = models.BooleanField(default=False, help_text="a sample of its lot is to pass before it is released")


class Accepted(models.Model):
    """So much of a line that had been set aside was accepted, by the release that brought it to a shelf."""

    line = models.ForeignKey(ReceiptLine, models.PROTECT, related_name="accepted")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="accepted")
    amount = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="accepted_amount_positive", condition=Q(amount__gt=0))]


class AsideGone(models.Model):
    """So much of a line that had been set aside left quarantine for good, neither accepted nor rejected: scrapped, counted away, opened."""

    line = models.ForeignKey(ReceiptLine, models.PROTECT, related_name="gone")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="aside_gone_amount_positive", condition=Q(amount__gt=0))]


class Reject(models.Model):
    """So much of a line was rejected: a claim on its supplier.

    `after`: it had been accepted before. `photos`: where they are kept.
    """

    line = models.ForeignKey(ReceiptLine, models.PROTECT, related_name="rejects")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="rejects")
    amount = models.BigIntegerField()
    after = models.BooleanField()
    reason = models.TextField()
    photos = models.JSONField(default=list)

    class Meta:
        constraints = [
            models.CheckConstraint(name="reject_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(name="reject_says_why", condition=~Q(reason="")),
        ]


class SupplierReturn(models.Model):
    """Goods went back to a supplier with a note. It does not count where its act was taken back."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="supplier_return")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, related_name="returns")
    note = models.CharField(max_length=120, help_text="number of the return note")

    class Meta:
        constraints = [models.CheckConstraint(name="supplier_return_has_note", condition=~Q(note=""))]


class SupplierReturnLine(models.Model):
    """One item that went back, for which so many coins of credit are awaited; `reject`: the claim it answers."""

    sent = models.ForeignKey(SupplierReturn, models.PROTECT, related_name="lines")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="supplier_returns")
    reject = models.ForeignKey(Reject, models.PROTECT, null=True, blank=True, related_name="returns")
    amount = models.BigIntegerField()
    coins = models.BigIntegerField(help_text="credit that is asked for")

    class Meta:
        constraints = [
            models.CheckConstraint(name="supplier_return_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(name="supplier_return_coins_positive", condition=Q(coins__gt=0)),
        ]


class Credit(models.Model):
    """What a supplier credited, or refused, of what is awaited for a returned line."""

    line = models.ForeignKey(SupplierReturnLine, models.PROTECT, related_name="credits")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="credits")
    what = models.CharField(max_length=8, choices=[(one.value, one.value) for one in Settled])
    coins = models.BigIntegerField()

    class Meta:
        constraints = [models.CheckConstraint(name="credit_coins_positive", condition=Q(coins__gt=0))]
