"""Fitting: from the bench into use positions."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, WholeField
from api.rest.serializers.common import ShortSerializer
from api.rest.serializers.jobs import MOST


class FittingInSerializer(StrictSerializer):
    """One item into one use position."""

    position = TextField(max_length=80)
    item = WholeField()
    amount = WholeField(required=False, help_text="whole base units of the item; 1 if left out")
    make = WholeField(required=False, min_value=1, max_value=99, help_text="the joint is made for the so manieth time")
    lubricant = TextField(
        max_length=60,
        required=False,
        allow_blank=True,
        help_text="what rubber is fitted with: soap, silicone grease, engine oil, dry…, or the number of a part that is one",
    )
    tag = TextField(max_length=60, required=False, allow_blank=True, help_text="of an old part: its tag")
    clock_deg = WholeField(
        required=False,
        allow_null=True,
        max_value=359,
        help_text="of an old part: angle of its mark as it goes in; of a new set: how far it is turned, clockwise seen from the head",
    )
    side = TextField(max_length=60, required=False, allow_blank=True, help_text="of an old cap: side of its number")


class FittingsInSerializer(ActSerializer):
    """What goes into the engine."""

    fittings = FittingInSerializer(many=True, max_length=MOST)
    checker = TextField(
        max_length=150,
        required=False,
        allow_null=True,
        help_text="log-in of the second person; needed for sets and bearings, never the fitter",
    )
    early_fill = TextField(
        max_length=2000,
        required=False,
        allow_blank=True,
        help_text="why a fill goes in before the sealant has cured by its sheet; the checker signs it",
    )
    otherwise = TextField(
        max_length=2000,
        required=False,
        allow_blank=True,
        help_text="why a liner goes in turned otherwise, or on another shim or base ring, than its height was judged; the checker signs it, "
        "and is somebody who may let a height be",
    )


class FittedSerializer(serializers.Serializer):
    """An item that sits at a position now."""

    position = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    make = serializers.IntegerField()
    reused = serializers.BooleanField()
    instead_of = serializers.CharField(allow_blank=True, help_text="the listed part that it stands in for")
    lubricant = serializers.CharField(allow_blank=True, help_text="empty: not said")
    doubtful = serializers.CharField(allow_blank=True, help_text="what nobody could show about an old part")


class CleanedOffSerializer(serializers.Serializer):
    """Old sealant or fluid that was cleaned off and scrapped."""

    position = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()


class FittingsMadeSerializer(serializers.Serializer):
    """What went in."""

    fitted = FittedSerializer(many=True)
    cleaned_off = CleanedOffSerializer(many=True)


class FittingCorrectionInSerializer(ActSerializer):
    """What was really fitted at a use position. It holds since the fitting; `occurred_at` is left out."""

    position = TextField(max_length=80)
    item = WholeField(help_text="the item that was recorded")
    right = WholeField(help_text="the item that went in: another lot or serial of the same part")
    place = TextField(max_length=60, help_text="where the right one stands by the books: a shelf or quarantine")
    spot = TextField(max_length=60, required=False)
    amount = WholeField(required=False, allow_null=True, help_text="of how many that is true; all if left out")
    reason = TextField(max_length=2000, help_text="how it is known")


class CorrectedThingSerializer(serializers.Serializer):
    """A thing of a corrected fitting."""

    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)


class WrongThingSerializer(CorrectedThingSerializer):
    """What never was in the engine."""

    now_at = serializers.CharField()


class RightThingSerializer(CorrectedThingSerializer):
    """What is in the engine."""

    came_from = serializers.CharField()


class FittingCorrectedSerializer(serializers.Serializer):
    """What is in the engine since the fitting, and what is wrong with it."""

    job = serializers.CharField()
    position = serializers.CharField()
    part = serializers.CharField()
    amount = serializers.IntegerField()
    occurred_at = serializers.DateTimeField()
    wrong = WrongThingSerializer()
    right = RightThingSerializer()
    fitter = serializers.CharField()
    checker = serializers.CharField(allow_blank=True)
    loud = serializers.ListField(
        child=serializers.CharField(),
        help_text="stopped, too old, marked for another place: it was fitted all the same",
    )
    shorts = ShortSerializer(many=True)
