"""Readings of a job, and what they came to."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, TruthField, WholeField
from api.rest.shapes import shape
from kits.queries.read_again import Again
from kits.queries.readings import WHATS, ReadingRow
from kits.services.readings import MOST_LINES

ReadingSerializer = shape(ReadingRow)


class ReadingInSerializer(StrictSerializer):
    """One reading. It names a place of the engine, a matched set, or a thing, or several of them."""

    what = serializers.ChoiceField(choices=WHATS)
    value = TextField(max_length=40, help_text='as typed, with its unit: "93.035 mm"')
    meant = TextField(
        max_length=40, required=False, allow_blank=True, help_text="what the typed value was meant to be; both are kept"
    )
    gauge = TextField(max_length=40, help_text="number on the register; one that is out of date is kept and marked")
    place = TextField(max_length=80, required=False, allow_blank=True, help_text="CYL-2, MAIN-3, or a use position")
    set = TextField(max_length=60, required=False, allow_blank=True, help_text="serial of a matched set")
    part = TextField(max_length=60, required=False, allow_blank=True, help_text="where several parts have that serial")
    item = WholeField(required=False, allow_null=True)
    point = TextField(
        max_length=40, required=False, allow_blank=True, help_text='clock hour from 1 to 12, or "top/across"'
    )
    part_temperature = TextField(max_length=40, required=False, allow_blank=True, help_text='"31 °C"')
    gauge_temperature = TextField(max_length=40, required=False, allow_blank=True)
    clean = TruthField(required=False, allow_null=True)
    clamped = TruthField(required=False, allow_null=True)
    clamp_load = TextField(max_length=80, required=False, allow_blank=True)
    without_rubber = TruthField(required=False, allow_null=True, help_text="false: recorded, never computed with")
    confirmed = TruthField(required=False, help_text="right as typed, although it lies outside what is expected")
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class ReadingsInSerializer(ActSerializer):
    """Readings, all of them or none."""

    readings = ReadingInSerializer(many=True, max_length=4 * MOST_LINES)


class ReadingMadeSerializer(serializers.Serializer):
    """A reading on record; `marks` say why it may not decide a pass."""

    id = serializers.IntegerField()
    what = serializers.CharField()
    place = serializers.CharField(allow_blank=True)
    set = serializers.CharField(allow_blank=True)
    item = serializers.IntegerField(allow_null=True)
    point = serializers.CharField(allow_blank=True)
    repeat = serializers.IntegerField()
    value = serializers.IntegerField(help_text="whole number of `base`")
    base = serializers.CharField()
    shown = serializers.CharField()
    gauge = serializers.CharField()
    gauge_state = serializers.CharField()
    uncertainty = serializers.IntegerField()
    marks = serializers.ListField(child=serializers.CharField())
    computed_with = serializers.BooleanField()


class RepeatedSerializer(serializers.Serializer):
    """What the repeats of one reading come to: mean of two within the allowance, median of three or more, or measure again."""

    what = serializers.CharField()
    place = serializers.CharField(allow_blank=True)
    set = serializers.CharField(allow_blank=True)
    item = serializers.IntegerField(allow_null=True)
    point = serializers.CharField(allow_blank=True)
    count = serializers.IntegerField()
    value = serializers.IntegerField(allow_null=True)
    spread = serializers.IntegerField()
    allowance = serializers.IntegerField()
    how = serializers.CharField()


class ReadingsMadeSerializer(serializers.Serializer):
    """The readings are on record."""

    readings = ReadingMadeSerializer(many=True)
    repeats = RepeatedSerializer(many=True)


class StaleSerializer(serializers.Serializer):
    """A result that is stale from now on."""

    result = serializers.IntegerField()
    kind = serializers.CharField()
    subject = serializers.CharField()


class ReadingWithdrawnSerializer(serializers.Serializer):
    """The reading does not count any more."""

    reading = serializers.IntegerField()
    reason = serializers.CharField()
    stale = StaleSerializer(many=True)


class ResultSerializer(serializers.Serializer):
    """A result of a job; `document` has its rule and its inputs."""

    id = serializers.IntegerField()
    job = serializers.CharField()
    kind = serializers.CharField()
    subject = serializers.CharField()
    document = serializers.DictField()
    at = serializers.DateTimeField()
    by = serializers.CharField()
    readings = serializers.ListField(child=serializers.IntegerField(), help_text="ids of the readings it rests on")
    stale = serializers.BooleanField()
    why = serializers.ListField(child=serializers.CharField(), help_text="why it is stale")
    replaced_by = serializers.IntegerField(allow_null=True)
    other_limits = serializers.CharField(
        help_text="why it is to be judged again: the family's limits are stated otherwise now; empty: they are not"
    )
    again = shape(Again)(
        many=True, help_text="why it is to be judged again: what it rests on was read anew, cut, or is of another set"
    )
