"""S23: the flat tappets of V2 and V5 are swapped on the bench. They do not go in; who insists loses both places.

Worked example of the demo shop (invented). Flat tappets run in with their lobes of the camshaft (common practice).
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Balance, Refusal
from tests.journeys.shop import Story, totals

JOB, STRIP = "J1176", datetime(2025, 1, 20, 8, tzinfo=UTC)
TWO, FIVE = "LIFTER-2/lifter", "LIFTER-5/lifter"


@pytest.fixture
def stripped(either_story: Story) -> tuple[Story, dict[str, int]]:
    """The head is off, both tappets hang in the rack under their tags."""
    story = either_story
    story.book(JOB, STRIP, "2025-01-20", "2025-01-24")
    jonah = story.client("jonah")
    finds = [{"position": place, "part": story.x("A-601")} for place in (TWO, FIVE)]
    found = story.did(jonah, f"jobs/{JOB}/finds", {"finds": finds})["found"]
    removals = [{"position": TWO, "tag": "V2"}, {"position": FIVE, "tag": "V5"}]
    story.did(jonah, f"jobs/{JOB}/removals", {"removals": removals})
    return story, {row["position"]: row["item"] for row in found}


def fit(story: Story, *pairs: tuple[str, int]) -> Any:
    fittings = [{"position": position, "item": item} for position, item in pairs]
    return story.client("jonah").send(f"jobs/{JOB}/fittings", {"fittings": fittings})


def in_engine() -> list[tuple[str, int]]:
    rows = Balance.objects.filter(place__kind="engine", amount__gt=0)
    return sorted(rows.values_list("spot__name", "item_id"))


def removals(story: Story) -> list[dict[str, Any]]:
    answer = story.client("hester").read(f"jobs/{JOB}/removals")
    assert answer.status_code == 200
    return list(answer.json()["removals"])


def test_the_swapped_pair_is_refused_line_by_line_and_the_refusal_is_kept(
    stripped: tuple[Story, dict[str, int]],
) -> None:
    story, items = stripped
    answer = fit(story, (TWO, items[FIVE]), (FIVE, items[TWO]))
    assert answer.status_code == 422
    assert [(line["line"], line["code"], line["values"]["came_from"]) for line in answer.json()["lines"]] == [
        (1, "wrong-place-of-origin", [FIVE]),
        (2, "wrong-place-of-origin", [TWO]),
    ]
    assert in_engine() == []
    assert [(row.kind, row.code) for row in Refusal.objects.all()] == [("fit", "wrong-place-of-origin")]
    assert [(row["tag"], row["position"], row["position_lost"]) for row in removals(story)] == [
        ("V2", TWO, False),
        ("V5", FIVE, False),
    ]


def test_put_back_into_their_own_places_they_go_in(stripped: tuple[Story, dict[str, int]]) -> None:
    story, items = stripped
    looks = [
        {"position": place, "item": items[place], "limit": "face flat", "result": "flat", "good": True}
        for place in (TWO, FIVE)
    ]
    story.did(story.client("jonah"), f"jobs/{JOB}/inspections", {"inspections": looks})
    answer = fit(story, (TWO, items[TWO]), (FIVE, items[FIVE]))
    assert answer.status_code == 201
    assert [(row["reused"], row["doubtful"]) for row in answer.json()["fitted"]] == [(True, ""), (True, "")]
    assert in_engine() == [(TWO, items[TWO]), (FIVE, items[FIVE])]


def test_who_insists_loses_the_places_of_both(stripped: tuple[Story, dict[str, int]]) -> None:
    story, items = stripped
    both = [items[TWO], items[FIVE]]
    body = {"items": both, "reason": "swapped on the bench, the tags are off"}
    lost = story.did(story.client("jonah"), f"jobs/{JOB}/lost-positions", body)
    assert [(row["item"], row["positions"]) for row in lost["lost"]] == [(items[TWO], [TWO]), (items[FIVE], [FIVE])]
    assert [(row["position"], row["position_lost"], row["why_lost"]) for row in removals(story)] == [
        ("", True, "swapped on the bench, the tags are off")
    ] * 2
    # Neither goes anywhere any more, into its own place or the other's; no word of the maker helps a flat tappet.
    for item in both:
        for place in (TWO, FIVE):
            answer = fit(story, (place, item))
            assert (answer.status_code, answer.json()["code"]) == (422, "position-lost")
    word = {"item": items[TWO], "position": TWO, "word": "the maker's letter"}
    answer = story.client("maren").send(f"jobs/{JOB}/origin-words", word)
    assert (answer.status_code, answer.json()["code"]) == (422, "position-lost")
    assert story.client("jonah").send(f"jobs/{JOB}/origin-words", word).status_code == 403
    assert in_engine() == []


def test_new_ones_are_listed_in_their_stead(stripped: tuple[Story, dict[str, int]]) -> None:
    story, items = stripped
    body = {"items": list(items.values()), "reason": "swapped on the bench"}
    story.did(story.client("jonah"), f"jobs/{JOB}/lost-positions", body)
    part = story.x("A-601")
    assert totals(story.list_of(JOB)["lines"]).get(part, 0) == 0
    findings = [{"code": story.x("lifter-rejected"), "place": f"VALVE-{number}"} for number in (2, 5)]
    story.did(story.client("jonah"), f"jobs/{JOB}/findings", {"findings": findings})
    listed = [line for line in story.list_of(JOB)["lines"] if line["part"] == part]
    assert [(line["amount"], line["positions"]) for line in listed] == [(2, [TWO, FIVE])]
