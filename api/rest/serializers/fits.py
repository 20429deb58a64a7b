"""Fits, stacks of tolerances, weight groups: how they are sent."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from kits.domain.iso_fits import Fit, Kind, Zone
from kits.domain.judging import mm
from kits.domain.limits import Limits
from kits.domain.stacks import Contributor, Stack, Standing

CAUTION = "The maker's manual and drawing come first; this computes, it does not replace measuring."


class ZoneSerializer(serializers.Serializer):
    """The smallest and the largest size."""

    low_nm = serializers.IntegerField()
    high_nm = serializers.IntegerField()
    shown = serializers.CharField()


class FitSerializer(serializers.Serializer):
    """A hole on a shaft."""

    fit = serializers.CharField()
    nominal_nm = serializers.IntegerField()
    hole = ZoneSerializer()
    shaft = ZoneSerializer()
    least_nm = serializers.IntegerField(help_text="least clearance; below zero: interference")
    most_nm = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=[one.value for one in Kind])
    caution = serializers.CharField()


def fit_values(name: str, nominal_nm: int, zones: tuple[Zone, Zone], found: Fit) -> dict[str, Any]:
    """A fit, ready to send."""
    hole, shaft = (
        {"low_nm": one.low_nm, "high_nm": one.high_nm, "shown": f"{mm(one.low_nm)} to {mm(one.high_nm)}"}
        for one in zones
    )
    return {
        "fit": name,
        "nominal_nm": nominal_nm,
        "hole": hole,
        "shaft": shaft,
        "least_nm": found.least_nm,
        "most_nm": found.most_nm,
        "kind": found.kind.value,
        "caution": CAUTION,
    }


class MemberSerializer(serializers.Serializer):
    """One member. `sign`: 1 adds, -1 takes away."""

    name = serializers.CharField()
    sign = serializers.IntegerField()
    nominal_nm = serializers.IntegerField()
    plus_nm = serializers.IntegerField()
    minus_nm = serializers.IntegerField()


class EndsSerializer(serializers.Serializer):
    """Limits; null: none on that side."""

    low_nm = serializers.IntegerField(allow_null=True)
    high_nm = serializers.IntegerField(allow_null=True)


class StackSerializer(serializers.Serializer):
    """What members come to; the root sum of squares holds only where their errors are independent and even about the middle."""

    members = MemberSerializer(many=True)
    nominal_nm = serializers.IntegerField()
    low_nm = serializers.IntegerField(help_text="worst case")
    high_nm = serializers.IntegerField()
    rss_low_nm = serializers.IntegerField(help_text="root sum of squares, rounded outwards")
    rss_high_nm = serializers.IntegerField()
    limits = EndsSerializer(allow_null=True)
    standing = serializers.ChoiceField(choices=[one.value for one in Standing], allow_null=True)
    caution = serializers.CharField()


class HeightStackSerializer(StackSerializer):
    """New parts of a family."""

    family = serializers.CharField()
    printed_nm = serializers.IntegerField(allow_null=True, help_text="the height that the maker prints")


def stack_values(
    members: Sequence[Contributor], found: Stack, limits: Limits | None, standing: Standing | None
) -> dict[str, Any]:
    """A stack, ready to send."""
    return {
        "members": [
            {
                "name": one.name,
                "sign": one.sign,
                "nominal_nm": one.nominal_nm,
                "plus_nm": one.plus_nm,
                "minus_nm": one.minus_nm,
            }
            for one in members
        ],
        "nominal_nm": found.nominal_nm,
        "low_nm": found.low_nm,
        "high_nm": found.high_nm,
        "rss_low_nm": found.rss_low_nm,
        "rss_high_nm": found.rss_high_nm,
        "limits": None if limits is None else {"low_nm": limits.low_nm, "high_nm": limits.high_nm},
        "standing": None if standing is None else standing.value,
        "caution": CAUTION,
    }


class WeighedSetSerializer(serializers.Serializer):
    """A set with the weight of its piston."""

    serial = serializers.CharField()
    weight_mg = serializers.IntegerField()


class EngineOfSetsSerializer(serializers.Serializer):
    """Sets of one engine, the lightest first."""

    sets = WeighedSetSerializer(many=True)

    def get_fields(self) -> dict[str, serializers.Field]:
        """With `class`, which is no name of a field in Python."""
        return super().get_fields() | {"class": serializers.CharField(allow_blank=True, help_text="printed class")}


class NotGroupedSerializer(serializers.Serializer):
    """A set that stands there and is not grouped."""

    serial = serializers.CharField()
    why = serializers.CharField()


class ShortBoxSerializer(serializers.Serializer):
    """An opened box of which sets were taken: a short box."""

    item = serializers.IntegerField()
    box = serializers.CharField()
    held = serializers.IntegerField(help_text="sets that it held")
    left = serializers.ListField(child=serializers.CharField(), help_text="serials that stand free")


class WindowSerializer(serializers.Serializer):
    """What one more piston may weigh, both ends included."""

    low_mg = serializers.IntegerField()
    high_mg = serializers.IntegerField()


class WeightGroupsSerializer(serializers.Serializer):
    """Engines from one shelf."""

    family = serializers.CharField()
    site = serializers.CharField()
    part = serializers.CharField()
    pistons = serializers.IntegerField(help_text="sets of one engine")
    spread_mg = serializers.IntegerField(help_text="heaviest less lightest, at most")
    weighed_with = serializers.CharField(help_text="what lies on the scales with a piston")
    engines = EngineOfSetsSerializer(many=True)
    left_over = WeighedSetSerializer(many=True)
    not_considered = NotGroupedSerializer(many=True)
    short_boxes = ShortBoxSerializer(many=True)
    window = WindowSerializer(allow_null=True, help_text="for `rest`; null: not asked, or nothing fits")
    window_said = serializers.CharField(allow_blank=True)
    fit_the_rest = serializers.ListField(child=serializers.CharField())
