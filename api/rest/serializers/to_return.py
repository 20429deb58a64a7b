"""What a job has and asks for no longer: to be returned, or released."""

from __future__ import annotations

from rest_framework import serializers


class ToReleaseSerializer(serializers.Serializer):
    """A hold that serves nothing, or more than it serves."""

    hold = serializers.IntegerField()
    pick_list = serializers.IntegerField(allow_null=True)
    part = serializers.CharField()
    name = serializers.CharField()
    lot = serializers.CharField()
    serial = serializers.CharField()
    tube = serializers.CharField()
    place = serializers.CharField()
    spot = serializers.CharField()
    amount = serializers.IntegerField(help_text="so much of it is no longer asked for")
    held = serializers.IntegerField(help_text="all that the hold is for")
    base = serializers.CharField()
    shown = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField(), help_text="for which it was held")


class ToReturnThingSerializer(serializers.Serializer):
    """A thing on cart or bench that serves nothing."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    name = serializers.CharField()
    lot = serializers.CharField()
    serial = serializers.CharField()
    tube = serializers.CharField()
    place = serializers.CharField()
    amount = serializers.IntegerField()
    base = serializers.CharField()
    shown = serializers.CharField()


class ToReturnSerializer(serializers.Serializer):
    """What is to be returned, and what is to be released."""

    job = serializers.CharField()
    lying = ToReturnThingSerializer(many=True)
    held = ToReleaseSerializer(many=True)
