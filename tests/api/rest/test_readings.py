"""Readings and results of a job over HTTP."""

import pytest

from inventory.services.run import run
from kits.models import Reading
from kits.queries.scope import job_by_number
from kits.services.results import record_result
from tests.factories.measuring import PAST, gauge
from tests.factories.stores import PersonFactory, stamp

HEIGHT = {
    "what": "liner-height", "value": "93.035 mm", "gauge": "G-1", "place": "CYL-1", "point": "12", "clean": True,
    "clamped": True, "without_rubber": True,
}  # fmt: skip


@pytest.fixture
def job(rebuild):
    rebuild.booked()
    gauge("G-1", due=None)
    made = {"done_on": "2024-07-01", "next_due": "2999-06-30", "master": "M-1", "done_by": "the laboratory"}
    rebuild.did(rebuild.inspector, "gauges/G-1/calibrations", made)
    gauge("G-OLD", due=PAST)
    return rebuild


def sent(job, *lines, client=None):
    return job.did(client or job.technician, "jobs/J-1/readings", {"readings": [HEIGHT | line for line in lines]})


def result(readings, subject="CYL-1"):
    """A result that rests on these readings; its id."""
    row = job_by_number("J-1")

    def work(act):
        document = {"rule": "by hand", "verdict": "pass"}
        return {"result": record_result(act, row, "protrusion", subject, document, readings).pk}

    return run("judge", work, actor=PersonFactory(), stamp=stamp(), request={"of": list(readings)}).body["result"]


def test_a_batch_is_recorded_and_read(job):
    body = sent(job, {}, {"value": "93.050 mm"}, {"point": "3", "gauge": "G-OLD"}, {"set": "S-1", "place": ""})
    assert [
        (one["point"], one["set"], one["repeat"], one["gauge_state"], one["marks"]) for one in body["readings"]
    ] == [
        ("12", "", 1, "in date", []),
        ("12", "", 2, "in date", []),
        ("3", "", 1, "out of date", ["gauge out of date"]),
        ("12", "S-1", 1, "in date", []),
    ]
    assert [(one["count"], one["value"], one["spread"], one["how"]) for one in body["repeats"]] == [
        (2, None, 15_000, "measure again")
    ]
    rows = job.manager.rows("jobs/J-1/readings")
    assert [(one["typed"], one["value"], one["by"], one["withdrawn"], one["computed_with"]) for one in rows] == [
        (value, nm, job.technician.person.username, "", True)
        for value, nm in (
            ("93.035 mm", 93_035_000), ("93.050 mm", 93_050_000), ("93.035 mm", 93_035_000), ("93.035 mm", 93_035_000),
        )
    ]  # fmt: skip


def test_the_list_is_filtered(job):
    sent(job, {}, {"place": "CYL-2", "gauge": "G-OLD"}, {"set": "S-1", "place": ""}, {"what": "block-depth"})

    def found(**more):
        return [(one["what"], one["place"], one["set"]) for one in job.manager.rows("jobs/J-1/readings", **more)]

    assert found(what="block-depth") == [("block-depth", "CYL-1", "")]
    assert found(place="CYL-2") == found(gauge="G-OLD") == [("liner-height", "CYL-2", "")]
    assert found(set="S-1") == [("liner-height", "", "S-1")]
    assert (len(found()), found(withdrawn="true")) == (4, [])
    assert job.manager.read("jobs/J-1/readings", what="colour").json()["code"] == "fields-wrong"
    assert job.manager.read("jobs/J-404/readings").json()["code"] == "not-found"


def test_every_refused_line_is_named(job):
    lines = [HEIGHT, HEIGHT | {"value": "93.035"}, HEIGHT | {"gauge": "G-9"}, HEIGHT | {"value": "151 mm"}]
    answer = job.technician.send("jobs/J-1/readings", {"readings": lines})
    assert answer.status_code == 422
    assert [(one["line"], one["code"]) for one in answer.json()["lines"]] == [
        (2, "quantity-unreadable"),
        (3, "not-found"),
        (4, "reading-implausible"),
    ]
    assert Reading.objects.count() == 0
    sent(job, {"value": "151 mm", "confirmed": True, "reason": "set up on a block"})
    assert Reading.objects.get().confirmed


def test_a_withdrawn_reading_makes_what_rests_on_it_stale(job):
    ids = [one["id"] for one in sent(job, {}, {"point": "3"}, {"point": "6"})["readings"]]
    first, other = result(ids[:2]), result(ids[2:], "CYL-2")
    body = job.did(job.inspector, f"jobs/J-1/readings/{ids[0]}/withdrawals", {"reason": "zero was off"})
    assert body == {
        "reading": ids[0], "reason": "zero was off", "stale": [{"result": first, "kind": "protrusion", "subject": "CYL-1"}],
    }  # fmt: skip
    rows = job.manager.rows("jobs/J-1/results")
    assert [(one["id"], one["readings"], one["stale"], one["why"]) for one in rows] == [
        (first, ids[:2], True, [f"reading {ids[0]} was withdrawn: zero was off"]),
        (other, ids[2:], False, []),
    ]
    assert [one["id"] for one in job.manager.rows("jobs/J-1/results", subject="CYL-2")] == [other]
    assert [one["id"] for one in job.manager.rows("jobs/J-1/readings", withdrawn="true")] == [ids[0]]
    second = result(ids[1:2])
    assert [one["replaced_by"] for one in job.manager.rows("jobs/J-1/results")] == [second, None, None]
    answer = job.inspector.send(f"jobs/J-1/readings/{ids[0]}/withdrawals", {"reason": "again"})
    assert (answer.status_code, answer.json()["code"]) == (409, "withdrawn-already")


@pytest.mark.parametrize(
    ("line", "status", "code"),
    [
        ({"what": "colour"}, 400, "fields-wrong"),
        ({"value": 93.035}, 400, "fields-wrong"),
        ({"value": "NaN mm"}, 422, "quantity-unreadable"),
        ({"value": "-93 mm"}, 422, "quantity-negative"),
        ({"clean": "yes"}, 400, "fields-wrong"),
        ({"place": "CYL-9"}, 422, "position-unknown"),
        ({"set": "S-9"}, 404, "not-found"),
        ({"point": "noon"}, 422, "reading-unusable"),
        ({"meant": "93.035 in"}, 422, "reason-missing"),
        ({"temperature": "20 °C"}, 400, "fields-wrong"),
    ],
)
def test_what_is_no_reading(job, line, status, code):
    answer = job.technician.send("jobs/J-1/readings", {"readings": [HEIGHT | line]})
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert Reading.objects.count() == 0


def test_who_may_and_keys(job, client_of):
    assert job.storekeeper.send("jobs/J-1/readings", {"readings": [HEIGHT]}).json()["code"] == "not-allowed"
    assert job.technician.send("jobs/J-1/readings", {"readings": [HEIGHT]}, key="").json()["code"] == "key-missing"
    reading = sent(job, {})["readings"][0]["id"]
    path = f"jobs/J-1/readings/{reading}/withdrawals"
    assert client_of("apprentice").send(path, {"reason": "no"}).json()["code"] == "not-allowed"
    assert job.technician.send(path, {"reason": "wrong bore"}).status_code == 201
