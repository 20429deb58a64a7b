"""Where a reading is expected, by the facts of a family. Figures of the demo shop's families stand in its files."""

from __future__ import annotations

import copy

import pytest

from inventory.domain.errors import DomainError
from kits.domain.bands import band_of
from kits.domain.families import parse_family
from kits.domain.readings import WHAT
from tests.factories.engines import family_document as small_engine
from tests.fixtures.shop_files import FAMILY_FILES, family_document


def small(**facts):
    return parse_family(copy.deepcopy(small_engine()) | {"facts": facts})


@pytest.mark.parametrize(
    ("family", "what", "place", "low_nm", "high_nm"),
    [
        # 93.010 to 93.050 mm, 2 % of 93.050 on either side
        ("Alder-4", "liner-height", "CYL-1", 91_149_000, 94_911_000),
        ("Alder-4", "block-depth", "CYL-1", 91_070_600, 94_829_400),
        ("Alder-4", "bore-diameter", "CYL-1", 84_280_000, 87_720_000),
        # counterbore 8.935 to 8.965 mm, which may be recut by 0.25 mm: 2 % of 9.215 on either side
        ("Rowan-6", "counterbore-depth", "CYL-1", 8_750_700, 9_399_300),
        ("Rowan-6", "flange-thickness", "CYL-1", 8_839_100, 9_225_900),
        ("Rowan-6", "bolt-length", "HEAD/bolt-01", 187_670_000, 195_330_000),
        # stated as spans: pistons without and with pin, 2 % of 424 g; new rings and worn ones, 2 % of 1.20 mm
        ("Alder-4", "weight", "CYL-1", 291_520, 432_480),
        ("Rowan-6", "ring-gap", "CYL-1", 276_000, 1_224_000),
    ],
)
def test_spans_of_new_parts_and_two_per_cent(family, what, place, low_nm, high_nm):
    band = band_of(parse_family(family_document(family)), what, place)
    assert (band.low, band.high) == (low_nm, high_nm)


def test_a_family_with_flanges_has_no_ledge_and_the_other_way_round():
    known = {
        family: {
            what
            for what in ("liner-height", "block-depth", "flange-thickness", "counterbore-depth")
            if band_of(parse_family(family_document(family)), what)
        }
        for family in FAMILY_FILES
    }
    flange, ledge = {"flange-thickness", "counterbore-depth"}, {"liner-height", "block-depth"}
    assert known == {"Alder-4": ledge, "Hornbeam-V8": ledge, "Larch-3": ledge, "Rowan-6": flange}


def test_a_family_may_state_any_span():
    family = small(
        spans={
            "journal-diameter": {"low": "49.980 mm", "high": "50.000 mm"},
            "weight": {"low": "400 g", "high": "425 g"},
        }
    )
    assert (band_of(family, "journal-diameter").low, band_of(family, "journal-diameter").high) == (
        48_980_000,
        51_000_000,
    )
    assert (band_of(family, "weight").low, band_of(family, "weight").high) == (391_500, 433_500)
    below = small(spans={"piston-projection": {"low": "-0.100 mm", "high": "0.100 mm"}})
    assert (band_of(below, "piston-projection").low, band_of(below, "piston-projection").high) == (-102_000, 102_000)


@pytest.mark.parametrize(
    "facts",
    [
        {},
        {"liner_height": {"what": "flange thickness", "low": "9 mm", "high": "9.1 mm"}},
        {"spans": {}},
        {"bolts": [{"part": "B", "at": "ROD-*/bolt-*", "reuse": "never"}]},
    ],
)
def test_facts_that_say_nothing_ask_nothing(facts):
    family = small(**facts)
    assert {what for what in WHAT if band_of(family, what, "ROD-1/bolt-1")} - {"flange-thickness"} == set()


@pytest.mark.parametrize("family", FAMILY_FILES)
@pytest.mark.parametrize(
    "what", ["weight", "journal-diameter", "housing-bore", "ring-gap", "end-float", "piston-projection"]
)
def test_the_demo_families_ask_about_a_decimal_point_elsewhere(family, what):
    band = band_of(parse_family(family_document(family)), what, "")
    middle = (band.low + band.high) // 2
    assert band.holds(middle)
    assert not band.holds(middle * 10)
    assert not band.holds(middle // 10)


@pytest.mark.parametrize(
    ("spans", "where"),
    [
        ("none", "facts, spans"),
        (None, "facts, spans"),
        ({"liner-hight": {"low": "9 mm", "high": "9.1 mm"}}, "facts, spans"),
        ({"weight": None}, "facts, spans, weight"),
        ({"weight": {"low": "400 g"}}, "facts, spans, weight, high"),
        ({"weight": {"low": "400 g", "high": "425 g", "most": "1"}}, "facts, spans, weight"),
        ({"weight": {"low": "400 mm", "high": "425 g"}}, "facts, spans, weight, low"),
        ({"weight": {"low": 400, "high": "425 g"}}, "facts, spans, weight, low"),
        ({"weight": {"low": "425 g", "high": "400 g"}}, "facts, spans, weight"),
        ({"ring-gap": {"low": "-0.1 mm", "high": "1 mm"}}, "facts, spans, ring-gap, low"),
        ({"ring-gap": {"low": "0.1 mm", "high": "0.0000005 mm"}}, "facts, spans, ring-gap, high"),
    ],
)
def test_a_wrong_span_is_named_when_the_family_is_entered(spans, where):
    with pytest.raises(DomainError) as refused:
        small(spans=spans)
    assert refused.value.code == "family-unusable"
    assert where in {problem["where"] for problem in refused.value.values["problems"]}
