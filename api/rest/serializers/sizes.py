"""Sizes that stay with an engine."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import ActSerializer, StrictSerializer, TextField, TruthField
from api.rest.shapes import shape
from kits.queries.sizes import EngineSizes

EngineSizesSerializer = shape(EngineSizes)


class SizeInSerializer(StrictSerializer):
    """One entry: a cut, an undersize, a measured size, or a thread with its insert."""

    size = TextField(max_length=200, help_text="name of a size that the family keeps")
    place = TextField(max_length=80, help_text="ENGINE, CYL-2, MAIN-3, or a use position")
    value = TextField(
        max_length=40,
        required=False,
        allow_blank=True,
        help_text='with its unit, "0.10 mm": what this job cut off, how far below new, or what was measured',
    )
    gauge = TextField(max_length=40, required=False, allow_blank=True, help_text="needed with a value")
    readings = serializers.ListField(
        child=serializers.IntegerField(min_value=1),
        required=False,
        max_length=100,
        help_text="ids of readings of this job that are accepted as a measured size, in place of value and gauge",
    )
    renewed = TruthField(required=False, help_text="the piece is new: earlier entries of it count no longer")
    detail = TextField(max_length=200, required=False, allow_blank=True, help_text="of a thread: which insert")


class SizesInSerializer(ActSerializer):
    """Entries, all of them or none."""

    sizes = SizeInSerializer(many=True, max_length=500)


class SizeMadeSerializer(serializers.Serializer):
    """An entry on record, and how it stands there now; lengths in nanometres."""

    id = serializers.IntegerField()
    size = serializers.CharField()
    place = serializers.CharField()
    value_nm = serializers.IntegerField(allow_null=True)
    off_nm = serializers.IntegerField(allow_null=True)
    left_nm = serializers.IntegerField(
        allow_null=True, help_text="how much more may come off; null: no limit is stated"
    )


class SizesMadeSerializer(serializers.Serializer):
    """The entries are on record."""

    engine = serializers.CharField()
    sizes = SizeMadeSerializer(many=True)


class SizeWithdrawnSerializer(serializers.Serializer):
    """An entry that does not count."""

    size = serializers.IntegerField()
    reason = serializers.CharField()
