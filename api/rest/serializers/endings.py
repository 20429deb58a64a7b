"""Closing and cancelling jobs."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField


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
    owner_signed = TruthField(required=False, help_text="the owner signed for their own parts")


class CancelledSerializer(serializers.Serializer):
    """The job is cancelled, its holds are free again."""

    released = serializers.ListField(child=serializers.IntegerField())
    given_back = serializers.ListField(child=serializers.DictField())
    washed_out = serializers.DictField(
        child=serializers.IntegerField(), help_text="plugs, dowels and jets that went back loose: name: pieces"
    )
