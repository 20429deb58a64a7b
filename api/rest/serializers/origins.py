"""Old parts whose place in the engine nobody knows any more, and the maker's word on them."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, WholeField
from api.rest.serializers.jobs import MOST


class LostPositionsInSerializer(ActSerializer):
    """Parts that were mixed up at the bench."""

    items = serializers.ListField(child=WholeField(), max_length=MOST)
    reason = TextField(max_length=2000, allow_blank=True)


class LostPositionSerializer(serializers.Serializer):
    """A part, and the positions that our records had until now."""

    item = serializers.IntegerField()
    part = serializers.CharField()
    positions = serializers.ListField(child=serializers.CharField())


class LostPositionsMadeSerializer(serializers.Serializer):
    """Their places are on record as lost."""

    lost = LostPositionSerializer(many=True)


class OriginWordInSerializer(ActSerializer):
    """What the maker says of a part of unknown place."""

    item = WholeField()
    position = TextField(max_length=80)
    word = TextField(max_length=2000, allow_blank=True, help_text="who said it, and where it is written")


class OriginWordMadeSerializer(serializers.Serializer):
    """The maker's word is on record."""

    item = serializers.IntegerField()
    position = serializers.CharField()
    word = serializers.CharField()
