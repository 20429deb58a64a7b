"""What else decides the list of a job: operations added, choices made, bores given to sets."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField
from api.rest.serializers.jobs import BookedOperationSerializer


class OperationsInSerializer(ActSerializer):
    """Procedures to be added to a job."""

    operations = serializers.ListField(child=TextField(max_length=40), max_length=100)


class OperationsAddedSerializer(serializers.Serializer):
    """The procedures were added, each in its newest revision."""

    operations = BookedOperationSerializer(many=True)


class ChoiceInSerializer(ActSerializer):
    """An either/or or measured choice."""

    choice = TextField(
        max_length=60,
        allow_blank=True,
        help_text="code of the choice; empty where parts of two operations clash at a position",
    )
    place = TextField(max_length=80, required=False, help_text="ENGINE if left out; a bank or a position otherwise")
    alternative = TextField(
        max_length=60,
        help_text='one of the choice\'s own, "none", or "part:NUMBER" for one that comes in by a replacement; without a choice,'
        ' "fill:9 L" confirms a fill that is asked about, and "part:NUMBER" names what is bought in at the position',
    )
    reason = TextField(max_length=2000, help_text="the measurement, or who decided")


class ChoiceMadeSerializer(serializers.Serializer):
    """The choice was recorded. Holds of candidates that were not chosen are given up."""

    choice = serializers.CharField(allow_blank=True)
    place = serializers.CharField()
    alternative = serializers.CharField()
    released = serializers.ListField(child=serializers.IntegerField(), help_text="holds that were given up")


class BoreInSerializer(StrictSerializer):
    """Which set goes where."""

    position = TextField(max_length=80)
    serial = TextField(max_length=60)


class BoresInSerializer(ActSerializer):
    """Which sets go where; the newest word counts."""

    bores = BoreInSerializer(many=True, min_length=1, max_length=100)
    reason = TextField(max_length=2000, help_text="the gauging, or who decided")


class MarksInSerializer(ActSerializer):
    """Sets whose marks were cleaned off."""

    serials = serializers.ListField(child=TextField(max_length=60), min_length=1, max_length=100)
    reason = TextField(max_length=2000, help_text="why they are not fitted")


class MarksCleanedSerializer(serializers.Serializer):
    """The sets are given to no bore any more."""

    job = serializers.CharField()
    cleaned = serializers.ListField(child=serializers.CharField())
    still_marked = serializers.ListField(child=serializers.CharField())


class BoresMadeSerializer(serializers.Serializer):
    """Fitting refuses any other set from now on."""

    bores = serializers.DictField(child=serializers.CharField(), help_text="position: serial")
