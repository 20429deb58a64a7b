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
    since = serializers.DateTimeField(help_text="kept at this spot since")
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

    pieces = serializers.IntegerField(help_text="in all")
    kept = NewlyKeptSerializer(many=True, help_text="the first hundred")


class LeftToJobSerializer(serializers.Serializer):
    """A lot of which one would be kept, if a job did not come first."""

    part = serializers.CharField()
    lot = serializers.CharField()
    lot_id = serializers.IntegerField()


class KeptBackSerializer(KeptNowSerializer):
    """What an act kept of the lots that it laid on shelves, and what it left to a job."""

    left_to_job = LeftToJobSerializer(many=True)
    why = serializers.CharField(allow_blank=True, help_text="why it was left to the job")


class LaidSerializer(serializers.Serializer):
    """The answer of an act that may lay something on a shelf."""

    kept_back = KeptBackSerializer(
        required=False, help_text="what is kept of the lots from this act on; absent where nothing is"
    )


class KeptReleaseInSerializer(ActSerializer):
    """What is kept of a lot is released."""

    reason = TextField(max_length=2000)


class KeptReleasedSerializer(NewlyKeptSerializer):
    """The piece is free stock from now on."""

    how = serializers.ChoiceField(choices=[HowEnded.RELEASED.value, HowEnded.GIVEN_UP.value])
    why = serializers.CharField()
