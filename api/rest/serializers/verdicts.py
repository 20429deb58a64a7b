"""What readings of a job are judged for, and what they came to."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField
from kits.domain.judging import KINDS


class VerdictInSerializer(ActSerializer):
    """What is to be judged. Readings that are on record are taken; none is sent here."""

    kind = serializers.ChoiceField(choices=KINDS)
    place = TextField(
        max_length=80,
        required=False,
        allow_blank=True,
        help_text="the cylinder of a clearance or of ring gaps; ENGINE or a bank of a head gasket",
    )
    set = TextField(max_length=60, required=False, allow_blank=True, help_text="serial of a matched set")
    bearing = TextField(max_length=60, required=False, allow_blank=True, help_text="where the family has several")
    fitted = serializers.ListField(
        child=TextField(max_length=60),
        required=False,
        max_length=2,
        help_text="thrust washers that were fitted when the end float was read",
    )
    used = TruthField(required=False, help_text="rings that ran before: the limit of wear counts")


class VerdictMadeSerializer(serializers.Serializer):
    """The result is on record; `document` has its limits, readings, corrections, and what it chooses."""

    result = serializers.IntegerField()
    kind = serializers.CharField()
    subject = serializers.CharField()
    verdict = serializers.CharField(help_text="pass, doubtful or fail")
    document = serializers.DictField()


class AcceptanceInSerializer(ActSerializer):
    """Accept what a result chose."""

    reason = TextField(
        max_length=2000, required=False, allow_blank=True, help_text="needed where the result is doubtful"
    )


class WordSerializer(serializers.Serializer):
    """A choice that is settled by it."""

    choice = serializers.CharField()
    place = serializers.CharField()
    alternative = serializers.CharField()


class AcceptanceMadeSerializer(serializers.Serializer):
    """The list of the job asks for what the result chose."""

    result = serializers.IntegerField()
    kind = serializers.CharField()
    subject = serializers.CharField()
    verdict = serializers.CharField(allow_blank=True)
    choices = WordSerializer(many=True)
    released = serializers.ListField(child=serializers.IntegerField(), help_text="holds that were given up")
