"""Safety data sheets of chemicals, and who signed them as read."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField
from inventory.domain.safety_sheets import LONGEST_LINK


class SafetySheetInSerializer(ActSerializer):
    """The safety data sheet of a chemical."""

    link = TextField(max_length=LONGEST_LINK, help_text="an address, or where it hangs")
    issued_on = DayField()


class SafetySheetEnteredSerializer(serializers.Serializer):
    """The sheet is on record."""

    part = serializers.CharField()
    revision = serializers.IntegerField()
    link = serializers.CharField()
    issued_on = serializers.DateField()


class SafetySheetReaderSerializer(serializers.Serializer):
    """Somebody who signed the safety data sheet as read."""

    person = serializers.CharField()
    at = serializers.DateTimeField()


class SafetySheetSerializer(serializers.Serializer):
    """One revision of a safety data sheet."""

    revision = serializers.IntegerField()
    since = serializers.DateTimeField()
    link = serializers.CharField()
    issued_on = serializers.DateField()
    read_by = SafetySheetReaderSerializer(many=True)


class PartSafetySheetsSerializer(serializers.Serializer):
    """All safety data sheets of a part, the newest first."""

    part = serializers.CharField()
    sheets = SafetySheetSerializer(many=True)


class ChemicalSerializer(serializers.Serializer):
    """A chemical and its newest sheet."""

    part = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.CharField()
    sheet = SafetySheetSerializer(allow_null=True, help_text="null: it may be received, it is not issued")


class ChemicalsSerializer(serializers.Serializer):
    """Every chemical of the catalogue."""

    chemicals = ChemicalSerializer(many=True)


class SafetySheetsReadInSerializer(ActSerializer):
    """Parts whose newest safety data sheets the person has read."""

    parts = serializers.ListField(child=TextField(max_length=60), max_length=500)


class SafetySheetReadSerializer(serializers.Serializer):
    """One sheet that was signed."""

    part = serializers.CharField()
    revision = serializers.IntegerField()


class SafetySheetsReadSerializer(serializers.Serializer):
    """Who signed which sheets."""

    person = serializers.CharField()
    signed = SafetySheetReadSerializer(many=True)
    before = serializers.ListField(
        child=serializers.CharField(), help_text="parts whose newest sheet was signed before"
    )
