"""Claims on suppliers: rejects, returns, credits."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import AMOUNT, MOST_LINES, ActSerializer, AmountField, StrictSerializer, TextField, WholeField
from api.rest.serializers.common import WhereSerializer
from api.rest.shapes import shape
from inventory.domain.receiving import Settled
from inventory.queries.deliveries import ReturnRow


class RejectInSerializer(ActSerializer):
    """So much of a delivered line is rejected, where it lies."""

    line = WholeField(help_text="the receipt's own number of the line")
    amount = AmountField(help_text=AMOUNT)
    place = TextField(max_length=80)
    spot = TextField(required=False, max_length=80)
    quarantine = TextField(required=False, allow_blank=True, max_length=80, help_text="where they go from a shelf")
    reason = TextField(max_length=2000)
    photos = serializers.ListField(
        child=TextField(max_length=500), required=False, max_length=20, help_text="where each is kept"
    )


class RejectedSerializer(serializers.Serializer):
    """The claim as booked."""

    rejects = serializers.ListField(
        child=serializers.IntegerField(), help_text="two where some of it had been accepted before"
    )
    line = serializers.IntegerField()
    supplier = serializers.CharField()
    order = serializers.CharField(allow_blank=True)
    part = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    place = serializers.CharField()
    reason = serializers.CharField()
    photos = serializers.ListField(child=serializers.CharField())
    photo_missing = serializers.BooleanField()


class SupplierReturnLineInSerializer(StrictSerializer):
    """So much of an item that goes back, and the credit asked for all of it."""

    item = WholeField()
    place = TextField(max_length=80)
    spot = TextField(required=False, max_length=80)
    amount = AmountField(help_text=AMOUNT)
    coins = WholeField()
    reject = WholeField(required=False, allow_null=True, help_text="the claim that it answers")


class SupplierReturnInSerializer(ActSerializer):
    """Goods go back to their supplier."""

    supplier = TextField(max_length=40)
    note = TextField(max_length=120, help_text="number of the return note")
    lines = SupplierReturnLineInSerializer(many=True, max_length=MOST_LINES)


class SupplierReturnedLineSerializer(serializers.Serializer):
    """A line that went back."""

    line = serializers.IntegerField(help_text="its own number, for the credit")
    item = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    reject = serializers.IntegerField(allow_null=True)
    coins = serializers.IntegerField()

    def get_fields(self) -> dict[str, Any]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": WhereSerializer()}


class SupplierReturnedSerializer(serializers.Serializer):
    """The return as booked."""

    supplier = serializers.CharField()
    note = serializers.CharField()
    lines = SupplierReturnedLineSerializer(many=True)
    coins = serializers.IntegerField()


class CreditInSerializer(ActSerializer):
    """What the supplier credited of a returned line, or refused."""

    what = serializers.ChoiceField(choices=[one.value for one in Settled])
    coins = WholeField()
    reason = TextField(required=False, allow_blank=True, max_length=2000, help_text="needed where it was refused")


class CreditedSerializer(serializers.Serializer):
    """What is awaited after it."""

    line = serializers.IntegerField()
    credit = serializers.IntegerField()
    what = serializers.CharField()
    coins = serializers.IntegerField()
    awaited_coins = serializers.IntegerField()


class AwaitedSerializer(serializers.Serializer):
    """Credits that are awaited, the oldest first."""

    on = serializers.DateField()
    awaited = shape(ReturnRow)(many=True)
    awaited_coins = serializers.IntegerField()
