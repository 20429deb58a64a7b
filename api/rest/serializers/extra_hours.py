"""Hours worked on extra work."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField, WholeField


class HoursInSerializer(ActSerializer):
    """So long somebody worked on a finding of extra work on a day."""

    finding = WholeField(help_text="number of a finding of the job")
    person = TextField(max_length=150, help_text="log-in of who worked")
    day = DayField()
    time = TextField(max_length=40, help_text='with its unit: "1.5 h", "45 min"')


class PurseSerializer(serializers.Serializer):
    """What the owner agreed to by one word, and what was worked of it, in seconds."""

    approval = serializers.IntegerField()
    limit_s = serializers.IntegerField(allow_null=True, help_text="null: hours are not limited")
    used_s = serializers.IntegerField()
    left_s = serializers.IntegerField(allow_null=True)


class HoursMadeSerializer(serializers.Serializer):
    """The entry was made."""

    entry = serializers.IntegerField()
    finding = serializers.IntegerField()
    person = serializers.CharField()
    worked_on = serializers.DateField()
    time_s = serializers.IntegerField()
    hours = PurseSerializer()


class HoursReversedSerializer(serializers.Serializer):
    """The entry counts for nothing."""

    entry = serializers.IntegerField()
    time_s = serializers.IntegerField()


class WorkedSerializer(serializers.Serializer):
    """One entry as it stands."""

    entry = serializers.IntegerField()
    finding = serializers.IntegerField()
    code = serializers.CharField()
    place = serializers.CharField()
    person = serializers.CharField()
    worked_on = serializers.DateField()
    time_s = serializers.IntegerField()
    typed = serializers.CharField()
    entered_by = serializers.CharField()
    reversed = serializers.CharField(allow_null=True, help_text="why; null: it counts")
