"""Where things may lie: what places offer, the log of their temperatures, the words of those who put things there all the same."""

from __future__ import annotations

from django.db import models
from django.db.models import Q


class PlaceStorage(models.Model):
    """What a place, or one spot of it, offers; the newest row of each counts, and a spot's goes before its place's."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    place = models.ForeignKey("inventory.Place", models.PROTECT, related_name="storage")
    spot = models.CharField(max_length=80, blank=True, help_text="name of the spot; empty: the whole place")
    classes = models.JSONField(default=list, help_text="storage classes it is good for")
    low_mk = models.BigIntegerField(null=True, blank=True)
    high_mk = models.BigIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="place_storage_low_below_high",
                condition=Q(low_mk__isnull=True) | Q(high_mk__isnull=True) | Q(low_mk__lte=models.F("high_mk")),
            )
        ]


class TemperatureReading(models.Model):
    """A temperature of a place at a moment, in millikelvin, read from `typed`. It is never changed: it is withdrawn by a row."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    place = models.ForeignKey("inventory.Place", models.PROTECT, db_index=False, related_name="+")
    at = models.DateTimeField()
    value_mk = models.BigIntegerField()
    typed = models.CharField(max_length=40)
    thermometer = models.CharField(max_length=60, help_text="which thermometer or recorder")

    class Meta:
        indexes = [models.Index(fields=["place", "at"], name="temperature_of_place")]
        constraints = [
            models.CheckConstraint(name="temperature_not_below_zero_kelvin", condition=Q(value_mk__gte=0)),
            models.CheckConstraint(name="temperature_names_thermometer", condition=~Q(thermometer="")),
        ]


class TemperatureWithdrawal(models.Model):
    """The reading was wrong: it never counted."""

    reading = models.OneToOneField(TemperatureReading, models.PROTECT, primary_key=True, related_name="withdrawal")
    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="+")
    reason = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="temperature_withdrawal_says_why", condition=~Q(reason=""))]


class StorageWord(models.Model):
    """A thing was put where it is not said to suit: what was asked, and the word of the person who put it there."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="storage_words")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="storage_words")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    asked = models.JSONField()
    word = models.TextField()

    class Meta:
        constraints = [models.CheckConstraint(name="storage_word_says_why", condition=~Q(word=""))]


class StorageCheck(models.Model):
    """At a count: how a thing was stored. wrong: what was found; empty: as its rule says. set_aside: it went to quarantine for that."""

    act = models.ForeignKey("inventory.Act", models.PROTECT, db_index=False, related_name="storage_checks")
    item = models.ForeignKey("inventory.Item", models.PROTECT, related_name="storage_checks")
    spot = models.ForeignKey("inventory.Spot", models.PROTECT, db_index=False, related_name="+")
    wrong = models.CharField(max_length=200, blank=True)
    set_aside = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="storage_check_set_aside_for_something", condition=Q(set_aside=False) | ~Q(wrong="")
            )
        ]
