"""Tags and paint marks of removed parts over HTTP; halves of one piece, caps with their arrow, places that are lost."""

from __future__ import annotations

import pytest

from inventory.models import Item, Part
from tests.factories.engines import family_document
from tests.factories.stores import PartFactory

pytestmark = pytest.mark.django_db

ROD, CAP, BEARING_CAP = "ROD-1/rod", "ROD-1/cap", "MAIN-2/cap"


@pytest.fixture
def stripped(rebuild):
    """A rod that was broken apart and its cap, and the cap of main 2, are found; nothing is removed yet."""
    document = family_document() | {"revision": 2}
    for group in document["groups"]:
        if group["group"] in ("ROD", "MAIN"):
            group["names"] += [{"name": "rod"}, {"name": "cap"}] if group["group"] == "ROD" else [{"name": "cap"}]
    document["facts"]["origins"] = [
        {"at": ["ROD-*/rod", "ROD-*/cap"], "halves": ["rod", "cap"], "mark": "side"},
        {"at": "MAIN-*/cap", "lost": "never", "mark": "arrow"},
    ]
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    for number in ("ROD", "ROD-CAP", "MAIN-CAP"):
        PartFactory(number=number, kind="hard part")
    rebuild.booked()
    finds = [{"position": ROD, "part": "ROD"}, {"position": CAP, "part": "ROD-CAP"}]
    finds.append({"position": BEARING_CAP, "part": "MAIN-CAP"})
    found = rebuild.did(rebuild.technician, "jobs/J-1/finds", {"finds": finds})["found"]
    return rebuild, {row["position"]: row["item"] for row in found}


def out(rebuild, *removals):
    return rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": list(removals)})["removed"]


def tags(rebuild):
    answer = rebuild.technician.read("jobs/J-1/tags")
    assert answer.status_code == 200
    return answer.json()


def fits(rebuild, position, item, **more):
    """The code by which it is refused; "" where it goes in."""
    body = {"fittings": [{"position": position, "item": item} | more]}
    answer = rebuild.technician.send("jobs/J-1/fittings", body)
    return answer.json()["lines"][0]["code"] if answer.status_code == 422 else ""


def test_every_removed_part_has_a_tag_and_a_paint_mark(stripped):
    rebuild, items = stripped
    out(
        rebuild,
        {"position": BEARING_CAP, "tag": "M2", "side": "front"},
        {"position": ROD, "tag": "1", "side": "left"},
    )
    said = tags(rebuild)
    assert (said["front"], said["same_text"]) == ("timing end", [])
    assert [(row["lines"], row["paint_mark"]) for row in said["tags"]] == [
        (["J-1  MAIN-2/cap", "MAIN-CAP", "tag M2", "arrow towards front", "front: timing end"],
         "2 cap, and a line towards the front"),
        (["J-1  ROD-1/rod", "ROD", "tag 1", "number on the left", "front: timing end"],
         "1 rod, and a line towards the front"),
    ]  # fmt: skip
    page = rebuild.technician.read("jobs/J-1/tags", format="html")
    assert (page.status_code, page["Content-Type"]) == (200, "text/html; charset=utf-8")
    text = page.content.decode()
    assert text.count('class="tag"') == 2
    assert "arrow towards front" in text
    twice = {"removals": [{"position": CAP, "tag": " m 2 "}]}
    answer = rebuild.technician.send("jobs/J-1/removals", twice)
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (409, "tag-used")


def test_parts_whose_tags_would_read_the_same_get_none(stripped):
    rebuild, items = stripped
    more = [{"position": f"ROD-{n}/rod", "part": "ROD"} for n in (2, 3)]
    found = rebuild.did(rebuild.technician, "jobs/J-1/finds", {"finds": more})["found"]
    out(rebuild, {"position": "ROD-2/rod"}, {"position": "ROD-3/rod"}, {"position": ROD})
    mixed = {"items": [row["item"] for row in found], "reason": "fell into one bucket"}
    rebuild.did(rebuild.technician, "jobs/J-1/lost-positions", mixed)
    said = tags(rebuild)
    assert [row["position"] for row in said["tags"]] == [ROD]
    assert [(row["lines"], len(row["removals"])) for row in said["same_text"]] == [(["J-1  POSITION LOST", "ROD"], 2)]
    assert "Not printed:" in rebuild.technician.read("jobs/J-1/tags", format="html").content.decode()
    # Broken to one cap only: without its place a half is never used again, whatever its maker says.
    assert fits(rebuild, "ROD-2/rod", found[0]["item"]) == "position-lost"
    word = {"item": found[0]["item"], "position": "ROD-2/rod", "word": "they say it may"}
    answer = rebuild.manager.send("jobs/J-1/origin-words", word)
    assert (answer.status_code, answer.json()["code"]) == (422, "position-lost")


def test_the_two_halves_stay_together(stripped):
    rebuild, items = stripped
    out(rebuild, {"position": ROD, "side": "left"}, {"position": CAP, "side": "left"})
    assert fits(rebuild, "ROD-2/rod", items[ROD], side="left") == "wrong-place-of-origin"
    assert fits(rebuild, CAP, items[CAP], side="right") == "mark-differs"
    assert fits(rebuild, ROD, items[ROD], side="left") == ""
    assert fits(rebuild, CAP, items[CAP], side="Left") == ""
    assert Item.objects.get(pk=items[CAP]).part == Part.objects.get(number="ROD-CAP")


def test_a_cap_goes_back_as_its_arrow_pointed(stripped):
    rebuild, items = stripped
    out(rebuild, {"position": BEARING_CAP, "side": "front"})
    assert fits(rebuild, "MAIN-3/cap", items[BEARING_CAP], side="front") == "wrong-place-of-origin"
    assert fits(rebuild, BEARING_CAP, items[BEARING_CAP], side="rear") == "mark-differs"
    assert fits(rebuild, BEARING_CAP, items[BEARING_CAP], side="front") == ""


def test_there_is_no_such_job(stripped):
    rebuild, _ = stripped
    assert rebuild.technician.read("jobs/J-9/tags").status_code == 404
