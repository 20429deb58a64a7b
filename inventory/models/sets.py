"""What becomes of broken sets: new ones matched again from what is left, and what a broken one is still worth as a core."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.domain.items import Member


class SetMatch(models.Model):
    """A new set was matched by measurement from orphans and single parts. The sets they came from stay broken.

    It does not count where its act was taken back.
    """

    serial = models.OneToOneField("inventory.Serial", models.PROTECT, primary_key=True, related_name="match")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="set_matches")
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, db_index=False, related_name="+")


class SetMatchMember(models.Model):
    """One physical thing that went into a matched-again set, as the books knew it before: an orphan, or a single part."""

    match = models.ForeignKey(SetMatch, models.PROTECT, related_name="members", db_index=False)
    member = models.CharField(max_length=6, choices=[(m.value, m.value) for m in Member if m.value])
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="matched_into")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["match", "member"], name="set_match_member_once"),
            models.CheckConstraint(name="set_match_member_named", condition=~Q(member="")),
        ]


class CoreValue(models.Model):
    """Somebody decided what a broken set is worth as a core; the newest decision counts, its reason stands with the act."""

    serial = models.ForeignKey("inventory.Serial", models.PROTECT, related_name="core_values")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    value_coins = models.BigIntegerField(null=True, blank=True, help_text="empty: it is worth nothing as a core")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="core_value_positive", condition=Q(value_coins__isnull=True) | Q(value_coins__gt=0)
            )
        ]
