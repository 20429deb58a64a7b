"""A joint that is closed for a trial and again for good, over HTTP: an invented drain plug whose washer is crushed each time."""

import copy

import pytest

from tests.factories.engines import operation_documents
from tests.journeys.shop import totals

pytestmark = pytest.mark.django_db
PLUG = "SUMP/washer"


@pytest.fixture
def twice(rebuild):
    """T1 closes the drain twice: to run it dry, and for good. What it takes lies at the bench."""
    told = copy.deepcopy(operation_documents()["T1"])
    (washer,) = [line for line in told["lines"] if line["at"] == PLUG]
    told["lines"].append(washer | {"id": "T1-washer-2", "make": 2, "because": "for good"})
    rebuild.did(rebuild.manager, "procedures", {"document": told | {"revision": told["revision"] + 1}})
    rebuild.at_bench()
    return rebuild


def fit(rebuild, make):
    body = {"fittings": [{"position": PLUG, "item": rebuild.item("WASHER"), "make": make}]}
    return rebuild.technician.send("jobs/J-1/fittings", body)


def test_each_make_takes_a_washer_of_its_own(twice):
    assert totals(twice.said["held"]["held"])["WASHER"] == 2
    listed = twice.technician.read("jobs/J-1/list").json()
    (row,) = [one for one in listed["lines"] if one["part"] == "WASHER"]
    assert row["positions"] == [PLUG, f"{PLUG} (make 2)"]
    made = fit(twice, 1)
    assert (made.status_code, made.json()["fitted"][0]["make"]) == (201, 1), made.content
    out = {"removals": [{"position": PLUG, "to": "bench", "reason": "opened after the dry run"}]}
    twice.did(twice.technician, "jobs/J-1/removals", out)
    again = fit(twice, 2)
    assert (again.status_code, again.json()["fitted"][0]["make"]) == (201, 2), again.content


def test_the_crushed_one_does_not_go_in_again_and_the_reason_is_said(twice):
    assert fit(twice, 1).status_code == 201
    # The other one is lost, so only the crushed one is left.
    lost = {"item": twice.item("WASHER"), "amount": 1, "reason": "fell into the drain", "who_pays": "shop"}
    twice.did(twice.technician, "jobs/J-1/scraps", lost)
    out = {"removals": [{"position": PLUG, "to": "bench", "reason": "opened after the dry run"}]}
    twice.did(twice.technician, "jobs/J-1/removals", out)
    refused = fit(twice, 2).json()
    (line,) = refused.get("lines") or [refused]
    assert line["code"] == "always-new"
    assert "crushed or stretched" in line["detail"]


def test_the_answer_by_class_with_its_reason(twice):
    rows = twice.technician.read("jobs/J-1/used-again", position=PLUG).json()
    assert [(row["make"], row["makes"], row["part"], row["class"], row["again"]) for row in rows] == [
        (1, 2, "WASHER", "always-new", False), (2, 2, "WASHER", "always-new", False)
    ]  # fmt: skip
    assert all("every make of the joint takes its own" in row["reason"] for row in rows)
    everything = twice.technician.read("jobs/J-1/used-again").json()
    assert {(row["class"], row["again"]) for row in everything} <= {
        ("always-new", False), ("measured", True), ("measured", False), ("inspect", True)
    }  # fmt: skip
    assert len({row["position"] for row in everything}) > 5
    assert twice.technician.read("jobs/J-1/used-again", position="SUMP/nothing").json() == []
    assert twice.technician.read("jobs/J-9/used-again").json()["code"] == "not-found"
    assert twice.technician.read("jobs/J-1/used-again", place=PLUG).json()["code"] == "parameter-unknown"
