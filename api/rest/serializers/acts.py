"""Acts, what they moved, and what was refused."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.amounts import AmountSerializer
from api.rest.serializers.kept import LaidSerializer


class PersonSerializer(serializers.Serializer):
    """Who."""

    login = serializers.CharField()
    name = serializers.CharField()


class ActRecordSerializer(serializers.Serializer):
    """Who did what, true since when, known since when."""

    id = serializers.IntegerField()
    key = serializers.UUIDField()
    kind = serializers.CharField()
    actor = PersonSerializer()
    occurred_at = serializers.DateTimeField(help_text="true since")
    recorded_at = serializers.DateTimeField(help_text="known since")
    device = serializers.CharField(allow_blank=True)
    device_at = serializers.DateTimeField(allow_null=True)
    place = serializers.CharField(allow_blank=True)
    subject = serializers.CharField(allow_blank=True)
    reason = serializers.CharField(allow_blank=True)
    corrects = serializers.IntegerField(allow_null=True)
    corrected_by = serializers.IntegerField(allow_null=True)


class MovementSerializer(serializers.Serializer):
    """So much of an item went from one place to another; places that are only our books' own are said in words."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    identity = serializers.CharField()
    amount = AmountSerializer()
    said_from = serializers.CharField()
    from_spot = serializers.CharField()
    said_to = serializers.CharField()
    to_spot = serializers.CharField()


class ActDetailSerializer(ActRecordSerializer):
    """An act with what it moved and what it answered."""

    movements = MovementSerializer(many=True)
    outcome = serializers.DictField()


class RefusalSerializer(serializers.Serializer):
    """A rule said no."""

    id = serializers.IntegerField()
    key = serializers.UUIDField()
    kind = serializers.CharField()
    actor = PersonSerializer()
    recorded_at = serializers.DateTimeField()
    subject = serializers.CharField(allow_blank=True)
    code = serializers.CharField()
    message = serializers.CharField()
    values = serializers.DictField()


class EndSerializer(serializers.Serializer):
    """One end of a movement that was taken back; both empty where that is no place of the shop."""

    place = serializers.CharField(allow_blank=True)
    spot = serializers.CharField(allow_blank=True)


class ReversedSerializer(serializers.Serializer):
    """A movement that was taken back."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField()
    to = EndSerializer()
    said = serializers.CharField(
        allow_blank=True, help_text="what is taken back, where one end is no place of the shop"
    )

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": EndSerializer()}


class CorrectionSerializer(LaidSerializer):
    """The act was taken back, true since its own moment."""

    corrects = serializers.IntegerField()
    kind = serializers.CharField()
    occurred_at = serializers.DateTimeField()
    reversed = ReversedSerializer(many=True)
    restored = serializers.DictField(help_text="what is again as it was before, where that is more than movements")
    holds_not_restored = serializers.ListField(child=serializers.IntegerField())
    note = serializers.CharField(allow_blank=True)
