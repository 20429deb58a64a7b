"""Owners of engines: personal data, for those who need it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField


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
