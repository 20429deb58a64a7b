"""Which lots keep a sealed piece back."""

from dataclasses import replace
from datetime import date

import pytest

from inventory.domain.keeping import KeepRules, LotIn, keeps_one

RULES = KeepRules(date(2024, 1, 1), frozenset({"O-ring", "seal"}))
RING = LotIn("O-ring", "piece", "lot", date(2024, 1, 1))


@pytest.mark.parametrize(
    ("changes", "keeps"),
    [
        ({}, True),
        ({"kind": "seal"}, True),
        ({"received_on": date(2023, 12, 31)}, False),
        ({"received_on": None}, False),
        ({"kind": "gasket"}, False),
        ({"tracked_by": "nothing"}, False),
        ({"tracked_by": "serial"}, False),
        ({"base": "microlitre"}, False),
    ],
)
def test_lots_of_rings_and_seals_from_a_day_on_keep_one(changes, keeps):
    """From 2024 on: the demo shop's rule (invented)."""
    assert keeps_one(replace(RING, **changes), RULES) is keeps


def test_a_shop_that_names_no_day_keeps_none():
    assert not keeps_one(RING, replace(RULES, since=None))
