"""Tags of removed parts."""

from __future__ import annotations

from rest_framework import serializers


class TagSerializer(serializers.Serializer):
    """One tag, line by line, and what the paint pen writes on the part."""

    removal = serializers.IntegerField()
    position = serializers.CharField(allow_blank=True, help_text="empty: nobody knows where it came from")
    item = serializers.IntegerField()
    part = serializers.CharField()
    lines = serializers.ListField(child=serializers.CharField())
    paint_mark = serializers.CharField()


class SameTextSerializer(serializers.Serializer):
    """Removals whose tags would read the same: none of them is printed."""

    lines = serializers.ListField(child=serializers.CharField())
    removals = serializers.ListField(child=serializers.IntegerField())


class TagsSerializer(serializers.Serializer):
    """The tags of a job."""

    job = serializers.CharField()
    engine = serializers.CharField()
    front = serializers.CharField(allow_blank=True, help_text="which end of the engine counts as the front")
    caution = serializers.CharField()
    tags = TagSerializer(many=True)
    same_text = SameTextSerializer(many=True)
