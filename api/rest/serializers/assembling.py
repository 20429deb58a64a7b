"""Closed kits made up from loose stock."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, StrictSerializer, TextField, TruthField, WholeField


class LimbInSerializer(StrictSerializer):
    """What goes into every box, and where it lies."""

    item = WholeField()
    each = AmountField(help_text="of it in each box: whole base units, or text with a unit")
    place = TextField(max_length=80, help_text="code of the shelf where it lies")
    spot = TextField(required=False, max_length=80)


class AssemblyInSerializer(ActSerializer):
    """Boxes of a kit, all alike, by its newest contents."""

    lot = TextField(max_length=60, help_text="code of the boxes' own lot, a new one")
    contents = LimbInSerializer(many=True, min_length=1, max_length=500)
    place = TextField(max_length=80, help_text="code of the shelf where the boxes are laid")
    spot = TextField(required=False, max_length=80)
    boxes = WholeField(required=False, help_text="how many; one if left out")
    another_lot = TruthField(required=False, help_text="kept beside a lot that differs in spelling alone")
    reason = TextField(required=False, allow_blank=True, max_length=2000)


class PackedSerializer(serializers.Serializer):
    """What is in the boxes of it."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    lot = serializers.CharField(allow_blank=True)
    each = serializers.IntegerField()
    amount = serializers.IntegerField()


class AssembledSerializer(serializers.Serializer):
    """The closed boxes, and what is in them by lot."""

    kit = serializers.CharField()
    revision = serializers.IntegerField()
    lot = serializers.CharField()
    item = serializers.IntegerField()
    boxes = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    expires_on = serializers.DateField(allow_null=True, help_text="the earliest of its contents")
    expiry_rule = serializers.CharField()
    inside = PackedSerializer(many=True)
