"""What is held for one job, lent to another: asked for, consented to by name, lent, given back. Rows that are written once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.domain.loans import HowOver


class LoanRequest(models.Model):
    """Somebody asks, for a cart, for so much of what is held for another; the donor's technician is asked by name."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    hold = models.ForeignKey("inventory.Hold", models.PROTECT, related_name="loan_requests", help_text="the donor's")
    to_spot = models.ForeignKey(
        "inventory.Spot", models.PROTECT, related_name="loan_requests", help_text="the borrower's cart"
    )
    amount = models.BigIntegerField()
    asked_of = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")
    minutes = models.PositiveIntegerField(help_text="to answer in, as the shop had it on that day")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="loan_request_amount_positive", condition=Q(amount__gt=0))]


class LoanAnswer(models.Model):
    """The word of the technician who was asked, at most once."""

    request = models.OneToOneField(LoanRequest, models.PROTECT, primary_key=True, related_name="answer")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    agreed = models.BooleanField()
    reason = models.TextField(blank=True)


class Loan(models.Model):
    """It was lent: the donor's hold ended in the same act, `rest` holds what stays, rows of `LentHold` what went."""

    request = models.OneToOneField(LoanRequest, models.PROTECT, primary_key=True, related_name="loan")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    rest = models.OneToOneField(
        "inventory.Hold", models.PROTECT, null=True, blank=True, related_name="rest_of", help_text="empty: all was lent"
    )
    order_line = models.ForeignKey(
        "inventory.OrderLine",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="paybacks",
        help_text="that pays it back",
    )
    short = models.ForeignKey(
        "inventory.Short", models.PROTECT, null=True, blank=True, db_index=False, related_name="+",
        help_text="raised for the donor, where the payback comes too late or not at all",
    )  # fmt: skip


class LentHold(models.Model):
    """A hold of the borrower that came out of a loan."""

    hold = models.OneToOneField("inventory.Hold", models.PROTECT, primary_key=True, related_name="lent")
    loan = models.ForeignKey(Loan, models.PROTECT, related_name="holds")


class LoanEnd(models.Model):
    """A loan is over: what was still held was given back before it was picked (`hold` is the donor's again), or a person closed it."""

    loan = models.OneToOneField(Loan, models.PROTECT, primary_key=True, related_name="end")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    how = models.CharField(max_length=16, choices=[(one.value, one.value) for one in HowOver])
    hold = models.OneToOneField(
        "inventory.Hold", models.PROTECT, null=True, blank=True, related_name="given_back",
        help_text="of what was given back; empty: closed",
    )  # fmt: skip

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="loan_end_hold_when_given_back",
                condition=Q(how="given back", hold__isnull=False) | (~Q(how="given back") & Q(hold__isnull=True)),
            )
        ]
