"""Old units that go back to their supplier, their tags, and the deposits that hang on them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from inventory.domain.old_units import Grade, Side, What


class OldUnit(models.Model):
    """One old unit. Where it is, the books say: it is an item of its own. It does not count where its act was taken back."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, related_name="old_units")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="old_units")
    grade = models.CharField(max_length=16, choices=[(one.value, one.value) for one in Grade])
    condition = models.CharField(max_length=200, blank=True)
    supplier = models.ForeignKey(
        "inventory.Supplier", models.PROTECT, null=True, blank=True, related_name="old_units", help_text="where it goes"
    )
    send_back_by = models.DateField(null=True, blank=True)


class OldUnitTag(models.Model):
    """An old unit wears a tag for a job; the newest counts. A tag's text is given once."""

    unit = models.ForeignKey(OldUnit, models.PROTECT, related_name="tags")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    tag = models.CharField(max_length=60, unique=True)
    job = models.CharField(max_length=80, db_index=True, help_text="number of the job whose deposit it is")

    class Meta:
        constraints = [
            models.CheckConstraint(name="old_unit_tag_not_empty", condition=~Q(tag="")),
            models.CheckConstraint(name="old_unit_tag_has_job", condition=~Q(job="")),
        ]


class OldUnitSent(models.Model):
    """An old unit was sent back to a supplier. It does not count where its act was taken back."""

    unit = models.ForeignKey(OldUnit, models.PROTECT, related_name="sent")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="old_units_sent")
    supplier = models.ForeignKey("inventory.Supplier", models.PROTECT, db_index=False, related_name="+")


class Deposit(models.Model):
    """Money that was paid to a supplier, or taken in from a customer, until an old unit comes back.

    `outstanding_coins` is a cache of the entries, which the audit recomputes; `unit` is tied to it when the old unit is there.
    """

    side = models.CharField(max_length=8, choices=[(side.value, side.value) for side in Side])
    supplier = models.ForeignKey(
        "inventory.Supplier", models.PROTECT, null=True, blank=True, related_name="deposits", help_text="who was paid"
    )
    part = models.ForeignKey("inventory.Part", models.PROTECT, db_index=False, related_name="+")
    job = models.CharField(max_length=80, blank=True, db_index=True)
    receipt = models.ForeignKey("inventory.Receipt", models.PROTECT, null=True, blank=True, db_index=False)
    unit = models.ForeignKey(OldUnit, models.PROTECT, null=True, blank=True, related_name="deposits")
    due_on = models.DateField(null=True, blank=True, help_text="last day for sending the old unit back")
    outstanding_coins = models.BigIntegerField()

    class Meta:
        constraints = [
            models.CheckConstraint(name="deposit_outstanding_not_negative", condition=Q(outstanding_coins__gte=0)),
            models.CheckConstraint(
                name="deposit_supplier_by_side",
                condition=Q(side="supplier", supplier__isnull=False) | Q(side="customer", supplier__isnull=True),
            ),
            models.CheckConstraint(name="deposit_customer_has_job", condition=Q(side="supplier") | ~Q(job="")),
        ]


class DepositEntry(models.Model):
    """Paid, refunded or lost, in coins. `reverses`: it takes that entry back, which is done at most once."""

    deposit = models.ForeignKey(Deposit, models.PROTECT, related_name="entries")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    what = models.CharField(max_length=8, choices=[(what.value, what.value) for what in What])
    coins = models.BigIntegerField()
    reverses = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="reversed_by")

    class Meta:
        constraints = [models.CheckConstraint(name="deposit_entry_positive", condition=Q(coins__gt=0))]
