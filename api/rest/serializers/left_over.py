"""In mid-job and after it: one more, unused back, scrap, positions that get nothing, tools counted back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, StrictSerializer, TextField
from api.rest.serializers.jobs import MOST


class ExtraInSerializer(ActSerializer):
    """One more of a part."""

    part = TextField(max_length=60)
    amount = AmountField()
    reason = TextField(
        max_length=60, help_text="found after strip, damaged in fitting, wrong on list, dropped, or lost"
    )
    positions = serializers.ListField(child=TextField(max_length=80), required=False, max_length=MOST)


class ExtraHeldSerializer(serializers.Serializer):
    """What was held for an extra."""

    hold = serializers.IntegerField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    serial = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    amount = serializers.IntegerField()


class ExtraMadeSerializer(serializers.Serializer):
    """The extra is held, as far as the shelves have it, on a pick list of its own."""

    pick_list = serializers.IntegerField()
    number = serializers.IntegerField()
    held = ExtraHeldSerializer(many=True)
    short = serializers.IntegerField(help_text="missing, whole base units")
    why = serializers.CharField(allow_blank=True)


class PositionNotNeededSerializer(StrictSerializer):
    """A listed position that gets nothing."""

    position = TextField(max_length=80)
    because = TextField(max_length=2000)


class NotNeededInSerializer(ActSerializer):
    """Listed positions that get nothing."""

    positions = PositionNotNeededSerializer(many=True, min_length=1, max_length=MOST)


class NotNeededMadeSerializer(serializers.Serializer):
    """They are off the list."""

    not_needed = serializers.DictField(child=serializers.CharField(), help_text="position: because")


class ToolReturnsInSerializer(ActSerializer):
    """Special tools counted back."""

    tools = serializers.ListField(child=TextField(max_length=80), min_length=1, max_length=500)


class ToolReturnsMadeSerializer(serializers.Serializer):
    """They are in the crib again."""

    back = serializers.ListField(child=serializers.CharField())
    still_out = serializers.ListField(child=serializers.CharField())
