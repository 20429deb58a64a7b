"""Hand-over of an engine to the customer, its meters, its term."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import ActSerializer, DayField, TextField, TruthField
from kits.domain.terms import BASE, MOMENTS


def shown_value(**more: Any) -> serializers.DecimalField:
    """What a meter shows, to a tenth."""
    return serializers.DecimalField(max_digits=10, decimal_places=1, min_value=0, **more)


class EngineHandoverInSerializer(ActSerializer):
    """The engine goes to the customer."""

    handed_over_on = DayField()
    used_in = TextField(
        max_length=60, required=False, allow_blank=True, help_text="where it works; some limits count there alone"
    )
    new_term = TruthField(required=False, help_text="false: a rework, the earlier term goes on; true if left out")
    confirmed = TruthField(
        required=False,
        help_text="it goes out although something in it is stopped: by who may lift stops, with the reason",
    )
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class StoppedInsideSerializer(serializers.Serializer):
    """Something in the engine is stopped, itself or its lot."""

    position = serializers.CharField()
    item = serializers.IntegerField()
    part = serializers.CharField()
    called = serializers.CharField()


class EngineHandedOverSerializer(serializers.Serializer):
    """The engine is with the customer."""

    job = serializers.CharField()
    engine = serializers.CharField()
    handed_over_on = serializers.DateField()
    new_term = serializers.BooleanField()
    stopped = StoppedInsideSerializer(many=True, help_text="what went out although it is stopped")


class _MeterInSerializer(ActSerializer):
    meter = serializers.ChoiceField(choices=sorted(BASE))
    photo_ref = TextField(max_length=200, required=False, allow_blank=True, help_text="where the photograph is kept")
    confirmed = TruthField(required=False, help_text="it stands whatever is asked about it, with the reason")
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class MeterReadingInSerializer(_MeterInSerializer):
    """A meter was read."""

    moment = serializers.ChoiceField(choices=list(MOMENTS))
    read_on = DayField()
    shows = shown_value(help_text="hours or kilometres, to a tenth")


class MeterChangeInSerializer(_MeterInSerializer):
    """A meter was changed."""

    changed_on = DayField()
    old_shows = shown_value(help_text="the old meter when it came out")
    new_begins_at = shown_value(help_text="the new meter when it went in")


class MeterReadingMadeSerializer(serializers.Serializer):
    """The reading stands, with what was asked about it."""

    engine = serializers.CharField()
    meter = serializers.CharField()
    on = serializers.DateField()
    shows = serializers.CharField()
    asked = serializers.ListField(child=serializers.CharField())


class MeterReadingSerializer(serializers.Serializer):
    """A meter read or changed."""

    id = serializers.IntegerField(help_text="to withdraw it: engines/{number}/readings/{id}/withdrawals")
    meter = serializers.CharField()
    moment = serializers.CharField()
    on = serializers.DateField()
    shows = serializers.CharField()
    new_begins_at = serializers.CharField(allow_blank=True, help_text="only where the meter was changed")
    photo = serializers.CharField(allow_blank=True)
    asked = serializers.CharField(allow_blank=True)
    reason = serializers.CharField(allow_blank=True)
    by = serializers.CharField()
    act = serializers.IntegerField(help_text="the act that recorded it")
    withdrawn = serializers.CharField(allow_blank=True, help_text="why; empty: it counts")


class MeterReadingWithdrawnSerializer(serializers.Serializer):
    """The reading does not count; what the engine ran by those that are left."""

    reading = serializers.IntegerField()
    reason = serializers.CharField()
    ran = serializers.DictField(child=serializers.CharField(), help_text="meter → what the engine ran by it")


class AtBookingSerializer(serializers.Serializer):
    """What the meters showed at arrival, as the job was booked; what was withdrawn is not said."""

    job = serializers.CharField()
    hours = serializers.CharField(allow_null=True)
    kilometres = serializers.IntegerField(allow_null=True)


class MeterReadingsSerializer(serializers.Serializer):
    """The meters of an engine."""

    engine = serializers.CharField()
    at_booking = AtBookingSerializer(many=True)
    readings = MeterReadingSerializer(many=True)
    ran = serializers.DictField(child=serializers.CharField(), help_text="meter: over all that were changed")


class LimitSerializer(serializers.Serializer):
    """One limit of a term."""

    limit = serializers.CharField(help_text="months, hours, kilometres")
    within = serializers.BooleanField(allow_null=True, help_text="null: what is on record does not decide it")
    why = serializers.CharField()


class TermOnDaySerializer(serializers.Serializer):
    """Whether a day lies inside a term, and the hand-over that it runs from."""

    on = serializers.DateField()
    begun = serializers.BooleanField()
    within = serializers.BooleanField(allow_null=True)
    why = serializers.CharField()
    job = serializers.CharField(allow_blank=True)
    handed_over_on = serializers.DateField(allow_null=True)
    used_in = serializers.CharField(allow_blank=True)
    ends_on = serializers.DateField(allow_null=True)
    limits = LimitSerializer(many=True)


class TermSerializer(TermOnDaySerializer):
    """Whether a day lies inside the term of an engine."""

    engine = serializers.CharField()
