"""Pieces of lots that are kept back."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField
from inventory.domain.keeping import HowEnded


class KeptPieceSerializer(serializers.Serializer):
    """A piece that is kept: on hand and counted, not free."""

    lot_id = serializers.IntegerField()
    lot = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    kept = serializers.IntegerField(help_text="pieces")
    since = serializers.DateTimeField()
    may_go = serializers.BooleanField(
        help_text="the last term of an engine with that lot has ended, or it was fitted nowhere"
    )
    until = serializers.DateField(allow_null=True, help_text="last day on which it is kept; none while nobody can say")
    why = serializers.CharField()


class NewlyKeptSerializer(serializers.Serializer):
    """A piece that is kept from this act on."""

    lot_id = serializers.IntegerField()
    lot = serializers.CharField()
    part = serializers.CharField()
    item = serializers.IntegerField()
    place = serializers.CharField()
    spot = serializers.CharField()
    kept = serializers.IntegerField(help_text="pieces")


class KeepPiecesInSerializer(ActSerializer):
    """Keep one piece of each lot that should keep one and has none."""


class KeptNowSerializer(serializers.Serializer):
    """What is kept from this act on."""

    kept = NewlyKeptSerializer(many=True)


class KeptReleaseInSerializer(ActSerializer):
    """What is kept of a lot is released."""

    reason = TextField(max_length=2000)


class KeptReleasedSerializer(NewlyKeptSerializer):
    """The piece is free stock from now on."""

    how = serializers.ChoiceField(choices=[HowEnded.RELEASED.value, HowEnded.GIVEN_UP.value])
    why = serializers.CharField()
