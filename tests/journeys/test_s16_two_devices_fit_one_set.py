"""S16: two bench devices without a connection both fit the set S-2031. The first that is heard stays, the second is kept as a clash.

Worked example of the demo shop (invented): sending twice is sending once.
"""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from inventory.models import Balance, Item, Movement
from inventory.queries.audit import audit
from tests.journeys.gauged import DEPTHS, HEIGHTS, as_shown, layout, of_bore, of_set, read, register
from tests.journeys.shop import Story

JOB, SERIAL, PART = "J1175", "S-2031", "A-101"
BEFORE, STRIP = datetime(2025, 1, 2, 9, tzinfo=UTC), datetime(2025, 1, 15, 8, tzinfo=UTC)
#: serial: micrometres above 92.900 mm; every bore is 50 deep there. Made up for this test.
SETS = {SERIAL: 131, "S-2032": 133, "S-2033": 135, "S-2034": 137}
CLOCK = ("12", "3", "6", "9")


@pytest.fixture
def at_bench(story: Story) -> dict[str, str]:
    """Four sets laid out, picked and handed over; serial → bore."""
    register(story, BEFORE, HEIGHTS, DEPTHS)
    for serial in SETS:
        story.shelve(PART, 1, BEFORE, serial=serial, set_label={"weight_mg": 416_000, "weighed": "with pin"})
    story.book(JOB, BEFORE, "2025-01-15", "2025-01-17")
    read(
        story,
        JOB,
        *(of_set(serial, dict.fromkeys(CLOCK, um)) for serial, um in SETS.items()),
        *(of_bore(number, dict.fromkeys(CLOCK, 50)) for number in (1, 2, 3, 4)),
        at=STRIP,
    )
    proposal = layout(story, JOB)
    made = story.did(story.client("jonah"), f"jobs/{JOB}/layout-acceptances", {"bores": as_shown(proposal)})
    scans = [{"hold": row["hold"], "scanned": row["serial"]} for row in made["held"]]
    story.did(story.client("piet"), f"pick-lists/{made['pick_list']}/picks", {"scans": scans})
    story.look(made["pick_list"])
    story.did(story.client("piet"), f"pick-lists/{made['pick_list']}/handovers", {"received_by": "jonah"})
    return {bore["serial"]: bore["position"] for bore in proposal["bores"]}


def fitting(device: str, position: str, serial: str, at: datetime) -> dict[str, Any]:
    item = Item.objects.get(serial__number=serial, member="").pk
    body = {"fittings": [{"position": position, "item": item}], "checker": "edda"}
    return {
        "key": str(uuid.uuid4()), "kind": "fit", "of": JOB, "device": device, "device_at": at.isoformat(), "body": body,
    }  # fmt: skip


def test_the_first_stays_and_the_second_is_kept_until_a_person_answers(story: Story, at_bench: dict[str, str]) -> None:
    now = timezone.now()
    # The second device did it earlier by its own clock: who is heard first stays all the same.
    left = [fitting("bench 1", at_bench[SERIAL], SERIAL, now)]
    right = [
        fitting("bench 2", at_bench[SERIAL], SERIAL, now + timedelta(days=1)),
        fitting("bench 2", at_bench["S-2032"], "S-2032", now + timedelta(days=1)),
    ]
    jonah, maren = story.client("jonah"), story.client("maren")
    (first,) = story.did(jonah, "offline-acts", {"acts": left})["acts"]
    assert (first["outcome"], first["replayed"]) == ("done", False)
    moved = Movement.objects.count()
    taken = story.did(jonah, "offline-acts", {"acts": right})["acts"]
    assert [one["outcome"] for one in taken] == ["clash", "done"]
    # What is sent again is answered again, and moves nothing.
    again = story.did(jonah, "offline-acts", {"acts": right + left})["acts"]
    assert [(one["outcome"], one["replayed"]) for one in again] == [("clash", True), ("done", True), ("done", True)]
    assert Movement.objects.count() == moved + 1
    standing = Balance.objects.get(item__serial__number=SERIAL, real=True, amount=1)
    assert standing.spot.name == at_bench[SERIAL]

    (clash,) = maren.read("clashes", open="true").json()["results"]
    assert (clash["first"]["device"], clash["second"]["device"]) == ("bench 1", "bench 2")
    assert clash["second"]["body"] == right[0]["body"]
    reminders = maren.read("reminders", on=timezone.localdate().isoformat()).json()["reminders"]
    assert [row["number"] for row in reminders if row["kind"] == "two stories about one thing"] == [clash["clash"]]
    found = {"second_is_right": False, "words": "S-2031 is in that bore; the other device was given to the second man"}
    story.did(maren, f"clashes/{clash['clash']}/answers", found)
    assert maren.read("clashes", open="true").json()["results"] == []
    assert audit() == []
