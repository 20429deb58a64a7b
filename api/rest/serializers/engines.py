"""Engine families, procedures and engines."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField
from api.rest.serializers.substitutes import SubstituteWaitingSerializer


class FamilySerializer(serializers.Serializer):
    """Engines that share one map of use positions."""

    code = serializers.CharField()
    name = serializers.CharField()
    prefix = serializers.CharField(help_text="what its engine numbers begin with")
    revision = serializers.IntegerField(allow_null=True, help_text="the newest")


class FamilyDetailSerializer(FamilySerializer):
    """A family with its newest map, findings, rules and choices."""

    document = serializers.DictField()


class ProcedureSerializer(serializers.Serializer):
    """An operation that can be booked."""

    code = serializers.CharField()
    name = serializers.CharField()
    family = serializers.CharField()
    revision = serializers.IntegerField(allow_null=True, help_text="the newest")


class ProcedureDetailSerializer(ProcedureSerializer):
    """A procedure with its newest steps and parts lines."""

    document = serializers.DictField()


class EngineSerializer(serializers.Serializer):
    """One engine."""

    number = serializers.CharField()
    family = serializers.CharField()
    place = serializers.CharField(help_text="the place that is this engine")
    field_modified = serializers.BooleanField()
    classed = serializers.BooleanField(help_text="under the rules of a class society")
    owner = serializers.IntegerField(allow_null=True, help_text="number of the owner")
    owner_name = serializers.CharField(
        allow_blank=True, allow_null=True, help_text="empty if there is no owner; null to whoever may not see owners"
    )
    last_job = serializers.CharField(allow_blank=True, help_text="cancelled ones are none")
    last_job_on = serializers.DateField(allow_null=True, help_text="day of its strip")


class NumberRangeSerializer(serializers.Serializer):
    """A range of engine numbers that the engine lies in, and what depends on it."""

    numbers = serializers.CharField(help_text='the range in words: "from …", "below …", "only …"')
    part = serializers.CharField()
    fits = serializers.BooleanField(help_text="engines of the range take the part; false: it does not go into them")
    at = serializers.ListField(child=serializers.CharField(), help_text="use positions, neighbours drawn together")
    procedures = serializers.ListField(child=serializers.CharField())


class EngineDetailSerializer(EngineSerializer):
    """One engine, and what of it depends on its number."""

    number_ranges = NumberRangeSerializer(many=True)


class DocumentInSerializer(ActSerializer):
    """A family or a procedure, as one document that is frozen as it is."""

    document = serializers.DictField(
        help_text="its form stands in the project's own description of families and procedures"
    )
    makers_stop = TextField(
        max_length=200,
        required=False,
        allow_blank=True,
        help_text="the maker's bulletin that says stop: booked jobs take this revision over before they go on",
    )


class ProcedureInSerializer(DocumentInSerializer):
    """A procedure, as one document that is frozen as it is."""

    because = TextField(
        max_length=2000,
        required=False,
        allow_blank=True,
        help_text="why the length of a bead is right that is far from its joint's perimeter",
    )


class UnreadNoticeSerializer(serializers.Serializer):
    """A replacement notice whose engine number no family on record has."""

    replacement = serializers.IntegerField()
    old = serializers.CharField()
    numbers = serializers.CharField()
    why = serializers.CharField()


class FamilyEnteredSerializer(serializers.Serializer):
    """The family has a new revision."""

    family = serializers.CharField()
    revision = serializers.IntegerField()
    positions = serializers.IntegerField(help_text="use positions of its map")
    unread_notices = UnreadNoticeSerializer(
        many=True,
        help_text="their engine number is none of any family on record: withdraw them, and enter them rightly",
    )


class ProcedureEnteredSerializer(serializers.Serializer):
    """The procedure has a new revision."""

    procedure = serializers.CharField()
    revision = serializers.IntegerField()
    lines = serializers.IntegerField()
    warnings = serializers.ListField(child=serializers.CharField())


class FieldMarkInSerializer(ActSerializer):
    """Whether the engine was changed in the field."""

    field_modified = TruthField()
    reason = TextField(max_length=2000, help_text="how it is known")


class FieldMarkedSerializer(serializers.Serializer):
    """The mark."""

    engine = serializers.CharField()
    field_modified = serializers.BooleanField()


class ClassMarkInSerializer(ActSerializer):
    """Whether the engine is under class."""

    classed = TruthField()
    reason = TextField(max_length=2000, help_text="how it is known: the certificate, the owner's letter")


class ClassMarkWaitingSerializer(SubstituteWaitingSerializer):
    """What waits for the owner's word on a running job of the engine."""

    job = serializers.CharField()


class ClassMarkedSerializer(serializers.Serializer):
    """The mark."""

    engine = serializers.CharField()
    classed = serializers.BooleanField()
    waiting = ClassMarkWaitingSerializer(many=True)


class LikelyFindingSerializer(serializers.Serializer):
    """In how many closed jobs of the family a finding was recorded, and what that says of the next."""

    finding = serializers.CharField()
    text = serializers.CharField()
    found = serializers.IntegerField(help_text="closed jobs with it, each once")
    jobs = serializers.IntegerField(help_text="closed jobs of the family")
    chance = serializers.CharField(help_text="half a job is added to each side: never 0, never 1")
    lowest = serializers.CharField(help_text="lowest chance that the closed jobs do not speak against, 95 of 100")
    highest = serializers.CharField()
    say = serializers.CharField(allow_blank=True, help_text="thin data, where there are few jobs")
