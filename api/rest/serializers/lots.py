"""Lots, their stops, and where they are."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField
from api.rest.serializers.common import ShortSerializer


class LotSerializer(serializers.Serializer):
    """A batch of a part."""

    id = serializers.IntegerField()
    part = serializers.CharField()
    code = serializers.CharField()
    cure_code = serializers.CharField(allow_blank=True)
    made_on = serializers.DateField(allow_null=True)
    expires_on = serializers.DateField(allow_null=True)
    expiry_rule = serializers.CharField(allow_blank=True, help_text="the rule that gave the day")
    supplier = serializers.CharField(allow_blank=True)
    received_on = serializers.DateField(allow_null=True)
    stopped = serializers.BooleanField()


class StopSerializer(serializers.Serializer):
    """A stop of the lot, lifted or not."""

    id = serializers.IntegerField()
    act = serializers.IntegerField()
    since = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField()
    freed_at = serializers.DateTimeField(allow_null=True)
    free_reason = serializers.CharField(allow_blank=True)


class InnerLotSerializer(serializers.Serializer):
    """A lot inside the closed kits of this lot."""

    part = serializers.CharField()
    lot = serializers.CharField()
    lot_id = serializers.IntegerField()
    amount = serializers.IntegerField()


class LotDetailSerializer(LotSerializer):
    """A lot with its stops and what its kits hold."""

    stops = StopSerializer(many=True)
    inner_lots = InnerLotSerializer(many=True)


class StopInSerializer(ActSerializer):
    """Why nothing of it may be used."""

    reason = TextField(max_length=2000)


class StoppedSerializer(serializers.Serializer):
    """It is stopped; jobs that were promised some of it came up short."""

    stop = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(required=False, help_text="where a lot was stopped")
    item = serializers.IntegerField(required=False, help_text="where one item was stopped")
    identity = serializers.CharField(required=False)
    reason = serializers.CharField()
    shorts = ShortSerializer(many=True)
    where = serializers.DictField(help_text="where all of it is, counted")


class FreeInSerializer(ActSerializer):
    """Which stop is lifted, and why."""

    stop = WholeField()
    reason = TextField(max_length=2000)


class FreedSerializer(serializers.Serializer):
    """It is free again; nothing was planned anew."""

    stop = serializers.IntegerField()
    part = serializers.CharField()
    lot = serializers.CharField(required=False, help_text="code, where a lot was meant")
    item = serializers.IntegerField(required=False, help_text="where a single thing was meant")
    reason = serializers.CharField()
    note = serializers.CharField()
