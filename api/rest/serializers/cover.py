"""The cheapest cover of what a job lacks."""

from __future__ import annotations

from rest_framework import serializers


class CoverTakenSerializer(serializers.Serializer):
    """A kit, pack or single part that is taken so many times."""

    what = serializers.CharField(help_text="number of the kit or part")
    kit = serializers.BooleanField()
    revision = serializers.IntegerField(allow_null=True, help_text="of a kit: which contents its boxes have")
    times = serializers.IntegerField()
    each_coins = serializers.IntegerField()
    holds = serializers.DictField(child=serializers.IntegerField(), help_text="part to pieces in one of it")


class CoverLeftSerializer(serializers.Serializer):
    """What a cover brings beyond the need."""

    part = serializers.CharField()
    pieces = serializers.IntegerField()
    worth_coins = serializers.IntegerField(help_text="of one, as the request said")


class CoverSerializer(serializers.Serializer):
    """The cheapest cover."""

    job = serializers.CharField()
    complete = serializers.BooleanField(help_text="kits and shelves have everything")
    missing = serializers.DictField(child=serializers.IntegerField(), help_text="part to pieces that nothing covers")
    take = CoverTakenSerializer(many=True)
    left = CoverLeftSerializer(many=True)
    cost_coins = serializers.IntegerField()
    left_coins = serializers.IntegerField(help_text="worth of all that is left over")
    loose_coins = serializers.IntegerField(
        allow_null=True, help_text="what single parts alone would cost; null: they do not suffice"
    )
    without_price = serializers.ListField(
        child=serializers.CharField(),
        help_text="parts that count as nothing and kits that are not taken, for want of a price",
    )
