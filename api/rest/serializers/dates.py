"""The day of fitting, and the check of holds against it."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField


class DateInSerializer(ActSerializer):
    """The fitting is planned for another day."""

    fit_on = DayField()
    reason = TextField(max_length=2000)


class ReplacedHoldSerializer(serializers.Serializer):
    """A hold that became impossible and was held anew from another lot."""

    part = serializers.CharField()
    from_lot = serializers.CharField(allow_blank=True)
    to_lot = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    why = serializers.CharField()


class LackingSerializer(serializers.Serializer):
    """What could not be held anew."""

    part = serializers.CharField()
    amount = serializers.IntegerField(help_text="whole base units: of what comes in tubes, closed tubes")
    base = serializers.CharField()
    shown = serializers.CharField()
    why = serializers.CharField()
    ways = serializers.ListField(child=serializers.DictField(), help_text="ways out, as `shorts` of the job names them")


class TooOldSerializer(serializers.Serializer):
    """Picked already, and stopped or past its use-by on the day of fitting: nobody may fit it."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    amount = serializers.IntegerField()
    use_by = serializers.DateField(allow_null=True)
    stopped = serializers.BooleanField()
    place = serializers.CharField()


class HoldsCheckedSerializer(serializers.Serializer):
    """Every open hold was checked against the day of fitting."""

    kept = serializers.IntegerField()
    replaced = ReplacedHoldSerializer(many=True)
    shorts = LackingSerializer(many=True)
    too_old = TooOldSerializer(many=True)


class DateMovedSerializer(HoldsCheckedSerializer):
    """The new day, and what it did to the holds."""

    fit_on = serializers.DateField()
