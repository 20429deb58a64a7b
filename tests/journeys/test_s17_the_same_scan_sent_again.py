"""S17: the same scan sent three times moves the stock once; the demo shop's rule is that sending again is not doing again."""

import uuid
from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Act, Balance, Movement
from tests.journeys.shop import Story, scans

JOB = "J1072"


@pytest.fixture
def held(story: Story) -> dict[str, Any]:
    story.shelve_story("S1", datetime(2023, 11, 20, 8, tzinfo=UTC))
    story.book(JOB, datetime(2023, 11, 24, 8, tzinfo=UTC), "2023-11-24", "2023-11-28")
    said: dict[str, Any] = story.did(story.client("jonah"), f"jobs/{JOB}/holds", {})
    return said


def on_cart() -> int:
    return sum(Balance.objects.filter(place__code=f"cart {JOB}").values_list("amount", flat=True))


def one_scan(held: dict[str, Any]) -> dict[str, Any]:
    bolts = [one for one in held["held"] if one["amount"] == 10]
    return {"scans": scans(bolts[:1])}


def test_three_times_the_same_scan_moves_the_stock_once(story: Story, held: dict[str, Any]) -> None:
    piet, path, key = story.client("piet"), f"pick-lists/{held['pick_list']}/picks", uuid.uuid4()
    moved, acts = Movement.objects.count(), Act.objects.count()
    answers = [piet.send(path, one_scan(held), key=key) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 201, 201]
    assert answers[0].json() == answers[1].json() == answers[2].json()
    assert [answer.get("Idempotent-Replayed") for answer in answers] == [None, "true", "true"]
    assert (on_cart(), Movement.objects.count() - moved, Act.objects.count() - acts) == (10, 1, 1)


def test_the_same_scan_under_a_new_key_finds_the_line_done(story: Story, held: dict[str, Any]) -> None:
    piet, path = story.client("piet"), f"pick-lists/{held['pick_list']}/picks"
    assert piet.send(path, one_scan(held)).status_code == 201
    again = piet.send(path, one_scan(held))
    assert (again.status_code, again.json()["code"]) == (409, "hold-ended")
    assert on_cart() == 10


def test_the_same_key_with_another_count_is_a_conflict(story: Story, held: dict[str, Any]) -> None:
    piet, path, key = story.client("piet"), f"pick-lists/{held['pick_list']}/picks", uuid.uuid4()
    assert piet.send(path, one_scan(held), key=key).status_code == 201
    body = one_scan(held)
    body["scans"][0]["amount"] = 9
    again = piet.send(path, body, key=key)
    assert (again.status_code, again.json()["code"]) == (409, "key-reused")
    assert on_cart() == 10


def test_a_refused_attempt_does_not_use_up_its_key(story: Story, held: dict[str, Any]) -> None:
    piet, path, key = story.client("piet"), f"pick-lists/{held['pick_list']}/picks", uuid.uuid4()
    wrong = {"scans": [one_scan(held)["scans"][0] | {"scanned": "something else"}]}
    assert piet.send(path, wrong, key=key).json()["code"] == "wrong-scan"
    assert piet.send(path, one_scan(held), key=key).status_code == 201
    assert on_cart() == 10
