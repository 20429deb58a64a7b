"""S7: what covers the gaskets, seals and base rings of an engine cheapest: 92.70 with two liners, 96.90 with four, and 104.00
when no rear seal is on the shelf.

Worked example of the demo shop (invented, E7), at the prices of its catalogue.
"""

from datetime import UTC, datetime

import pytest

from tests.journeys.shop import JOBS, Story

JOB = "J1079"
NOON = datetime(2023, 12, 28, 12, tzinfo=UTC)
LOOSE = {"A-203": 2, "A-204": 2, "A-205": 2, "A-210": 16, "A-208": 1, "A-111": 10}


def stocked(story: Story, *, rear_seals: int, liners: int) -> dict:
    """The two kits and single parts on the shelf, the job booked with so many liners, its cover."""
    for part, pieces in LOOSE.items() | {("A-209", rear_seals)}:
        if pieces:
            story.shelve(part, pieces, NOON)
    for kit in ("A-801", "A-802"):
        story.shelve(kit, 2, NOON)
    findings = [{"code": one["code"], "place": place} for one in JOBS[JOB]["findings"] for place in one["places"]]
    left_out = {f"CYL-{number}" for number in range(liners + 1, 5)}
    findings = [one for one in findings if one["place"] not in left_out]
    story.book(JOB, datetime(2024, 1, 3, 8, tzinfo=UTC), "2024-01-03", "2024-01-08", findings=findings)
    return cover(story)


def cover(story: Story, **query) -> dict:
    answer = story.client("maren").read(f"jobs/{JOB}/cover", **{"on": "2024-01-03"} | query)
    assert answer.status_code == 200, answer.content
    return answer.json()


def taken(body: dict) -> dict[str, int]:
    return {one["what"]: one["times"] for one in body["take"]}


@pytest.mark.parametrize(("liners", "coins"), [(2, 9270), (4, 9690)])
def test_the_top_set_and_single_parts(either_story: Story, liners: int, coins: int) -> None:
    body = stocked(either_story, rear_seals=1, liners=liners)
    assert taken(body) == either_story.named({"A-801": 1, "A-208": 1, "A-209": 1, "A-111": liners})
    # Eight seals one by one cost 19.20 where the worked example has a pack of eight at 15.20.
    assert (body["cost_coins"], body["left"], body["loose_coins"]) == (coins, [], coins + 50 + 400)
    # What this shelf does not have is named, and nothing of it is counted.
    assert body["complete"] is False
    assert body["missing"].keys() & either_story.named({**LOOSE, "A-209": 1}).keys() == set()


def test_without_a_rear_seal_the_full_set_is_opened(either_story: Story) -> None:
    body = stocked(either_story, rear_seals=0, liners=2)
    assert taken(body) == either_story.named({"A-802": 1})
    assert (body["cost_coins"], body["loose_coins"]) == (10400, None)
    assert body["left"] == [{"part": either_story.x("A-111"), "pieces": 2, "worth_coins": 0}]
    assert body["take"][0]["holds"] == either_story.named(
        {"A-203": 1, "A-204": 1, "A-205": 1, "A-210": 8, "A-208": 1, "A-209": 1, "A-111": 4}
    )


def test_what_is_left_over_may_be_worth_as_much_as_it_costs_loose(story: Story) -> None:
    stocked(story, rear_seals=1, liners=2)
    body = cover(story, worth="A-111:2.10,A-210:2.40")
    # The full set leaves two base rings over: 104.00 less 4.20 is still more than 92.70.
    assert (body["cost_coins"], body["left_coins"]) == (9270, 0)
    maren = story.client("maren")
    for worth, code in (
        ("A-111:2.11", "leftover-worth-wrong"),
        ("A-999:1.00", "leftover-worth-wrong"),
        ("A-111:2.1O", "money-unreadable"),
        ("A-111", "parameter-wrong"),
    ):
        answer = maren.read(f"jobs/{JOB}/cover", worth=worth)
        assert (answer.status_code in (400, 422), answer.json()["code"]) == (True, code)


def test_a_kit_with_a_stopped_lot_inside_is_not_taken(story: Story) -> None:
    stocked(story, rear_seals=0, liners=2)
    maren = story.client("maren")
    lots = maren.read("lots", part="A-802").json()["results"]
    story.did(maren, f"lots/{lots[0]['id']}/stops", {"reason": "a content is doubtful"})
    body = cover(story)
    assert taken(body) == {"A-801": 1, "A-208": 1, "A-111": 2}
    assert (body["missing"]["A-209"], body["complete"]) == (1, False)


def test_loose_rubber_that_is_too_old_on_the_day_asked_about_is_not_taken(story: Story) -> None:
    """Once the day of fitting has passed, list and cover judge rubber on the day that is asked about."""
    now = stocked(story, rear_seals=1, liners=2)
    later = cover(story, on="2090-01-01")
    rubber = {"A-111", "A-209"}
    assert (rubber & taken(now).keys(), rubber & taken(later).keys()) == (rubber, set())
    wrong = story.client("maren").read(f"jobs/{JOB}/list", on="2090-13-01")
    assert (wrong.status_code, wrong.json()["code"]) == (400, "parameter-wrong")
