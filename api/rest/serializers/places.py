"""Places and what stands in them."""

from __future__ import annotations

from rest_framework import serializers

from api.rest.fields import MOST_LINES, ActSerializer, StrictSerializer, TextField, WholeField
from inventory.services.set_up import MADE_BY_HAND


class PlaceSerializer(serializers.Serializer):
    """Where things stand."""

    code = serializers.CharField()
    name = serializers.CharField(allow_blank=True)
    kind = serializers.CharField()
    site = serializers.CharField(allow_blank=True)
    walk_order = serializers.IntegerField(help_text="order in which the shelves are walked")


class SiteSerializer(serializers.Serializer):
    """One address of the shop."""

    code = serializers.CharField()
    name = serializers.CharField()


class SiteInSerializer(ActSerializer):
    """A new site."""

    code = TextField(max_length=20)
    name = TextField(max_length=200)


class SiteMadeSerializer(serializers.Serializer):
    """The site is on record."""

    site = serializers.CharField()
    name = serializers.CharField()
    warnings = serializers.ListField(child=serializers.CharField())


class PlaceLineInSerializer(StrictSerializer):
    """A place to be made."""

    code = TextField(max_length=80)
    kind = serializers.ChoiceField(choices=sorted(kind.value for kind in MADE_BY_HAND))
    site = TextField(required=False, allow_blank=True, max_length=20, help_text="needed for a shelf and a bench")
    name = TextField(required=False, allow_blank=True, max_length=200)
    walk_order = WholeField(
        required=False, max_value=2_000_000_000, help_text="order in which the shelves are walked when picking"
    )


class PlacesInSerializer(ActSerializer):
    """Places to be made: all of them, or none."""

    places = PlaceLineInSerializer(many=True, max_length=MOST_LINES)


class PlaceMadeSerializer(PlaceSerializer):
    """A place that was made."""

    warnings = serializers.ListField(child=serializers.CharField(), help_text="places that read alike")


class PlacesMadeSerializer(serializers.Serializer):
    """The places stand."""

    places = PlaceMadeSerializer(many=True)
