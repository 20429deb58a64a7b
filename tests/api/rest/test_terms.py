"""Hand-over of an engine, its meters and its term over HTTP."""

import uuid

import pytest

from inventory.models import Item
from kits.models import Job, MeterReading
from tests.api.rest.clients import ShopClient, somebody
from tests.api.rest.rebuilds import job_body

pytestmark = pytest.mark.django_db

READINGS, CHANGES, TERM = "engines/T4-00211/readings", "engines/T4-00211/meter-changes", "engines/T4-00211/term"
READ = {"meter": "hours", "moment": "claim", "read_on": "2025-02-01", "shows": "1300.5", "photo_ref": "photo 7"}


@pytest.fixture
def clerk(rebuild):
    """The warranty clerk."""
    return ShopClient(somebody("warranty clerk"))


def test_a_reading_is_asked_about_and_both_are_kept(rebuild, clerk):
    rebuild.booked(hours="1400.0", photo_ref="photo 0")
    asked = clerk.send(READINGS, READ | {"read_on": "2099-01-01"})
    assert (asked.status_code, asked.json()["code"]) == (422, "dates-turned")
    key = uuid.uuid4()
    body = rebuild.did(clerk, READINGS, READ, key=key)
    assert (body["shows"], body["asked"]) == ("1,300.5 h", [])
    assert rebuild.did(clerk, READINGS, READ, key=key) == body
    lower = READ | {"read_on": "2025-02-02", "shows": 1290, "photo_ref": ""}
    asked = clerk.send(READINGS, lower)
    assert (asked.status_code, asked.json()["code"]) == (422, "reading-asked")
    assert asked.json()["values"]["questions"] == [
        "1,290 h is lower than 1,300.5 h on 2025-02-01 (claim)",
        "the meter was not photographed",
    ]
    rebuild.did(clerk, READINGS, lower | {"confirmed": True, "reason": "read by the owner over the telephone"})
    shown = clerk.read(READINGS).json()
    assert [(row["shows"], row["reason"]) for row in shown["readings"]] == [
        ("1,400 h", ""), ("1,300.5 h", ""), ("1,290 h", "read by the owner over the telephone"),
    ]  # fmt: skip
    assert shown["at_booking"] == [{"job": "J-1", "hours": "1400.0", "kilometres": None}]


def test_a_booking_with_a_meter_that_nobody_photographed_is_asked_about(rebuild, clerk):
    said = job_body(hours=1400, kilometres=5)
    asked = rebuild.manager.send("jobs", said)
    assert (asked.status_code, asked.json()["code"]) == (422, "reading-asked")
    assert asked.json()["values"]["questions"] == ["the meter was not photographed"]
    missing = rebuild.manager.send("jobs", said | {"confirmed": True})
    assert (missing.status_code, missing.json()["code"]) == (422, "reason-missing")
    assert rebuild.manager.send("jobs", said | {"confirmed": "perhaps"}).status_code == 400
    rebuild.did(
        rebuild.manager, "jobs", said | {"confirmed": True, "reason": "the screen is dark, the owner's log says so"}
    )
    assert [(row["shows"], row["asked"]) for row in clerk.read(READINGS).json()["readings"]] == [
        ("1,400 h", "the meter was not photographed"), ("5 km", "the meter was not photographed"),
    ]  # fmt: skip


def test_a_changed_meter_goes_on(rebuild, clerk):
    rebuild.booked()
    rebuild.did(clerk, READINGS, READ)
    change = {"meter": "hours", "changed_on": "2025-02-03", "old_shows": 1310, "new_begins_at": 10, "photo_ref": "p"}
    rebuild.did(clerk, CHANGES, change)
    rebuild.did(clerk, READINGS, READ | {"read_on": "2025-02-04", "shows": 20})
    assert clerk.read(READINGS).json()["ran"] == {"hours": "1,320 h"}


def test_a_reading_or_a_change_that_was_wrong_is_withdrawn_counts_no_more_and_is_still_shown(rebuild, clerk):
    rebuild.booked()
    rebuild.did(clerk, READINGS, READ | {"shows": 1240})
    change = {"meter": "hours", "changed_on": "2025-02-03", "old_shows": 12_400, "new_begins_at": 0, "photo_ref": "p"}
    rebuild.did(clerk, CHANGES, change)
    rebuild.did(clerk, READINGS, READ | {"read_on": "2025-02-04", "shows": 10})
    shown = clerk.read(READINGS).json()
    assert shown["ran"] == {"hours": "12,410 h"}
    changed = shown["readings"][1]
    slip = {"reason": "a nought too many"}
    taken = clerk.send(f"acts/{changed['act']}/corrections", slip)
    assert taken.json()["code"] == "not-allowed"
    assert rebuild.manager.send(f"acts/{changed['act']}/corrections", slip).json()["ways_out"] == [
        "Withdraw the change, and record it anew."
    ]
    path = f"{READINGS}/{changed['id']}/withdrawals"
    assert clerk.send(path, {"reason": " "}).status_code in (400, 422)
    withdrawn = rebuild.did(clerk, path, slip)
    assert withdrawn == {"reading": changed["id"], "reason": "a nought too many", "ran": {"hours": "10 h"}}
    again = clerk.send(path, slip)
    assert (again.status_code, again.json()["code"]) == (409, "withdrawn-already")
    assert clerk.send(f"{READINGS}/{changed['id'] + 99}/withdrawals", slip).status_code == 404
    rebuild.did(clerk, CHANGES, change | {"old_shows": 1240})
    shown = clerk.read(READINGS).json()
    assert shown["ran"] == {"hours": "1,250 h"}
    assert [(row["shows"], row["withdrawn"]) for row in shown["readings"]] == [
        ("1,240 h", ""), ("12,400 h", "a nought too many"), ("10 h", ""), ("1,240 h", ""),
    ]  # fmt: skip


def test_what_was_read_wrong_at_booking_is_withdrawn_and_the_job_says_it_no_more(rebuild, clerk):
    rebuild.booked(hours="14000.0", kilometres=5, photo_ref="photo 0")
    wrong, right = clerk.read(READINGS).json()["readings"]
    rebuild.did(clerk, f"{READINGS}/{wrong['id']}/withdrawals", {"reason": "a nought too many"})
    job = rebuild.manager.read("jobs/J-1").json()
    assert (job["hours"], job["kilometres"]) == (None, 5)
    arrival = READ | {"moment": "arrival", "read_on": right["on"], "shows": "1400"}
    assert rebuild.did(clerk, READINGS, arrival)["asked"] == []  # not lower than one that never counted
    shown = clerk.read(READINGS).json()
    assert shown["at_booking"] == [{"job": "J-1", "hours": None, "kilometres": 5}]
    assert shown["ran"] == {"hours": "1,400 h", "kilometres": "5 km"}


def test_a_term_is_open_until_the_engine_is_handed_over(rebuild, clerk):
    rebuild.booked()
    early = clerk.send("jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-21"})
    assert (early.status_code, early.json()["code"]) == (422, "job-not-closed")
    assert clerk.read(TERM, on="2025-02-01").json()["begun"] is False
    Job.objects.update(state="closed")
    rebuild.did(clerk, "jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-21"})
    again = clerk.send("jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-21"})
    assert (again.status_code, again.json()["code"]) == (409, "handed-over-already")
    found = clerk.read(TERM, on="2025-02-01").json()
    assert (found["begun"], found["handed_over_on"], found["why"]) == (
        True, "2025-01-21", "the family's document says nothing of a term",
    )  # fmt: skip


def test_a_built_engine_goes_out_after_a_good_first_run_that_somebody_released(rebuild, clerk):
    rebuild.at_bench()
    second = rebuild.inspector.person.username
    item = Item.objects.get(part__number="SET", identity="serial=S-1").pk
    fitting = {"fittings": [{"position": "CYL-1/set", "item": item}], "checker": second}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", fitting)
    Job.objects.update(state="closed")
    path, body = "jobs/J-1/engine-handovers", {"handed_over_on": "2025-02-03"}
    run = {"run_on": "2025-02-04", "values": [{"name": "oil pressure", "value": "3 bar"}]}

    def told_no():
        answer = clerk.send(path, body)
        return answer.status_code, answer.json()["code"]

    assert told_no() == (409, "run-missing")
    weak = run | {"values": [{"name": "oil pressure", "value": "0.9 bar"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/first-runs", weak)
    assert told_no() == (422, "run-not-good")
    rebuild.did(rebuild.technician, "jobs/J-1/first-runs", run)
    assert told_no() == (422, "run-not-good")
    rebuild.did(rebuild.technician, "jobs/J-1/first-runs", run | {"released_by": second})
    # It ran on the day after the one that is named.
    assert told_no() == (422, "dates-turned")
    rebuild.did(clerk, path, {"handed_over_on": "2025-02-04"})


def test_what_was_stopped_after_the_close_goes_out_by_the_word_of_who_may_lift_stops(rebuild, clerk):
    rebuild.at_bench()
    ring = next(row for row in rebuild.said["held"]["held"] if row["lot"] and row["positions"])
    item = Item.objects.get(part__number=ring["part"], lot__code=ring["lot"])
    position = ring["positions"][0][0]
    fitting = {"fittings": [{"position": position, "item": item.pk}], "checker": rebuild.inspector.person.username}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", fitting)
    run = {"run_on": "2025-02-03", "values": [{"name": "oil pressure", "value": "3 bar"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/first-runs", run | {"released_by": rebuild.inspector.person.username})
    Job.objects.update(state="closed")
    rebuild.did(rebuild.inspector, f"lots/{item.lot_id}/stops", {"reason": "the maker calls it back"})
    path, body = "jobs/J-1/engine-handovers", {"handed_over_on": "2025-02-04"}
    asked = clerk.send(path, body)
    assert (asked.status_code, asked.json()["code"]) == (422, "lot-stopped")
    inside = {"position": position, "item": item.pk, "part": ring["part"], "called": item.called}
    assert asked.json()["values"]["stopped"] == [inside]
    sure = body | {"confirmed": True, "reason": "the owner waits for the letter"}
    assert clerk.send(path, sure).json()["code"] == "lot-stopped"  # who may not lift a stop
    assert rebuild.manager.send(path, sure | {"reason": " "}).json()["code"] == "reason-missing"
    assert rebuild.did(rebuild.manager, path, sure)["stopped"] == [inside]


@pytest.mark.parametrize("asked", [{"on": "soon"}, {"on": "2025-02-30"}])
def test_a_day_is_a_day(rebuild, clerk, asked):
    rebuild.booked()
    answer = clerk.read(TERM, **asked)
    assert (answer.status_code, answer.json()["code"]) == (400, "parameter-wrong")


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        (READINGS, READ | {"meter": "miles"}, 400, "fields-wrong"),
        (READINGS, READ | {"moment": "meter change"}, 400, "fields-wrong"),
        (READINGS, READ | {"shows": "1.55"}, 400, "fields-wrong"),
        (READINGS, READ | {"shows": "-1"}, 400, "fields-wrong"),
        ("engines/T4-00212/readings", READ, 404, "not-found"),
        ("jobs/J-9/engine-handovers", {"handed_over_on": "2025-01-21"}, 404, "not-found"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, clerk, path, body, status, code):
    rebuild.booked()
    answer = clerk.send(path, body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert MeterReading.objects.count() == 0


@pytest.mark.parametrize(
    ("path", "body"),
    [
        (READINGS, READ),
        (CHANGES, {"meter": "hours", "changed_on": "2025-02-03", "old_shows": 1310, "new_begins_at": 10}),
        ("jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-21"}),
    ],
)
def test_who_may_and_keys(rebuild, clerk, path, body):
    rebuild.booked()
    assert rebuild.storekeeper.send(path, body).json()["code"] == "not-allowed"
    assert clerk.send(path, body, key="").json()["code"] == "key-missing"


def test_an_engine_that_is_not_on_record_has_near_ones(rebuild, clerk):
    rebuild.booked()
    assert clerk.read("engines/T4-00212/term", on="2025-02-01").json()["values"]["near"] == ["T4-00211"]
    assert clerk.read("engines/T4-00212/readings").status_code == 404
