"""What may go in again after it was closed in once."""

from __future__ import annotations

from rest_framework import serializers


class UsedAgainSerializer(serializers.Serializer):
    """One position and make of the list, and whether its part may go in again."""

    position = serializers.CharField()
    make = serializers.IntegerField(help_text="1: as it is closed first, a dry build say; the highest: for good")
    makes = serializers.IntegerField(help_text="how often the joint is made, each time with pieces of its own")
    part = serializers.CharField()
    again = serializers.BooleanField()
    reason = serializers.CharField()

    def get_fields(self) -> dict[str, serializers.Field]:
        """`class` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "class": serializers.ChoiceField(choices=["always-new", "measured", "inspect"])}
