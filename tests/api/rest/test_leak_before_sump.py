"""The water jacket is tested before the sump goes on: its gate stays shut, and nothing is fitted there, until a passed test stands."""

from __future__ import annotations

import pytest

from inventory.models import Part
from tests.factories.engines import family_document

pytestmark = pytest.mark.django_db

GATES, FITTINGS = "jobs/J-1/joints/SUMP/gates", "jobs/J-1/fittings"
DRY = {"pressure": "1.0 bar", "held": "10 min", "drop": "0 bar", "temperature": "20 °C"}


@pytest.fixture
def liner_in(rebuild):
    """The ring and the set of CYL-1 are in; the family has its sump closed after the leak test; a tube is open."""
    document = family_document() | {"revision": 2}
    document["facts"]["leak_test"] |= {"when": "lifted", "before": ["SUMP/bead", "SUMP/washer"]}
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    Part.objects.filter(number="RING").update(kind="O-ring")
    rebuild.with_joint()
    rebuild.did(
        rebuild.technician, FITTINGS, {"fittings": [ring(rebuild), liner(rebuild)], "checker": checker(rebuild)}
    )
    return rebuild


def checker(rebuild):
    return rebuild.inspector.person.username


def ring(rebuild):
    return {"position": "CYL-1/ring", "item": rebuild.item("RING"), "lubricant": "soap"}


def liner(rebuild):
    (held,) = [row for row in rebuild.said["held"]["held"] if row["part"] == "SET"]
    return {"position": "CYL-1/set", "item": held["item"]}


def washer(rebuild):
    return {"position": "SUMP/washer", "item": rebuild.item("WASHER")}


def stops(rebuild, *fittings):
    """Codes and reasons of what is refused."""
    answer = rebuild.technician.send(FITTINGS, {"fittings": fittings, "checker": checker(rebuild)})
    assert answer.status_code == 422, answer.json()
    return [
        (row["code"], row["values"]["position"], row["detail"].partition(": ")[2]) for row in answer.json()["lines"]
    ]


def gate_says(rebuild):
    """Why the gate of the sump stays shut."""
    answer = rebuild.technician.send(GATES, rebuild.gate_body())
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-shut"), answer.json()
    return {no["question"]: no["why"] for no in answer.json()["values"]["noes"]}


def still_open(rebuild):
    """What the closing says of the test."""
    rows = rebuild.manager.read("jobs/J-1/open-lines").json()["open"]
    return [row["why"] for row in rows if row["what"] == "no passed leak test"]


def test_no_gate_and_no_fitting_below_the_liners_before_a_passed_test(liner_in):
    assert gate_says(liner_in) == {"leak test": "no leak test is on record"}
    (said,) = stops(liner_in, washer(liner_in))
    assert said == (
        "leak-test-missing", "SUMP/washer", "no leak test is on record; it is closed only after one that was passed.",
    )  # fmt: skip
    liner_in.did(liner_in.inspector, "jobs/J-1/leak-tests", DRY | {"wet": ["CYL-1/set"]})
    assert gate_says(liner_in) == {"leak test": "the leak test was not passed: wet below CYL-1/set"}
    # What is at another place is not held up.
    liner_in.did(liner_in.technician, FITTINGS, {"fittings": [{"position": "OIL/fill", "item": liner_in.item("OIL")}]})
    liner_in.did(liner_in.inspector, "jobs/J-1/leak-tests", DRY)
    assert still_open(liner_in) == []
    liner_in.gate()
    liner_in.did(liner_in.technician, FITTINGS, {"fittings": [washer(liner_in)]})


def test_a_ring_that_came_out_since_asks_for_another_test(liner_in):
    liner_in.did(liner_in.inspector, "jobs/J-1/leak-tests", DRY)
    liner_in.did(liner_in.technician, "jobs/J-1/removals", {"removals": [{"position": "CYL-1/ring"}]})
    old = "the leak test is older than what went in or came out at CYL-1/ring"
    assert gate_says(liner_in) == {"leak test": old}
    assert still_open(liner_in) == [f"{old}; asked for by page 1"]
    assert [code for code, *_ in stops(liner_in, washer(liner_in))] == ["leak-test-missing"]


def test_liner_and_sump_do_not_go_in_by_one_act(liner_in):
    liner_in.did(liner_in.technician, "jobs/J-1/removals", {"removals": [{"position": "CYL-1/set"}]})
    liner_in.did(liner_in.inspector, "jobs/J-1/leak-tests", DRY)
    refused = stops(liner_in, liner(liner_in), washer(liner_in))
    assert [(code, position) for code, position, _ in refused] == [("leak-test-missing", "SUMP/washer")]
    assert "older than what went in or came out at CYL-1/set" in refused[0][2]
    liner_in.did(liner_in.technician, FITTINGS, {"fittings": [liner(liner_in)], "checker": checker(liner_in)})
    assert "CYL-1/set" in gate_says(liner_in)["leak test"]
