"""The owner of an engine under class agrees to a part instead of the listed one, over HTTP."""

from typing import Any

import pytest

from inventory.services.receive import ReceiveLine
from tests.api.rest.rebuilds import Rebuild
from tests.api.rest.test_old_numbers import NEW, OLD, hold, noticed, word
from tests.factories.stores import received

pytestmark = pytest.mark.django_db

MARKS, WORDS = "engines/T4-00211/class-marks", "jobs/J-1/substitute-words"
YES: dict[str, Any] = {"listed": OLD, "instead": NEW, "agreed": True, "given_by": "owner", "how": "telephone"}


def test_a_part_that_a_person_chose_waits_for_the_owner_of_an_engine_under_class(rebuild: Rebuild) -> None:
    noticed(rebuild)
    received("R1", [ReceiveLine(NEW, 2)])
    rebuild.booked()
    mark = {"classed": True, "reason": "certificate 12"}
    assert rebuild.technician.send(MARKS, mark).json()["code"] == "not-allowed"
    assert rebuild.did(rebuild.manager, MARKS, mark) == {"engine": "T4-00211", "classed": True, "waiting": []}
    assert rebuild.manager.send(MARKS, mark).json()["code"] == "nothing-changed"
    assert rebuild.manager.send(MARKS, mark | {"reason": " "}).json()["code"] == "fields-wrong"
    assert rebuild.manager.send("engines/T4-99999/class-marks", mark).json()["code"] == "not-found"
    assert rebuild.manager.read("engines/T4-00211").json()["classed"] is True
    assert word(rebuild, NEW).status_code == 201
    answer = rebuild.technician.send("jobs/J-1/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "substitute-not-agreed")
    assert answer.json()["values"]["pairs"] == [{"listed": OLD, "instead": NEW}]
    assert answer.json()["ways_out"][1:] == [
        "Wait for the listed part.", "Where a person chose it, choose the listed part again first.",
    ]  # fmt: skip
    assert rebuild.technician.send(WORDS, YES).json()["code"] == "not-allowed"
    rebuild.did(rebuild.manager, WORDS, YES)
    taken = [row["hold"] for row in hold(rebuild)["held"] if row["part"] == NEW]
    assert len(taken) == 1
    assert rebuild.did(rebuild.manager, WORDS, YES | {"agreed": False})["released"] == taken
    shown = rebuild.technician.read(WORDS).json()
    assert shown["asked"] == "the engine is under class"
    assert [(row["agreed"], row["given_by"], row["how"]) for row in shown["words"]] == [
        (True, "owner", "telephone"), (False, "owner", "telephone"),
    ]  # fmt: skip


def test_what_was_held_before_the_mark_is_not_picked_without_the_word_and_a_person_sees_what_waits(
    rebuild: Rebuild,
) -> None:
    noticed(rebuild)
    received("R1", [ReceiveLine(NEW, 2)])
    rebuild.booked()
    assert word(rebuild, NEW).status_code == 201
    held = hold(rebuild)
    row = next(row for row in held["held"] if row["part"] == NEW)
    marked = rebuild.did(rebuild.manager, MARKS, {"classed": True, "reason": "certificate 12"})
    waits = {"listed": OLD, "instead": NEW, "said_no": False, "held": row["amount"], "here": 0}
    assert marked["waiting"] == [{**waits, "job": "J-1"}]
    picks, scan = (
        f"pick-lists/{held['pick_list']}/picks",
        {"scans": [{"hold": row["hold"], "scanned": row["lot"] or NEW}]},
    )
    answer = rebuild.storekeeper.send(picks, scan)
    assert (answer.status_code, answer.json()["code"]) == (422, "substitute-not-agreed")
    assert answer.json()["ways_out"] == [
        "Ask the owner, and record the word.", "Release the line, and hold the listed part.",
        "Where a person chose it, choose the listed part again first.",
    ]  # fmt: skip
    assert rebuild.technician.read(WORDS).json()["waiting"] == [waits]
    assert rebuild.did(rebuild.manager, WORDS, YES)["waiting"] == []
    assert rebuild.storekeeper.send(picks, scan).status_code == 201
    no = rebuild.did(rebuild.manager, WORDS, YES | {"agreed": False})
    assert (no["released"], no["waiting"]) == ([], [waits | {"said_no": True, "held": 0, "here": row["amount"]}])
