"""What places offer, the log of their temperatures, how a lot is stored."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import MOST_LINES, ActSerializer, MomentField, StrictSerializer, TextField
from inventory.domain.temperature_log import GAP, OUTSIDE

_CLASSES = "storage classes in the shop's words, from its safety data sheets"


class OfferInSerializer(ActSerializer):
    """What a place, or one spot of it, offers from now on."""

    spot = TextField(required=False, allow_blank=True, max_length=80, help_text="empty: the whole place")
    classes = serializers.ListField(child=TextField(max_length=40), required=False, max_length=40, help_text=_CLASSES)
    low = TextField(required=False, allow_blank=True, max_length=40, help_text='lowest temperature it reaches, "5 °C"')
    high = TextField(required=False, allow_blank=True, max_length=40, help_text="highest temperature it reaches")
    note = TextField(required=False, allow_blank=True, max_length=200)


class OfferMadeSerializer(serializers.Serializer):
    """It is on record."""

    place = serializers.CharField()
    spot = serializers.CharField(allow_blank=True)
    classes = serializers.ListField(child=serializers.CharField())
    low_mk = serializers.IntegerField(allow_null=True, help_text="millikelvin")
    high_mk = serializers.IntegerField(allow_null=True, help_text="millikelvin")
    note = serializers.CharField(allow_blank=True)


class OfferSerializer(serializers.Serializer):
    """One word on what a place offers."""

    spot = serializers.CharField(allow_blank=True)
    classes = serializers.ListField(child=serializers.CharField())
    low_mk = serializers.IntegerField(allow_null=True)
    high_mk = serializers.IntegerField(allow_null=True)
    low = serializers.CharField(allow_blank=True)
    high = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)
    by = serializers.CharField()
    since = serializers.DateTimeField()
    counts = serializers.BooleanField(help_text="false: a newer one stands")


class PlaceStorageSerializer(serializers.Serializer):
    """What a place and its spots offer, the newest first."""

    place = serializers.CharField()
    offers = OfferSerializer(many=True)


class TemperatureInSerializer(StrictSerializer):
    """One reading of the log."""

    at = MomentField(help_text="when it was read")
    value = TextField(max_length=40, help_text='with its unit: "21.5 °C"')
    thermometer = TextField(max_length=60, help_text="which thermometer or recorder")


class TemperaturesInSerializer(ActSerializer):
    """Readings for the log of a place, all of them or none."""

    readings = TemperatureInSerializer(many=True, max_length=MOST_LINES)


class TemperatureMadeSerializer(serializers.Serializer):
    """A reading on record."""

    id = serializers.IntegerField()
    at = serializers.DateTimeField()
    value_mk = serializers.IntegerField(help_text="millikelvin")


class TemperaturesMadeSerializer(serializers.Serializer):
    """The readings are in the log."""

    place = serializers.CharField()
    readings = TemperatureMadeSerializer(many=True)


class TemperatureSerializer(TemperatureMadeSerializer):
    """A reading as it stands."""

    typed = serializers.CharField()
    thermometer = serializers.CharField()
    by = serializers.CharField()
    withdrawn = serializers.CharField(allow_blank=True, help_text="why it does not count; empty: it does")


class TemperatureLogSerializer(serializers.Serializer):
    """The log of a place, the newest first."""

    place = serializers.CharField()
    readings = TemperatureSerializer(many=True)


class TemperatureWithdrawnSerializer(serializers.Serializer):
    """A reading that does not count."""

    reading = serializers.IntegerField()
    reason = serializers.CharField()


class StorageNoteSerializer(serializers.Serializer):
    """What the log of a place says of a lot that lay there; it stops nothing by itself."""

    what = serializers.ChoiceField(choices=[OUTSIDE, GAP])
    place = serializers.CharField()
    since = serializers.DateTimeField()
    until = serializers.DateTimeField(allow_null=True, help_text="null: the gap is open still")
    said = serializers.CharField()
    readings = serializers.ListField(child=serializers.IntegerField())


class NeedsSerializer(serializers.Serializer):
    """What its part needs where it lies."""

    low = serializers.CharField(allow_blank=True)
    high = serializers.CharField(allow_blank=True)
    group = serializers.CharField(allow_blank=True)
    apart_from = serializers.ListField(child=serializers.CharField())

    def get_fields(self) -> dict[str, Any]:
        """`class` is a word of the language, so it is added by hand."""
        return {"class": serializers.CharField(allow_blank=True), **super().get_fields()}


class StorageWordSerializer(serializers.Serializer):
    """It was put where it is not said to suit: what was asked, and why it lies there all the same."""

    at = serializers.DateTimeField()
    by = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    asked = serializers.ListField(child=serializers.CharField())
    word = serializers.CharField()


class StorageCheckSerializer(serializers.Serializer):
    """How it was stored when it was counted."""

    at = serializers.DateTimeField()
    by = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    wrong = serializers.CharField(allow_blank=True)
    set_aside = serializers.BooleanField()


class LotStorageSerializer(serializers.Serializer):
    """How a lot is stored, and was."""

    lot_id = serializers.IntegerField()
    lot = serializers.CharField()
    part = serializers.CharField()
    rule = serializers.CharField(allow_blank=True, help_text="how its kind is stored; its maker's packing comes first")
    needs = NeedsSerializer()
    notes = StorageNoteSerializer(many=True)
    words = StorageWordSerializer(many=True)
    checks = StorageCheckSerializer(many=True)


class StorageRuleSerializer(serializers.Serializer):
    """How a kind is stored: looked at when it is counted."""

    kind = serializers.CharField()
    rule = serializers.CharField()
    set_aside = serializers.BooleanField(help_text="found stored wrongly it goes to quarantine until looked at")


class StorageRulesSerializer(serializers.Serializer):
    """The rules by kind."""

    rules = StorageRuleSerializer(many=True)
