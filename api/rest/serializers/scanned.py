"""What a scanned text is."""

from __future__ import annotations

from rest_framework import serializers


class ScannedThingSerializer(serializers.Serializer):
    """Something on record that has the number."""

    what = serializers.CharField(help_text="part, lot, matched set, serial, tube, place, gauge, job, engine")
    code = serializers.CharField()
    part = serializers.CharField(allow_blank=True)
    address = serializers.CharField(help_text="where more of it is read, below the service's address")


class NearThingSerializer(serializers.Serializer):
    """A number that is near."""

    what = serializers.CharField()
    code = serializers.CharField()


class ScannedSerializer(serializers.Serializer):
    """What a label says and what of it is on record."""

    form = serializers.CharField(help_text="gs1, ansi mh10.8.2 or plain")
    says = serializers.DictField(help_text="what stands on the label, by field")
    found = ScannedThingSerializer(
        many=True, help_text="the narrowest that the label names; several if it names several"
    )
    unknown = serializers.ListField(
        child=serializers.CharField(), help_text="fields of the label that are not on record"
    )
    near = NearThingSerializer(many=True, help_text="if nothing was found")
