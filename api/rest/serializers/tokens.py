"""Logging in by name and password."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import StrictSerializer, TextField


class LoginSerializer(StrictSerializer):
    """Name and password of a person."""

    username = TextField(max_length=150)
    password = TextField(max_length=200, trim_whitespace=False)


class TokenSerializer(serializers.Serializer):
    """The person's token; the same one until it is dropped."""

    token = serializers.CharField()
