"""Bolts used again within their maker's limit. The limit (free length 191.5 mm, two uses) is the invented Rowan-6 bench book's."""

from __future__ import annotations

import pytest

from kits.domain.facts import ReuseLimit
from kits.domain.families import parse_family
from kits.domain.reuse import measured_nm, why_not
from tests.fixtures.shop_files import family_document

LIMIT = ReuseLimit("R-501", frozenset({"HEAD/bolt-01"}), False, 191_500_000, 2)


def test_the_limits_of_the_demo_family():
    limits = {limit.part: limit for limit in parse_family(family_document("Rowan-6")).facts.bolts}
    assert {part: (one.never, one.length_most_nm, one.uses_most) for part, one in limits.items()} == {
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
    assert measured_nm(text) == length_nm


@pytest.mark.parametrize(
    ("length_nm", "uses", "gauge_state", "why"),
    [
        # 191.2 yes, 191.5 yes (the limit itself passes), 191.6 no: worked example of the demo shop
        (191_200_000, 1, "in date", ""),
        (191_500_000, 1, "in date", ""),
        (191_500_001, 1, "in date", "R-501 is longer than its limit."),
        (191_600_000, 1, "in date", "R-501 is longer than its limit."),
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
