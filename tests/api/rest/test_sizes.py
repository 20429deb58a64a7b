"""Sizes that stay with an engine over HTTP: entered, shown wherever the engine is, asked about on the next job, withdrawn."""

import pytest

from tests.api.rest.rebuilds import job_body
from tests.factories.measuring import gauge, scales

pytestmark = pytest.mark.django_db
SIZES = "jobs/J-1/sizes"


@pytest.fixture
def job(rebuild):
    rebuild.booked()
    gauge("G-1")
    return rebuild


def entered(job, *lines, number="J-1"):
    return job.did(job.technician, f"jobs/{number}/sizes", {"sizes": list(lines)})


def test_a_ground_crank_asks_before_the_next_list_and_is_shown_everywhere(job):
    pins = {"size": "pins", "place": "ENGINE", "value": "0.25 mm", "gauge": "G-1"}
    insert = {"size": "thread", "place": "SUMP/bolt-07", "detail": "M8, 16 mm"}
    made = entered(job, pins, insert)
    assert made["engine"] == "T4-00211"
    assert [(one["size"], one["off_nm"], one["left_nm"]) for one in made["sizes"]] == [
        ("pins", 250_000, 250_000), ("thread", None, None),
    ]  # fmt: skip
    job.did(job.manager, "jobs", job_body(number="J-2", new_engine=False))
    listed = job.technician.read("jobs/J-2/list").json()
    assert [(one["size"], one["shown"], one["left_shown"], one["job"], one["gauge"]) for one in listed["sizes"]] == [
        ("pins", "0.25 mm", "0.25 mm", "J-1", "G-1"), ("thread", "", "", "J-1", ""),
    ]  # fmt: skip
    (question,) = listed["conflicts"]
    assert (question["kind"], question["needs_person"], listed["complete"]) == ("size-on-record", True, False)
    assert question["detail"].endswith("SHELL-25 is taken by that record: a person confirms it")
    early = job.technician.send("jobs/J-2/holds", {})
    assert (early.status_code, early.json()["code"]) == (422, "list-not-ready")
    choice = {"choice": "pin-shells", "place": "ENGINE", "alternative": "undersize", "reason": "measured again"}
    job.did(job.technician, "jobs/J-2/choices", choice)
    held = job.did(job.technician, "jobs/J-2/holds", {})
    assert "SHELL-25" in {one["part"] for one in (*held["held"], *held["shorts"])}
    kept = job.technician.read(f"pick-lists/{held['pick_list']}").json()
    assert [one["size"] for one in kept["sizes"]] == ["pins", "thread"]
    contents = job.technician.read("engines/T4-00211/contents")
    assert [one["size"] for one in contents.json()["sizes"]] == ["pins", "thread"]
    assert job.technician.read("engines/T4-00211/contents", on="2025-01-01").json()["sizes"] is None
    story = job.technician.read("engines/T4-00211/story").json()["events"]
    assert [one["said"] for one in story if one["what"] == "size entered"] == [
        "pins: 0.25 mm, gauge G-1", "thread: M8, 16 mm",
    ]  # fmt: skip


def test_what_is_left_is_named_and_a_wrong_entry_is_withdrawn(job):
    cut = {"size": "seat", "place": "CYL-2", "value": "0.10 mm", "gauge": "G-1"}
    first = entered(job, cut)["sizes"][0]
    assert (first["off_nm"], first["left_nm"]) == (100_000, 150_000)
    # Two lines of one request count together; nothing of it is kept.
    both = job.technician.send(SIZES, {"sizes": [cut, cut | {"value": "0.06 mm"}]})
    assert (both.status_code, both.json()["lines"][0]["line"], both.json()["lines"][0]["code"]) == (
        422, 2, "size-over-limit",
    )  # fmt: skip
    assert both.json()["lines"][0]["values"]["left_nm"] == 50_000
    path = f"{SIZES}/{first['id']}/withdrawals"
    job.did(job.technician, path, {"reason": "it was cylinder 3"})
    again = job.technician.send(path, {"reason": "once more"})
    assert (again.status_code, again.json()["code"]) == (409, "withdrawn-already")
    record = job.technician.read("engines/T4-00211/sizes").json()
    assert (record["sizes"], [one["withdrawn"] for one in record["entries"]]) == ([], ["it was cylinder 3"])
    assert record["entries"][0]["gauge_state"] == "out of date"
    assert entered(job, cut | {"value": "0.25 mm"})["sizes"][0]["left_nm"] == 0


def test_entries_that_cannot_be(job):
    scales("W-1")
    good = {"size": "seat", "place": "CYL-2", "value": "0.10 mm", "gauge": "G-1"}
    for wrong, status, code in (
        ({"size": "colour"}, 422, "no-limit"),
        ({"gauge": ""}, 422, "size-unusable"),
        ({"gauge": "G-9"}, 404, "not-found"),
        ({"gauge": "W-1"}, 422, "gauge-wrong"),
        ({"value": "0.10"}, 422, "quantity-unreadable"),
        ({"value": "0.10 kg"}, 422, "quantity-wrong-dimension"),
        ({"value": "NaN mm"}, 422, "quantity-unreadable"),
        ({"place": "CYL-9"}, 422, "position-unknown"),
        ({"place": "MAIN-1"}, 422, "size-unusable"),
    ):
        answer = job.technician.send(SIZES, {"sizes": [good | wrong]})
        assert (answer.status_code, answer.json()["lines"][0]["code"]) == (status, code), wrong
    empty = job.technician.send(SIZES, {"sizes": []})
    assert (empty.status_code, empty.json()["code"]) == (422, "nothing-given")
    unknown = job.technician.send(f"{SIZES}/99/withdrawals", {"reason": "no"})
    assert (unknown.status_code, unknown.json()["code"]) == (404, "not-found")
    assert job.storekeeper.send(SIZES, {"sizes": [good]}).json()["code"] == "not-allowed"
    assert job.technician.read("engines/T4-00211/sizes").json()["entries"] == []
