"""Purchase orders."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import MOST_LINES, ActSerializer, AmountField, DayField, StrictSerializer, TextField, WholeField
from api.rest.shapes import shape
from inventory.queries.supplier_record import SupplierRecord

_AMOUNT = 'text with a unit ("20 EA", "12 mL"), or a whole number of base units'


class OrderLineInSerializer(StrictSerializer):
    """So much of a part: an amount, or a number of packs as the supplier sells them."""

    part = TextField(max_length=60)
    amount = AmountField(required=False, help_text=_AMOUNT)
    packs = WholeField(required=False)
    total_coins = WholeField(required=False, allow_null=True, help_text="for all of it")
    promised_on = DayField(required=False, allow_null=True, help_text="the day that the supplier named")
    job = TextField(required=False, allow_blank=True, max_length=80, help_text="number of the job it is for")


class OrderInSerializer(ActSerializer):
    """An order to a supplier."""

    order = TextField(max_length=40, help_text="the shop's number of the order, given once")
    supplier = TextField(max_length=40)
    note = TextField(required=False, allow_blank=True, max_length=200)
    lines = OrderLineInSerializer(many=True, max_length=MOST_LINES)


class OrderedLineSerializer(serializers.Serializer):
    """A line as it was ordered."""

    line = serializers.IntegerField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    typed = serializers.CharField()
    total_coins = serializers.IntegerField(allow_null=True)
    promised_on = serializers.DateField(allow_null=True)
    job = serializers.CharField(allow_blank=True)
    doubts = serializers.ListField(child=serializers.CharField(), help_text="what the supplier's terms say against it")


class OrderedSerializer(serializers.Serializer):
    """The order as placed."""

    order = serializers.CharField()
    supplier = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    lines = OrderedLineSerializer(many=True)


class OrderPromiseInSerializer(StrictSerializer):
    """The day on which a line is promised."""

    line = WholeField()
    promised_on = DayField()


class AcknowledgementInSerializer(ActSerializer):
    """What the supplier says of lines of an order."""

    lines = OrderPromiseInSerializer(many=True, max_length=MOST_LINES)
    note = TextField(required=False, allow_blank=True, max_length=2000, help_text="its number, or who said so")


class OrderPromisedSerializer(serializers.Serializer):
    """A line with its promise until now."""

    line = serializers.IntegerField()
    promised_on = serializers.DateField()
    before = serializers.DateField(allow_null=True)


class AcknowledgedSerializer(serializers.Serializer):
    """The promises as they stand."""

    order = serializers.CharField()
    note = serializers.CharField(allow_blank=True)
    lines = OrderPromisedSerializer(many=True)


class OrderClosingLineInSerializer(StrictSerializer):
    """So much of a line will not come; all that is still to come where no amount is given."""

    line = WholeField()
    amount = AmountField(required=False, help_text=_AMOUNT)


class OrderClosingInSerializer(ActSerializer):
    """What will not come, and why."""

    lines = OrderClosingLineInSerializer(many=True, max_length=MOST_LINES)
    reason = TextField(max_length=2000)


class OrderClosedLineSerializer(serializers.Serializer):
    """What was given up of a line, and what is still to come."""

    line = serializers.IntegerField()
    part = serializers.CharField()
    given_up = serializers.IntegerField()
    outstanding = serializers.IntegerField()
    loans = serializers.ListField(
        child=serializers.IntegerField(),
        help_text="that run, and that the line was to pay back: the lending jobs may be short now",
    )


class OrderClosedSerializer(serializers.Serializer):
    """The closing as booked."""

    order = serializers.CharField()
    reason = serializers.CharField()
    lines = OrderClosedLineSerializer(many=True)


class SupplierRecordsSerializer(serializers.Serializer):
    """What each supplier did, by its code."""

    on = serializers.DateField()
    since = serializers.DateField(allow_null=True)
    suppliers = shape(SupplierRecord)(many=True)
