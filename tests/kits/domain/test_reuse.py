"""Bolts used again within their maker's limit. The limit (free length 191.5 mm, two uses) is the invented Rowan-6 bench book's."""

from __future__ import annotations

import copy

import pytest

from inventory.domain.errors import DomainError
from kits.domain.facts import NECK, STRETCH, ReuseLimit
from kits.domain.families import parse_family
from kits.domain.reuse import found_nm, why_not
from tests.fixtures.shop_files import family_document

LIMIT = ReuseLimit("R-501", frozenset({"HEAD/bolt-01"}), False, 191_500_000, 2)


def test_the_limits_of_the_demo_family():
    limits = {limit.part: limit for limit in parse_family(family_document("Rowan-6")).facts.bolts}
    assert {part: (one.never, one.most_nm, one.uses_most) for part, one in limits.items()} == {
        "R-501": (False, 191_500_000, 2),
        "R-503": (True, None, None),
    }
    assert len(limits["R-501"].positions) == 26
    assert len(limits["R-503"].positions) == 12


@pytest.mark.parametrize(
    ("text", "length_nm"),
    [
        ("191.2 mm", 191_200_000),
        ("7.5 in; thread good", 190_500_000),
        ("thread good", None),
        ("", None),
        ("191,2 mm", None),
        ("12 mL", None),
    ],
)
def test_the_length_stands_at_the_beginning_of_the_result(text, length_nm):
    # 7.5 in = 190.5 mm by the international inch (25.4 mm).
    assert found_nm(text) == length_nm


@pytest.mark.parametrize(
    ("length_nm", "uses", "gauge_state", "why"),
    [
        # 191.2 yes, 191.5 yes (the limit itself passes), 191.6 no: worked example of the demo shop
        (191_200_000, 1, "in date", ""),
        (191_500_000, 1, "in date", ""),
        (191_500_001, 1, "in date", "R-501: its free length is above the limit."),
        (191_600_000, 1, "in date", "R-501: its free length is above the limit."),
        (None, 1, "in date", "R-501: its free length is to be measured; the result names none."),
        (191_200_000, 1, "out of date", "R-501: the gauge is out of date."),
        (191_200_000, 1, "withdrawn", "R-501: the gauge is withdrawn."),
        (191_200_000, 1, None, "R-501: no gauge is named."),
        (191_200_000, 2, "in date", "R-501 was tightened 2 times; 2 are the most."),
        (191_200_000, None, "in date", "R-501: its history is unknown, so it counts as used 2 times already."),
        (191_200_000, 0, "in date", "R-501: its history is unknown, so it counts as used 2 times already."),
    ],
)
def test_length_gauge_and_uses_are_held_against_the_limit(length_nm, uses, gauge_state, why):
    assert why_not(LIMIT, length_nm, uses, gauge_state) == why


def test_without_a_limit_a_bolt_is_never_used_again():
    never = ReuseLimit("R-503", frozenset(), True, None, None)
    assert why_not(never, 1, 1, "in date") == "R-503 is never used again: its maker gives no limit."
    assert why_not(ReuseLimit("B", frozenset(), False, None, None), None, None, None) == ""


def test_a_maker_may_judge_by_stretch_or_by_the_neck():
    """One measure each; the limit itself passes, one nanometre beyond does not. Common practice of engine makers."""
    stretch = ReuseLimit("B", frozenset(), False, 1_500_000, None, STRETCH)
    neck = ReuseLimit("B", frozenset(), False, None, None, NECK, 9_900_000)
    assert [why_not(stretch, at, None, "in date") for at in (1_500_000, 1_500_001)] == [
        "", "B: its stretch is above the limit.",
    ]  # fmt: skip
    assert [why_not(neck, at, None, "in date") for at in (9_900_000, 9_899_999)] == [
        "", "B: its neck diameter is below the limit.",
    ]  # fmt: skip
    assert why_not(neck, None, None, "in date") == "B: its neck diameter is to be measured; the result names none."
    assert why_not(neck, 9_950_000, None, "out of date") == "B: the gauge is out of date."


def test_the_family_states_one_measure_of_a_bolt():
    document = copy.deepcopy(family_document("Rowan-6"))
    bolts = document["facts"]["bolts"]
    bolts[0] = {key: value for key, value in bolts[0].items() if key != "length_most"} | {"neck_least": "9.9 mm"}
    (limit, *_) = parse_family(document).facts.bolts
    assert (limit.measured, limit.most_nm, limit.neck_least_nm) == (NECK, None, 9_900_000)
    bolts[0]["stretch_most"] = "1.5 mm"
    with pytest.raises(DomainError, match="judged by one measure, not by 'stretch_most' and 'neck_least'"):
        parse_family(document)
