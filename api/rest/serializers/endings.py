"""Closing and cancelling jobs."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField
from api.rest.serializers.gives_back import GivenThingSerializer


class ClosingInSerializer(ActSerializer):
    """The job is done."""

    checker = TextField(max_length=150, help_text="log-in of who checked it; never who closes it")


class ClosedSerializer(serializers.Serializer):
    """The job is closed."""

    job = serializers.CharField()
    fitted = serializers.IntegerField(help_text="positions that were fitted on it")


class CancellationInSerializer(ActSerializer):
    """The job is given up."""

    reason = TextField(max_length=2000)
    signed_by = TextField(
        max_length=200, required=False, allow_blank=True, help_text="name of who signed for the owner's own parts"
    )


class CancelledSerializer(serializers.Serializer):
    """The job is cancelled, its holds are free again."""

    released = serializers.ListField(child=serializers.IntegerField())
    given_back = GivenThingSerializer(many=True)
    washed_out = serializers.DictField(
        child=serializers.IntegerField(), help_text="plugs, dowels and jets that went back loose: name: pieces"
    )
