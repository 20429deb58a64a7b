"""The owner's words on parts that go in instead of listed ones."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField


class SubstituteWordInSerializer(ActSerializer):
    """The owner's word on one part in place of a listed one."""

    listed = TextField(max_length=60, help_text="number of the part that the list asks for")
    instead = TextField(max_length=60, help_text="number of the part that would go in")
    agreed = TruthField()
    given_by = TextField(max_length=200, help_text="role of who gave it; the name stands with the owner")
    how = TextField(max_length=60, help_text="telephone, letter, in person")


class SubstituteWaitingSerializer(serializers.Serializer):
    """What waits for the owner's word: neither picked nor handed over nor fitted before that."""

    listed = serializers.CharField()
    instead = serializers.CharField()
    said_no = serializers.BooleanField(help_text="the owner's newest word is a no")
    held = serializers.IntegerField(help_text="on the shelf, base units")
    here = serializers.IntegerField(help_text="on the cart or at the bench, base units: returned after a no")


class SubstituteWordMadeSerializer(serializers.Serializer):
    """The word was recorded."""

    job = serializers.CharField()
    listed = serializers.CharField()
    instead = serializers.CharField()
    agreed = serializers.BooleanField()
    released = serializers.ListField(child=serializers.IntegerField(), help_text="of a no: holds that ended")
    waiting = SubstituteWaitingSerializer(many=True, help_text="what waits for a word still")


class SubstituteWordSerializer(serializers.Serializer):
    """One word; the newest on the same two parts counts."""

    listed = serializers.CharField()
    instead = serializers.CharField()
    agreed = serializers.BooleanField()
    given_by = serializers.CharField()
    how = serializers.CharField()
    at = serializers.DateTimeField()
    by = serializers.CharField()


class SubstituteWordsSerializer(serializers.Serializer):
    """Every word, oldest first, and what waits for one."""

    job = serializers.CharField()
    asked = serializers.CharField(allow_blank=True, help_text="why the owner has to agree; empty: need not be asked")
    waiting = SubstituteWaitingSerializer(many=True)
    words = SubstituteWordSerializer(many=True)
