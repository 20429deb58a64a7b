"""Owners of engines: personal data, for those who need it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField, WholeField


def _about() -> dict[str, Any]:
    return {
        "address": TextField(max_length=1000, required=False, allow_blank=True),
        "telephone": TextField(max_length=60, required=False, allow_blank=True),
        "email": serializers.EmailField(max_length=254, required=False, allow_blank=True),
    }


class OwnerInSerializer(ActSerializer):
    """An owner to be entered."""

    name = TextField(max_length=200)

    def get_fields(self) -> dict[str, Any]:
        """Own fields and what every act may say."""
        return {**_about(), **super().get_fields()}


class OwnerChangeSerializer(ActSerializer):
    """Fields of an owner to be changed."""

    name = TextField(max_length=200, required=False)

    def get_fields(self) -> dict[str, Any]:
        """Own fields and what every act may say."""
        return {**_about(), **super().get_fields()}


class OwnerSerializer(serializers.Serializer):
    """An owner of engines."""

    id = serializers.IntegerField()
    name = serializers.CharField()
    address = serializers.CharField(allow_blank=True)
    telephone = serializers.CharField(allow_blank=True)
    email = serializers.CharField(allow_blank=True)
    version = serializers.IntegerField()


class OwnerMadeSerializer(serializers.Serializer):
    """The owner was entered; acts carry the number only."""

    owner = serializers.IntegerField()
    version = serializers.IntegerField()


class OwnerChangedSerializer(OwnerMadeSerializer):
    """The owner was changed."""

    changed = serializers.ListField(child=serializers.CharField(), help_text="names of the fields, never their texts")


class EngineOwnerInSerializer(ActSerializer):
    """An engine changed hands."""

    owner = WholeField(help_text="number of the owner")
    since = DayField(help_text="the first day on which it is theirs; not later than the act")
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class EngineOwnerSerializer(serializers.Serializer):
    """Whose an engine is from a day on."""

    act = serializers.IntegerField()
    owner = serializers.IntegerField()
    name = serializers.CharField()
    since = serializers.DateField()
    by = serializers.CharField()


class EngineChangedHandsSerializer(serializers.Serializer):
    """Whose it was and is, by the numbers of the owners."""

    engine = serializers.CharField()
    owner = serializers.IntegerField()
    since = serializers.DateField()
    before = serializers.IntegerField(allow_null=True)
    now = serializers.IntegerField()
