"""Rings: sizes, what an unlabelled one may be, how one fits its groove. Lengths in nm; shares and densities as text."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from inventory.domain.groove import Check, Groove, Range, Ring, Suits, percent
from inventory.domain.quantities import decimal_text
from inventory.domain.ring_identity import Answer, Candidate, Identification
from inventory.domain.ring_sizes import RingSize, System

MANUAL_FIRST = "The maker's parts book, manual and drawing come first; this computes, it does not certify."


class RingSizeSerializer(serializers.Serializer):
    """A size of the tables; tolerances are plus and minus."""

    size = serializers.CharField()
    system = serializers.ChoiceField(choices=[one.value for one in System])
    words = serializers.CharField()
    inside_nm = serializers.IntegerField()
    inside_tolerance_nm = serializers.IntegerField()
    section_nm = serializers.IntegerField()
    section_tolerance_nm = serializers.IntegerField()
    inside_thou = serializers.IntegerField(
        allow_null=True, help_text="thousandths of an inch, as the inch table prints it"
    )
    section_thou = serializers.IntegerField(allow_null=True)
    how_sure = serializers.CharField(help_text="on how many tables the row rests")


def size_values(one: RingSize) -> dict[str, Any]:
    """A size, ready to send."""
    names = [name for name in map(str, RingSizeSerializer().fields) if name != "how_sure"]
    return {**{name: getattr(one, name) for name in names}, "how_sure": one.source}


class RingWeightSerializer(serializers.Serializer):
    """Volume and density of the ring if it is of that size, and rubbers of such a density: a hint, no proof."""

    volume_mm3 = serializers.CharField()
    density_g_per_cm3 = serializers.CharField()
    lowest_g_per_cm3 = serializers.CharField(help_text="at the large end of the size's tolerances")
    highest_g_per_cm3 = serializers.CharField(help_text="at the small end")
    like = serializers.ListField(child=serializers.CharField())


class CandidateSerializer(serializers.Serializer):
    """A size and how far off it is."""

    size = RingSizeSerializer()
    misfit = serializers.CharField(help_text="chi-squared of both measures; kept up to 5.99")
    swell_percent = serializers.CharField(help_text="0.00 where the size is near without swell")
    weighed = RingWeightSerializer(allow_null=True, help_text="null where it was not weighed")


class RingIdentificationSerializer(serializers.Serializer):
    """What measuring can say of an unlabelled ring. It stays unknown whatever the answer: it is no stock of a known part."""

    answer = serializers.ChoiceField(choices=[one.value for one in Answer])
    sentence = serializers.CharField()
    candidates = CandidateSerializer(many=True, help_text="near enough, the nearest first")
    next = CandidateSerializer(many=True, help_text="not near enough, the nearest first")
    caution = serializers.CharField()


def candidate_values(one: Candidate) -> dict[str, Any]:
    """A candidate, ready to send."""
    weighed = one.weighed
    return {
        "size": size_values(one.size),
        "misfit": decimal_text(one.misfit, 2),
        "swell_percent": decimal_text(one.swell * 100, 2),
        "weighed": weighed
        and {
            "volume_mm3": decimal_text(weighed.volume_ul, 0),
            "density_g_per_cm3": decimal_text(weighed.density_mg_per_ml / 1000, 2),
            "lowest_g_per_cm3": decimal_text(weighed.lowest_mg_per_ml / 1000, 2),
            "highest_g_per_cm3": decimal_text(weighed.highest_mg_per_ml / 1000, 2),
            "like": list(weighed.like),
        },
    }


def identification_values(found: Identification) -> dict[str, Any]:
    """The answer, ready to send."""
    return {
        "answer": found.answer.value,
        "sentence": found.sentence,
        "candidates": [candidate_values(one) for one in found.kept],
        "next": [candidate_values(one) for one in found.next],
        "caution": MANUAL_FIRST,
    }


class RangeSerializer(serializers.Serializer):
    """A share in percent: at the middle of all tolerances, and the least and the most at their ends."""

    middle = serializers.CharField()
    least = serializers.CharField()
    most = serializers.CharField()
    shown = serializers.CharField(help_text="the middle, for people")


class GrooveCheckSerializer(serializers.Serializer):
    """A ring in a groove, static and radial."""

    suits = serializers.ChoiceField(choices=[one.value for one in Suits])
    reasons = serializers.ListField(child=serializers.CharField(), help_text="every limit that is passed")
    inside_nm = serializers.IntegerField()
    section_nm = serializers.IntegerField()
    groove_diameter_nm = serializers.IntegerField()
    bore_nm = serializers.IntegerField()
    width_nm = serializers.IntegerField()
    depth_nm = serializers.IntegerField()
    stretched_section_nm = serializers.IntegerField()
    model = serializers.CharField(help_text="by which the section lost by stretching is computed")
    stretch = RangeSerializer()
    squeeze = RangeSerializer()
    fill = RangeSerializer()
    caution = serializers.CharField()


def check_values(ring: Ring, groove: Groove, found: Check) -> dict[str, Any]:
    """The check, ready to send."""
    return {
        "suits": found.suits.value,
        "reasons": list(found.reasons),
        "inside_nm": ring.inside_nm,
        "section_nm": ring.section_nm,
        "groove_diameter_nm": groove.diameter_nm,
        "bore_nm": groove.bore_nm,
        "width_nm": groove.width_nm,
        "depth_nm": found.depth_nm,
        "stretched_section_nm": found.section_nm,
        "model": found.model,
        **{name: _range(getattr(found, name)) for name in ("stretch", "squeeze", "fill")},
        "caution": MANUAL_FIRST,
    }


def _range(of: Range) -> dict[str, str]:
    numbers = {name: decimal_text(getattr(of, name) * 100, 2) for name in ("middle", "least", "most")}
    return {**numbers, "shown": percent(of.middle)}
