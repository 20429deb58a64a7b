"""Which lots keep a sealed piece back."""

from dataclasses import replace
from datetime import date

import pytest

from inventory.domain.keeping import KeepRules, LotIn, keeps_one, left_to_job

RULES = KeepRules(date(2024, 1, 1), frozenset({"O-ring", "seal"}))
RING = LotIn("O-ring", "piece", "lot", (date(2024, 1, 1),), 2)


@pytest.mark.parametrize(
    ("changes", "keeps"),
    [
        ({}, True),
        ({"kind": "seal"}, True),
        ({"received_on": [date(2023, 12, 31)]}, False),
        ({"received_on": [date(2023, 12, 31), date(2024, 1, 2)]}, False),
        ({"received_on": [None, date(2024, 1, 2)]}, True),
        ({"received_on": [None, None]}, False),
        ({"free": 1}, False),
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


@pytest.mark.parametrize(
    ("said", "whose"),
    [((True, "J1", False), "J1"), ((True, "", True), "a job"), ((True, "", False), ""), ((False, "J1", True), "")],
)
def test_a_kit_that_was_opened_for_a_job_is_that_jobs_first(said, whose):
    why = left_to_job(*said)
    assert whose in why
    assert bool(why) is bool(whose)
