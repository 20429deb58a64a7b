"""Both heads of a V engine are off, and of neither kind of bolt are there enough for both: each head gets one kind, none gets two.

Nine bolts of a kind on each head (demo shop, invented). Which bolts may replace each other, and not stand together on one bank, is entered here.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Part
from tests.factories.stores import PartFactory
from tests.journeys.shop import Story

JOB = "J1179"


@pytest.fixture
def booked(either_story: Story) -> Story:
    story = either_story
    story.book(JOB, datetime(2025, 1, 15, 8, tzinfo=UTC), "2025-01-27", "2025-01-30")
    story.at = datetime(2025, 1, 27, 8, tzinfo=UTC)
    right = {"findings": [{"code": story.x("head-off"), "place": "BANK-RIGHT"}]}
    story.did(story.client("jonah"), f"jobs/{JOB}/findings", right)
    return story


def kinds(held: Any, story: Story) -> dict[str, dict[str, int]]:
    """Head → kind → how many of the bolts that are held."""
    found: dict[str, dict[str, int]] = {}
    for row in held["held"]:
        for position, _, amount in row["positions"]:
            if row["wanted"] == story.x("H-501"):
                its = found.setdefault(position.partition("/")[0], {})
                its[row["part"]] = its.get(row["part"], 0) + amount
    return found


def test_each_head_gets_bolts_of_one_kind(booked: Story) -> None:
    listed = Part.objects.get(number=booked.x("H-501"))
    other = PartFactory(number="OTHER-BOLT", kind=listed.kind, unit=listed.unit, tracked_by=listed.tracked_by)
    notice = {"way": "both ways", "news": [{"part": other.number}], "no_mix_on": "bank", "fate": "use up"}
    booked.did(booked.client("maren"), f"parts/{listed.number}/replacements", notice)
    for part, pieces in (("H-501", 10), (other.number, 9)):
        booked.shelve(part, pieces, datetime(2025, 1, 12, 8, tzinfo=UTC))
    held = booked.did(booked.client("jonah"), f"jobs/{JOB}/holds", {})
    assert kinds(held, booked) == {"HEAD-LEFT": {listed.number: 9}, "HEAD-RIGHT": {other.number: 9}}
    assert booked.x("H-501") not in [row["wanted"] for row in held["shorts"]]
