"""S3: an engine above the change number, and somebody takes the old gasket: refused at every step where it could go in.

Worked example of the demo shop (invented): the old gasket fits below A4-020450 only, this engine is A4-020454.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Balance
from tests.journeys.shop import Story, totals

JOB, STRIP = "J1028", datetime(2023, 5, 8, 8, tzinfo=UTC)


@pytest.fixture
def booked(either_story: Story) -> Story:
    either_story.shelve_story("S3", datetime(2023, 5, 1, 8, tzinfo=UTC))
    either_story.book(JOB, STRIP, "2023-05-08", "2023-05-12")
    return either_story


def head_joint(story: Story) -> tuple[Any, dict[str, Any]]:
    """What was held, and the line of the head gasket."""
    held = story.did(story.client("jonah"), f"jobs/{JOB}/holds", {})
    return held, next(one for one in held["held"] if one["part"] == story.x("A-203"))


def test_the_list_has_the_new_pair(booked: Story) -> None:
    listed = totals(booked.list_of(JOB)["lines"])
    wanted = {booked.x(part): listed.get(booked.x(part), 0) for part in ("A-201", "A-203", "A-501", "A-502")}
    assert wanted == booked.named({"A-201": 0, "A-203": 1, "A-501": 0, "A-502": 10})


@pytest.mark.parametrize("in_hand", ["A-201", "A-201/1"])
def test_the_old_gasket_is_not_picked_for_the_new_one_and_the_number_says_why(booked: Story, in_hand: str) -> None:
    """By its number, and by the label of its lot."""
    held, line = head_joint(booked)
    in_hand = booked.x(in_hand)
    scan = {"hold": line["hold"], "scanned": in_hand}
    answer = booked.client("piet").send(f"pick-lists/{held['pick_list']}/picks", {"scans": [scan]})
    assert (answer.status_code, answer.json()["code"]) == (422, "wrong-scan")
    (refused,) = answer.json()["lines"]
    why = booked.x("A-201 fits below A4-020450 only; this engine is A4-020454.")
    assert (refused["values"]["scanned"], refused["values"]["why"]) == (in_hand, why)
    assert refused["detail"] == f"{in_hand!r} was scanned; this line is {booked.x('A-203')} {line['lot']}. {why}"
    assert Balance.objects.filter(place__code=f"cart {JOB}", amount__gt=0).count() == 0
    kept = booked.client("maren").read("refusals").json()["results"][0]
    assert (kept["code"], why in kept["message"]) == ("wrong-scan", True)


def test_it_is_not_chosen_by_a_person_either_and_the_reason_is_said(booked: Story) -> None:
    said = {"choice": "head-joint", "alternative": "old", "reason": "there are six of them"}
    answer = booked.client("jonah").send(f"jobs/{JOB}/choices", said)
    assert answer.status_code == 422
    assert booked.x("A-201 fits below A4-020450 only; this engine is A4-020454.") in answer.json()["detail"]


def test_it_is_not_asked_for_mid_job_either_and_nothing_moves(booked: Story) -> None:
    more = {"part": booked.x("A-201"), "amount": 1, "reason": "wrong on list"}
    answer = booked.client("jonah").send(f"jobs/{JOB}/extras", more)
    assert (answer.status_code, answer.json()["code"]) == (422, "not-for-engine")
    assert answer.json()["detail"] == booked.x("A-201 fits below A4-020450 only; this engine is A4-020454.")
    assert Balance.objects.filter(place__code=f"cart {JOB}", amount__gt=0).count() == 0
