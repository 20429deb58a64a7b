"""Places and what stands in them."""

from __future__ import annotations

from rest_framework import serializers


class PlaceSerializer(serializers.Serializer):
    """Where things stand."""

    code = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    kind = serializers.CharField()
    site = serializers.CharField(allow_blank=True)
    walk_order = serializers.IntegerField(help_text="order in which the shelves are walked")
