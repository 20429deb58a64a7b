"""What no list of the shop has is bought in: a person names the part, and it is held, fitted and missed like any other. Over HTTP.

Worked example of the demo shop (invented): its family says that a renewed camshaft is bought in.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Item, Part
from tests.api.rest.described import DescribedClient
from tests.factories.shop import home_of
from tests.journeys.shop import Story, scans

BOOKED = datetime(2025, 1, 2, 9, tzinfo=UTC)
AT_WORK = datetime(2025, 1, 16, 9, tzinfo=UTC)
JOB, PLACE, PART = "J1175", "CAMSHAFT/camshaft", "CAM-77"


@pytest.fixture
def jonah(story: Story) -> DescribedClient:
    """The technician; the camshaft is to be renewed, one stands in the engine, and the catalogue has a number for a new one."""
    found = [{"code": "camshaft-renewed", "place": "ENGINE"}]
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17", operations=["P2"], findings=found)
    part = {"number": PART, "name": "camshaft, bought in", "kind": "valve train", "unit": "EA", "tracked_by": "serial"}
    answer = story.client("maren").send("parts", part)
    assert answer.status_code == 201, answer.content
    story.at = AT_WORK
    return story.client("jonah")


def named(story: Story, jonah: DescribedClient, part: str = PART) -> None:
    body = {"choice": "", "place": PLACE, "alternative": f"part:{part}", "reason": "by the maker's book"}
    story.did(jonah, f"jobs/{JOB}/choices", body)


def arrives(story: Story) -> None:
    line = {"part": PART, "amount": 1, "serial": "C-1"}
    home = home_of(Part.objects.get(number="A-101"), "TB")
    body = {"supplier": "Saltby", "place": home, "lines": [line], "occurred_at": BOOKED.isoformat()}
    assert story.client("maren").send("receipts", body).status_code == 201


def open_here(jonah: DescribedClient) -> list[str]:
    rows = jonah.read(f"jobs/{JOB}/open-lines").json()["open"]
    return [row["what"] for row in rows if row.get("position") == PLACE]


def shorts(jonah: DescribedClient) -> Any:
    return jonah.read(f"jobs/{JOB}/shorts").json()


def test_what_is_not_named_yet_is_missed(story, jonah):
    assert open_here(jonah) == ["to be bought in"]
    assert [row["position"] for row in shorts(jonah)["buy_in"]] == [PLACE]
    old = story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": PLACE, "part": PART, "serial": "C-0"}]})
    story.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": PLACE}]})
    body = {"fittings": [{"position": PLACE, "item": old["found"][0]["item"]}], "occurred_at": AT_WORK.isoformat()}
    back = jonah.send(f"jobs/{JOB}/fittings", body)
    assert (back.status_code, back.json()["code"]) == (422, "always-new")


def test_the_named_part_is_short_held_fitted_and_done(story, jonah):
    named(story, jonah)
    assert (open_here(jonah), shorts(jonah)["buy_in"]) == (["not fitted"], [])
    assert [row["short"] for row in shorts(jonah)["shorts"] if row["part"] == PART] == [1]
    listed = story.list_of(JOB)
    line = next(row for row in listed["lines"] if row["part"] == PART)
    assert (line["positions"], line["class"], listed["buy_in"]) == ([PLACE], "always-new", [])
    assert "camshaft" in line["because"][0]
    steps = jonah.read(f"jobs/{JOB}/startable").json()["steps"]
    assert [row["step"] for row in steps for part in row["missing"] if part["part"] == PART] == [10]
    arrives(story)
    assert [row for row in shorts(jonah)["shorts"] if row["part"] == PART] == []
    rows = story.bring(JOB)
    assert [row["serial"] for row in rows if row["part"] == PART] == ["C-1"]
    item = Item.objects.get(part__number=PART).pk
    story.did(jonah, f"jobs/{JOB}/fittings", {"fittings": [{"position": PLACE, "item": item}]})
    assert open_here(jonah) == []


def test_a_cart_goes_over_only_when_what_has_no_name_yet_is_named_as_missing_and_its_step_waits(story, jonah):
    story.shelve("A-203", 1, BOOKED)
    held = story.did(jonah, f"jobs/{JOB}/holds", {})
    assert [one["position"] for one in held["buy_in"]] == [PLACE]
    piet, path = story.client("piet"), f"pick-lists/{held['pick_list']}"
    assert [one["position"] for one in piet.read(path).json()["buy_in"]] == [PLACE]
    page = piet.get(f"/api/v1/{path}", HTTP_ACCEPT="text/html").content.decode()
    assert f"{PLACE}: 1 camshaft" in page
    story.did(piet, f"{path}/picks", {"scans": scans(held["held"])})
    lacks = sorted({row[name] for row in held["shorts"] for name in ("part", "wanted")})
    lacks += [one["choice"] for one in held["open_choices"]]
    body = {"received_by": story.x("jonah"), "missing": lacks, "occurred_at": AT_WORK.isoformat()}
    refused = piet.send(f"{path}/handovers", body)
    assert (refused.status_code, refused.json()["code"]) == (422, "missing-not-named")
    assert [(one["name"], one["what"]) for one in refused.json()["values"]["missing"]] == [(PLACE, "buy-in")]
    steps = jonah.read(f"jobs/{JOB}/startable").json()["steps"]
    waits = [
        (row["can_start"], row["start_on"]) for row in steps if any("to be bought in" in why for why in row["why"])
    ]
    assert waits == [(False, None)]
    handed = story.did(piet, f"{path}/handovers", body | {"missing": [*lacks, PLACE]})
    assert PLACE in handed["missing"]
    named(story, jonah)
    steps = jonah.read(f"jobs/{JOB}/startable").json()["steps"]
    assert not [row for row in steps if any("to be bought in" in why for why in row["why"])]


def test_the_newest_name_counts_and_a_number_that_nobody_knows_is_none(story, jonah):
    named(story, jonah, "A-602")
    named(story, jonah)
    assert [row["part"] for row in story.list_of(JOB)["lines"] if PLACE in row["positions"]] == [PART]
    body = {
        "choice": "",
        "place": PLACE,
        "alternative": "part:CAM-99",
        "reason": "so",
        "occurred_at": AT_WORK.isoformat(),
    }
    assert jonah.send(f"jobs/{JOB}/choices", body).status_code == 404
    body |= {"alternative": "part:G-706"}
    poured = jonah.send(f"jobs/{JOB}/choices", body)
    assert (poured.status_code, poured.json()["code"]) == (422, "choice-not-candidate")
    body |= {"place": "LIFTER-1/lifter", "alternative": f"part:{PART}"}  # listed there: no buy-in
    assert jonah.send(f"jobs/{JOB}/choices", body).json()["code"] == "choice-not-candidate"
