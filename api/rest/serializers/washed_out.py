"""Plugs, dowels and oil jets counted out and back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, TruthField, WholeField


class WashedCountInSerializer(StrictSerializer):
    """So many of one kind."""

    name = TextField(max_length=40, help_text="as the family's list has it")
    count = WholeField(min_value=0, max_value=1000, help_text="0: none came out of this block")


class WashedCountsInSerializer(ActSerializer):
    """What was counted."""

    counts = WashedCountInSerializer(many=True, min_length=1, max_length=100)
    recount = TruthField(required=False, help_text="replaces the earlier counts of these names, with the reason")
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class TallySerializer(serializers.Serializer):
    """How one kind stands."""

    name = serializers.CharField()
    listed = serializers.IntegerField(help_text="so many the block has, by the family's list")
    counted = serializers.BooleanField(help_text="somebody counted it out, be it none")
    out = serializers.IntegerField()
    back = serializers.IntegerField()
    missing = serializers.IntegerField()


class WashedCountsMadeSerializer(serializers.Serializer):
    """How every kind stands now."""

    job = serializers.CharField()
    washed_out = TallySerializer(many=True)


class WashedCountSerializer(serializers.Serializer):
    """One count, by whom and when."""

    name = serializers.CharField()
    count = serializers.IntegerField()
    back = serializers.BooleanField()
    recount = serializers.BooleanField()
    by = serializers.CharField()
    at = serializers.DateTimeField()
    reason = serializers.CharField(allow_blank=True)


class HotWashInSerializer(ActSerializer):
    """Pieces that came out of a hot wash at the moment of the act."""

    pieces = serializers.ListField(child=TextField(max_length=20), min_length=1, max_length=10)


class HotWashMadeSerializer(serializers.Serializer):
    """What came out when."""

    job = serializers.CharField()
    pieces = serializers.ListField(child=serializers.CharField())
    out_at = serializers.DateTimeField()


class HotWashSerializer(serializers.Serializer):
    """One piece, by whom and when."""

    piece = serializers.CharField()
    by = serializers.CharField()
    out_at = serializers.DateTimeField()


class WashedOutSerializer(WashedCountsMadeSerializer):
    """How every kind stands, who counted what when, and the hot washes."""

    hot_washes = HotWashSerializer(many=True)

    counts = WashedCountSerializer(many=True)
