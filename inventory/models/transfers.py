"""Between sites: the note that goes along in the van, what the receiver signed for, what became of the rest. Rows written once."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.domain.transfers import How


class TransferNote(models.Model):
    """What left a site; its act's person signed as the sender. The goods stand at the van's spot that has the note's number."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="transfer_note")
    from_site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False, related_name="+")
    to_site = models.ForeignKey("inventory.Site", models.PROTECT, db_index=False, related_name="+")
    spot = models.OneToOneField("inventory.Spot", models.PROTECT, related_name="transfer_note", help_text="in the van")
    driver = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")
    expected_on = models.DateField(null=True, blank=True, help_text="when it should be there; empty: nobody said")


class TransferNoteLine(models.Model):
    """So much of an item, from a spot of a shelf or of quarantine."""

    note = models.ForeignKey(TransferNote, models.PROTECT, db_index=False, related_name="lines")
    line = models.PositiveIntegerField()
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="transfer_lines")
    amount = models.BigIntegerField()
    typed = models.CharField(max_length=40, blank=True, help_text="amount as typed")
    from_spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    for_job = models.CharField(max_length=80, blank=True, help_text="job of the other site that it is for")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["note", "line"], name="transfer_line_once"),
            models.CheckConstraint(name="transfer_line_amount_positive", condition=Q(amount__gt=0)),
        ]


class TransferTaking(models.Model):
    """The receiver signed: the act's person; once for a note, while the act stands. `alone`: the site has nobody but sender or driver."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="transfer_taking")
    note = models.ForeignKey(TransferNote, models.PROTECT, related_name="takings")
    alone = models.BooleanField()


class TransferTaken(models.Model):
    """What came, and where it was put. `over`: it was not on the note as sent; it left its bin at the other site, or was counted over."""

    taking = models.ForeignKey(TransferTaking, models.PROTECT, related_name="taken")
    line = models.ForeignKey(TransferNoteLine, models.PROTECT, null=True, blank=True, related_name="taken")
    item = models.ForeignKey("inventory.Item", models.PROTECT, db_index=False, related_name="+")
    amount = models.BigIntegerField()
    over = models.BooleanField()
    from_spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    to_spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    words = models.CharField(
        max_length=300, blank=True, help_text="why it went to quarantine, what differs from the note"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="transfer_taken_amount_positive", condition=Q(amount__gt=0)),
            models.CheckConstraint(
                name="transfer_taken_of_a_line_or_over", condition=Q(over=True) | Q(line__isnull=False)
            ),
        ]


class TransferExplained(models.Model):
    """What became of so much of a line that did not come as its note said; the reason stands with the act."""

    act = models.OneToOneField("inventory.Act", models.PROTECT, primary_key=True, related_name="transfer_explained")
    line = models.ForeignKey(TransferNoteLine, models.PROTECT, related_name="explained")
    amount = models.BigIntegerField()
    how = models.CharField(max_length=16, choices=[(one.value, one.value) for one in How])
    to_spot = models.ForeignKey(
        "inventory.Spot", models.PROTECT, null=True, blank=True, db_index=False, related_name="+"
    )

    class Meta:
        constraints = [models.CheckConstraint(name="transfer_explained_amount_positive", condition=Q(amount__gt=0))]
