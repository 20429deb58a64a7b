"""Things of the customer that go back against a signature."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, AmountField, StrictSerializer, TextField, WholeField
from api.rest.serializers.jobs import MOST


class GiveInSerializer(StrictSerializer):
    """One thing that goes back."""

    item = WholeField()
    amount = AmountField()
    place = TextField(max_length=80, required=False, help_text="bench if left out, or the code of a quarantine")
    spot = TextField(max_length=80, required=False, help_text="named spot of that place, if it lies at one")


class GivesBackInSerializer(ActSerializer):
    """Things of the customer go back."""

    given = GiveInSerializer(many=True, max_length=MOST)
    signed_by = TextField(max_length=200, help_text="name of who signed for them; only who may see owners reads it")


class GivenThingSerializer(serializers.Serializer):
    """One thing that went back."""

    part = serializers.CharField()
    item = serializers.IntegerField()
    amount = serializers.IntegerField(help_text="whole base units")

    def get_fields(self) -> dict[str, serializers.Field]:
        """`from` is a word of the language, so it is added by hand."""
        return {**super().get_fields(), "from": serializers.CharField(help_text="place")}


class GivesBackMadeSerializer(serializers.Serializer):
    """What went back."""

    job = serializers.CharField()
    given_back = GivenThingSerializer(many=True)


class SignedThingSerializer(GivenThingSerializer):
    """One of the things that somebody signed for."""

    identity = serializers.CharField()


class SignedSerializer(serializers.Serializer):
    """Who signed, when, and for what."""

    act = serializers.IntegerField()
    signed_by = serializers.CharField()
    signed_at = serializers.DateTimeField()
    things = SignedThingSerializer(many=True, help_text="none: plugs and dowels that went back loose")


class GivesBackSerializer(serializers.Serializer):
    """Everything of a job that went back to the customer, in order."""

    gives_back = SignedSerializer(many=True)
