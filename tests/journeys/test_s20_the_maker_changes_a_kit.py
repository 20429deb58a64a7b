"""S20: the maker changes the top gasket set, nine stem seals instead of eight. Old boxes still hold eight, and the shop makes up a
box of its own by the new contents.

Worked example of the demo shop (invented): A-801 holds A-203, A-204, A-205 once and A-210 eight times; A-802 holds one A-801.
"""

from datetime import UTC, datetime
from typing import Any

from inventory.models import Lot, Part
from tests.factories.shop import home_of
from tests.journeys.shop import Story, totals

BEFORE, AFTER = datetime(2024, 11, 4, 9, tzinfo=UTC), datetime(2024, 12, 2, 9, tzinfo=UTC)
KIT, OUTER, SEAL = "A-801", "A-802", "A-210"
OLD = {"A-203": 1, "A-204": 1, "A-205": 1, SEAL: 8}
NEW = OLD | {SEAL: 9}


def changed(story: Story) -> Any:
    """Boxes of the old contents on the shelf; then the maker's letter."""
    story.shelve(KIT, 1, BEFORE, lot="T-OLD")
    story.shelve(OUTER, 1, BEFORE, lot="F-OLD")
    lines = [{"part": story.x(part), "amount": pieces} for part, pieces in NEW.items()]
    answer = story.did(story.client("maren"), f"parts/{story.x(KIT)}/kit-revisions", {"contents": lines})
    story.shelve(KIT, 1, AFTER, lot="T-NEW")
    return answer


def stands_at(story: Story, part: str) -> str:
    return str(home_of(Part.objects.get(number=story.x(part)), "TB", story.x))


def opened(story: Story, part: str, lot: str, **more: str) -> Any:
    """A box is opened where it stands; the labels of the bags are not read."""
    body = {"place": stands_at(story, part)} | more
    return story.did(story.client("piet"), f"items/{story.item(part, f'lot={lot}')}/openings", body)


def loose(story: Story) -> list[dict[str, Any]]:
    """Loose stock of two lots of seals, and what goes into one box: nine of them."""
    for part in ("A-203", "A-204", "A-205"):
        story.shelve(part, 1, BEFORE, lot=f"{part}/L")
    story.shelve(SEAL, 4, BEFORE, lot="S/1")
    story.shelve(SEAL, 20, BEFORE, lot="S/2")
    lines = [(part, f"{part}/L", 1) for part in ("A-203", "A-204", "A-205")] + [(SEAL, "S/1", 4), (SEAL, "S/2", 5)]
    return [
        {"item": story.item(part, f"lot={lot}"), "each": f"{pieces} EA", "place": stands_at(story, part)}
        for part, lot, pieces in lines
    ]


def test_old_boxes_still_hold_eight(either_story: Story) -> None:
    story = either_story
    answer = changed(story)
    assert (answer["revision"], answer["also"]) == (2, [{"kit": story.x(OUTER), "revision": 2}])
    told = story.client("jonah").read(f"parts/{story.x(KIT)}").json()["kit_revisions"]
    assert {one["revision"]: totals(one["contents"]) for one in told} == {1: story.named(OLD), 2: story.named(NEW)}
    for lot, holds in (("T-OLD", OLD), ("T-NEW", NEW)):
        out = opened(story, KIT, lot, to_place="TB-QUARANTINE")
        assert totals(out["contents"]) == story.named(holds)
    # The full set from before holds a top set from before.
    full = opened(story, OUTER, "F-OLD", to_place="TB-QUARANTINE")
    (top,) = [one["item"] for one in full["contents"] if one["part"] == story.x(KIT)]
    inside = story.did(story.client("piet"), f"items/{top}/openings", {"place": "TB-QUARANTINE"})
    assert totals(inside["contents"]) == story.named(OLD)


def test_a_box_is_made_up_here_by_the_new_contents(either_story: Story) -> None:
    story = either_story
    changed(story)
    limbs, piet, path = loose(story), story.client("piet"), f"parts/{story.x(KIT)}/assemblies"
    body = {"lot": "TB-1", "place": stands_at(story, KIT), "contents": limbs}
    # mistakes on purpose: by the old contents, somebody who may not, two boxes where there is one gasket
    eight = limbs[:-1] + [limbs[-1] | {"each": "4 EA"}]
    short = piet.send(path, body | {"contents": eight})
    assert (short.status_code, short.json()["code"]) == (422, "kit-incomplete")
    assert short.json()["values"]["parts"] == [{"part": story.x(SEAL), "needs": 9, "given": 8}]
    assert story.client("jonah").send(path, body).json()["code"] == "not-allowed"
    assert piet.send(path, body | {"boxes": 2}).json()["code"] == "not-there"
    made = story.did(piet, path, body)
    assert (made["revision"], made["boxes"]) == (2, 1)
    assert totals(made["inside"]) == story.named(NEW)
    seals = story.client("hester").read(f"lots/{Lot.objects.get(code='S/1').pk}/whereabouts").json()
    assert {name: seals["sum"][name] for name in ("received", "loose", "in_closed_kits", "difference")} == {
        "received": 4, "loose": 0, "in_closed_kits": 4, "difference": 0
    }  # fmt: skip
    # A stop of an inner lot blocks the box; freed, it is opened, and the bags' lots are those that went in.
    stop = story.did(
        story.client("hester"), f"lots/{Lot.objects.get(code='S/1').pk}/stops", {"reason": "leaks reported"}
    )
    assert [(one["kit"], one["lot"], one["amount"]) for one in stop["where"]["closed_kits"]] == [
        (story.x(KIT), "TB-1", 4)
    ]
    assert piet.read(f"items/{made['item']}").json()["stopped"] is True
    lifted = {"stop": stop["stop"], "reason": "another cause was found"}
    story.did(story.client("maren"), f"lots/{Lot.objects.get(code='S/1').pk}/frees", lifted)
    out = opened(story, KIT, "TB-1")
    assert sorted((one["lot"], one["amount"]) for one in out["contents"] if one["part"] == story.x(SEAL)) == [
        ("S/1", 4), ("S/2", 5)
    ]  # fmt: skip
    assert {one["usable"] for one in out["contents"]} == {"free"}


def test_a_box_is_taken_back_while_it_is_closed(story: Story) -> None:
    changed(story)
    limbs = loose(story)
    body = {"lot": "TB-1", "place": stands_at(story, KIT), "contents": limbs}
    answer = story.client("piet").send(f"parts/{KIT}/assemblies", body)
    assert answer.status_code == 201, answer.content
    act = answer.headers["Location"].rstrip("/").rsplit("/", 1)[-1]
    back = story.did(story.client("maren"), f"acts/{act}/corrections", {"reason": "for another engine"})
    assert len(back["reversed"]) == 6
    assert story.client("piet").read(f"items/{limbs[3]['item']}").json()["stands"][0]["amount"]["amount"] == 4
