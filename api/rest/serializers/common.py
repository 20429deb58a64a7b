"""Shapes that several resources share."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.amounts import AmountSerializer
from api.rest.fields import ActSerializer, TextField


class OutcomeSerializer(serializers.Serializer):
    """What an act answered, as it is stored; the fields of each kind of act are named in its summary."""


class ReasonSerializer(ActSerializer):
    """An act that needs a reason and nothing else."""

    reason = TextField(max_length=2000, help_text="why; never empty")


class ShortSerializer(serializers.Serializer):
    """A job that came up short because of the act, by name."""

    short = serializers.IntegerField()
    hold = serializers.IntegerField(allow_null=True)
    part = serializers.CharField()
    amount = serializers.IntegerField()
    needed_on = serializers.DateField(allow_null=True)
    why = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """`for` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "for": serializers.CharField(help_text="the cart it was held for")}


class StandingSerializer(serializers.Serializer):
    """So much of an item at a spot; `free` is what is not held for a job."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField(help_text="lot, serial and the like in one text; - for none")
    lot = serializers.CharField(allow_blank=True)
    lot_id = serializers.IntegerField(allow_null=True)
    serial = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    place_kind = serializers.CharField()
    site = serializers.CharField(allow_blank=True)
    spot = serializers.CharField()
    amount = AmountSerializer()
    held = AmountSerializer()
    free = AmountSerializer()
    expires_on = serializers.DateField(allow_null=True)
    stopped = serializers.BooleanField()


class WhereSerializer(serializers.Serializer):
    """A spot of a place."""

    place = serializers.CharField()
    spot = serializers.CharField()
