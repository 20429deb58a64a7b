"""Engine families, procedures and engines."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, TextField, TruthField


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


class DocumentInSerializer(ActSerializer):
    """A family or a procedure, as one document that is frozen as it is."""

    document = serializers.DictField(
        help_text="its form stands in the project's own description of families and procedures"
    )


class FamilyEnteredSerializer(serializers.Serializer):
    """The family has a new revision."""

    family = serializers.CharField()
    revision = serializers.IntegerField()
    positions = serializers.IntegerField(help_text="use positions of its map")


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
