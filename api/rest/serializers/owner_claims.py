"""Claims of owners: what is asked and answered."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from api.rest.fields import MOST_LINES, ActSerializer, DayField, StrictSerializer, TextField, TruthField, WholeField
from api.rest.serializers.terms import MeterReadingSerializer, TermOnDaySerializer, shown_value
from api.rest.shapes import shape
from kits.domain.owner_claims import ANSWERS
from kits.domain.terms import BASE
from kits.queries.owner_claims import ClaimRow


def _long(**more: Any) -> TextField:
    return TextField(max_length=4000, **more)


class ClaimThingInSerializer(StrictSerializer):
    """A use position that a claim concerns, and what sat there."""

    position = TextField(max_length=80)
    item = WholeField(
        required=False, help_text="which it was; what the job fitted there, where that is one thing, if left out"
    )
    what = _long(required=False, allow_blank=True, help_text="what is wrong with it")
    photo_ref = TextField(max_length=200, required=False, allow_blank=True, help_text="where its photograph is kept")


class ClaimMeterInSerializer(StrictSerializer):
    """What a meter showed on the day of the claim."""

    meter = serializers.ChoiceField(choices=sorted(BASE))
    shows = shown_value(help_text="hours or kilometres, to a tenth")
    photo_ref = TextField(max_length=200, required=False, allow_blank=True, help_text="where the photograph is kept")


class ClaimInSerializer(ActSerializer):
    """The owner of an engine says that something failed."""

    told_on = DayField()
    told_by = TextField(max_length=80, help_text="owner, dealer, skipper, …: not a name, which stands with the owner")
    what = _long(help_text="what is wrong, in the words of who told it")
    job = TextField(
        max_length=40,
        required=False,
        help_text="whose work is claimed; the last that was handed over if left out, and asked about where that is not clear",
    )
    things = ClaimThingInSerializer(many=True, required=False, max_length=MOST_LINES)
    meters = ClaimMeterInSerializer(
        many=True, required=False, max_length=len(BASE), help_text="as they were read on that day"
    )
    photos = serializers.ListField(
        child=TextField(max_length=200), required=False, max_length=MOST_LINES, help_text="where photographs are kept"
    )
    confirmed = TruthField(
        required=False, help_text="it is entered whatever is asked about the meters, with the reason"
    )
    reason = TextField(max_length=2000, required=False, allow_blank=True)


class ClaimThingMadeSerializer(serializers.Serializer):
    """A thing that was named."""

    thing = serializers.IntegerField()
    position = serializers.CharField()
    item = serializers.IntegerField(allow_null=True, help_text="null: not known which it was")


class ClaimRepeatSerializer(serializers.Serializer):
    """The same position of this engine was claimed before."""

    claim = serializers.IntegerField(help_text="the earlier one")
    position = serializers.CharField()


class ClaimMadeSerializer(serializers.Serializer):
    """The claim is entered, and judged."""

    claim = serializers.IntegerField()
    engine = serializers.CharField()
    job = serializers.CharField()
    told_on = serializers.DateField()
    term = TermOnDaySerializer()
    asked = serializers.ListField(child=serializers.CharField())
    things = ClaimThingMadeSerializer(many=True)
    repeats = ClaimRepeatSerializer(many=True)


class ClaimThingsInSerializer(ActSerializer):
    """What a claim concerns, as far as it is known by now."""

    things = ClaimThingInSerializer(many=True, max_length=MOST_LINES)


class ClaimThingsMadeSerializer(serializers.Serializer):
    """The things are named."""

    claim = serializers.IntegerField()
    things = ClaimThingMadeSerializer(many=True)
    repeats = ClaimRepeatSerializer(many=True)


class ClaimThingWithdrawnSerializer(serializers.Serializer):
    """The claim does not concern it."""

    claim = serializers.IntegerField()
    thing = serializers.IntegerField()
    reason = serializers.CharField()


class ClaimCauseInSerializer(ActSerializer):
    """Why it failed."""

    cause = _long()
    found_by = TextField(max_length=80, help_text="who found it: a log-in, a laboratory")
    evidence = _long(help_text="what it rests on")
    oil_sample = TextField(max_length=60, required=False, allow_blank=True, help_text="its number")
    coolant_sample = TextField(max_length=60, required=False, allow_blank=True, help_text="its number")
    instead_of = WholeField(required=False, help_text="the cause that stands, where there is one")


class ClaimCauseMadeSerializer(serializers.Serializer):
    """The cause is stated."""

    claim = serializers.IntegerField()
    cause = serializers.IntegerField(help_text="its number")
    instead_of = serializers.IntegerField(allow_null=True)


class ClaimAnswerInSerializer(ActSerializer):
    """What the owner is told."""

    answer = serializers.ChoiceField(choices=list(ANSWERS))
    reason = _long()
    instead_of = WholeField(required=False, help_text="the answer that stands, where there is one")


class ClaimAnswerMadeSerializer(serializers.Serializer):
    """The answer is given."""

    claim = serializers.IntegerField()
    answer = serializers.IntegerField(help_text="its number")
    said = serializers.CharField()
    instead_of = serializers.IntegerField(allow_null=True)


class ClaimClosingSerializer(ActSerializer):
    """Closing says nothing but what every act may say."""


class ClaimClosedSerializer(serializers.Serializer):
    """The claim is closed, with the cause and the answer that stand."""

    claim = serializers.IntegerField()
    state = serializers.CharField()
    cause = serializers.IntegerField()
    answer = serializers.IntegerField()
    said = serializers.CharField()


class ClaimStateSerializer(serializers.Serializer):
    """How the claim stands now."""

    claim = serializers.IntegerField()
    state = serializers.CharField()
    reason = serializers.CharField()


class ClaimSerializer(serializers.Serializer):
    """A claim as it was told and judged, with every entry, and what is known of its term now."""

    term = TermOnDaySerializer(help_text="as it was judged when the claim was entered")
    term_now = TermOnDaySerializer(help_text="of the same day, by what is on record now")
    readings = MeterReadingSerializer(many=True, help_text="of the meters, with the claim")

    def get_fields(self) -> dict[str, serializers.Field]:
        """Those of the claim before its own."""
        return shape(ClaimRow)().get_fields() | super().get_fields()
