"""Most engines from one shelf, what may join the pistons that stay, and boxes that are short, over HTTP.

Worked example of the demo shop (invented): twelve sets, four to an engine, at most 4 g apart; found by an independent script.
"""

from datetime import UTC, datetime
from itertools import combinations
from typing import Any

import pytest

from inventory.models import Balance
from tests.journeys.shop import Story

AT = datetime(2025, 1, 2, 9, tzinfo=UTC)
GRAMS = (411, 412, 414, 415, 415, 416, 418, 418, 419, 420, 421, 423)
SERIALS = {f"S-{at:02d}": grams for at, grams in enumerate(GRAMS)}
CLASSES = "410-414: 410 g to 414.999 g; 415-419: 415 g to 419.999 g; 420-424: 420 g to 424.999 g"


def shelve(story: Story, grams: dict[str, int]) -> None:
    for serial, weight in grams.items():
        story.shelve("A-101", 1, AT, serial=serial, set_label={"weight_mg": weight * 1000, "weighed": "with pin"})


def asked(story: Story, **query: str) -> Any:
    path = f"engine-families/{story.x('Alder-4')}/weight-groups"
    return story.client("jonah").read(path, **{"site": "TB"} | query)


def grams(engines: Any) -> list[list[int]]:
    return [[one["weight_mg"] // 1000 for one in engine["sets"]] for engine in engines]


def most(weights: tuple[int, ...], pistons: int, spread: int) -> int:
    """By trying all: how many engines these weights make."""
    best = 0
    for chosen in combinations(range(len(weights)), pistons):
        mine = [weights[at] for at in chosen]
        if max(mine) - min(mine) <= spread:
            rest = tuple(weight for at, weight in enumerate(weights) if at not in chosen and at > chosen[0])
            best = max(best, 1 + most(rest, pistons, spread))
    return best


def test_twelve_sets_make_three_engines_by_weight_and_one_by_printed_class(either_story: Story) -> None:
    story = either_story
    shelve(story, SERIALS)
    found = asked(story).json()
    assert (found["pistons"], found["spread_mg"], found["weighed_with"]) == (4, 4_000, "pin")
    assert grams(found["engines"]) == [[411, 412, 414, 415], [415, 416, 418, 418], [419, 420, 421, 423]]
    assert (found["left_over"], found["not_considered"], found["window"]) == ([], [], None)
    assert len(found["engines"]) == most(GRAMS, 4, 4)
    by_class = asked(story, classes=CLASSES).json()
    assert [one["class"] for one in by_class["engines"]] == ["415-419"]
    assert len(by_class["left_over"]) == 8
    for query, code in (
        ({"classes": "A: 410 g to 412 g"}, "weights-unusable"),
        ({"classes": "410 g"}, "weights-unusable"),
        ({"classes": "A: 410 mm to 412 mm"}, "quantity-wrong-dimension"),
        ({"site": "XX"}, "not-found"),
        ({"part": "A-999"}, "not-found"),
    ):
        assert asked(story, **query).json()["code"] == code, query
    assert story.client("jonah").read("engine-families/NONE/weight-groups", site="TB").json()["code"] == "not-found"


def test_what_may_join_the_pistons_that_stay(story: Story) -> None:
    shelve(story, {"S-1": 411, "S-2": 414, "S-3": 419, "S-4": 420})
    found = asked(story, rest="415 g; 416 g; 418 g").json()
    assert found["window"] == {"low_mg": 414_000, "high_mg": 419_000}
    assert (found["window_said"], found["fit_the_rest"]) == ("from 414 g to 419 g", ["S-2", "S-3"])
    wide = asked(story, rest="411 g; 416 g").json()
    assert (wide["window"], wide["fit_the_rest"]) == (None, [])
    assert "differ by 5 g already" in wide["window_said"]


def test_what_the_scales_say_goes_before_the_label_and_a_set_that_fails_is_left_out(story: Story) -> None:
    shelve(story, {"S-1": 416, "S-2": 416})
    story.shelve("A-101", 1, AT, serial="S-3")
    edda = story.client("edda")
    scales = {
        "number": "W-1", "name": "scales", "kind": "scales", "measures": "mass", "low": "0 g", "high": "3 kg",
        "resolution": "0.1 g", "uncertainty": "0.1 g", "site": "TB", "occurred_at": AT.isoformat(),
    }  # fmt: skip
    story.did(edda, "gauges", scales)
    made = {"done_on": "2024-07-01", "next_due": "2025-06-30", "master": "M-1", "done_by": "the laboratory"}
    story.did(edda, "gauges/W-1/calibrations", made | {"occurred_at": AT.isoformat()})
    story.book("J1175", AT, "2025-01-15", "2025-01-17")
    rows = [
        {"what": "weight", "value": "414 g", "gauge": "W-1", "set": "S-1", "point": "with pin"},
        # Another thing was on the scales: it is not compared with the others.
        {"what": "weight", "value": "300 g", "gauge": "W-1", "set": "S-2", "point": "without pin", "confirmed": True,
         "reason": "the pin is out"},
    ]  # fmt: skip
    story.did(story.client("jonah"), "jobs/J1175/readings", {"readings": rows, "occurred_at": AT.isoformat()})
    unsaid = {"readings": [{"what": "weight", "value": "416 g", "gauge": "W-1", "set": "S-2"}]}
    answer = story.client("jonah").send("jobs/J1175/readings", unsaid).json()
    assert (answer["lines"][0]["code"], answer["lines"][0]["values"]["field"]) == ("reading-unusable", "point")
    found = asked(story).json()
    assert [(one["serial"], one["weight_mg"]) for one in found["left_over"]] == [("S-1", 414_000), ("S-2", 416_000)]
    assert found["not_considered"] == [{"serial": "S-3", "why": "the weight of its piston is not on record"}]


@pytest.fixture
def opened(story: Story) -> Story:
    """A box of four sets was opened at its shelf."""
    story.shelve("A-102", 1, AT, serial="BOX-1")
    serials = ["S-1", "S-2", "S-3", "S-4"]
    item = story.item("A-102", "serial=BOX-1")
    body = {
        "place": Balance.objects.get(item=item, real=True).place.code, "serials": {"A-101": serials},
        "set_labels": {one: {"weight_mg": 416_000, "weighed": "with pin"} for one in serials}, "occurred_at": AT.isoformat(),
    }  # fmt: skip
    story.did(story.client("piet"), f"items/{item}/openings", body)
    return story


def test_a_box_of_which_one_set_was_taken_is_short(opened: Story) -> None:
    story = opened
    assert asked(story).json()["short_boxes"] == []
    body = {"damaged": "piston", "reason": "dropped", "orphan_place": "TB-QUARANTINE", "no_photo": "none taken"}
    story.did(story.client("jonah"), "matched-sets/S-3/breaks", body)
    (short,) = asked(story).json()["short_boxes"]
    assert (short["held"], short["left"]) == (4, ["S-1", "S-2", "S-4"])
    assert "BOX-1" in short["box"]
