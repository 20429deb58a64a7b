"""The day of fitting and the check of holds against it, over HTTP."""

import uuid

import pytest

from inventory.models import Lot, Part
from kits.models import Job
from tests.api.rest.rebuilds import job_body
from tests.factories.stores import stock

pytestmark = pytest.mark.django_db

#: Before the planned day of fitting: what is long over is judged on today.
THEN = "2025-01-16T12:00:00Z"


def held_with_two_lots(rebuild):
    """The ring of the job comes from a lot that is good until 10 February; another lot lasts longer."""
    Lot.objects.filter(code="RING/1").update(expires_on="2025-02-10")
    stock(Part.objects.get(number="RING"), 4, lot="RING/2")
    Lot.objects.filter(code="RING/2").update(expires_on="2026-02-10")
    rebuild.booked()
    rebuild.said["held"] = rebuild.did(rebuild.technician, "jobs/J-1/holds", {"occurred_at": THEN})
    return rebuild


def ring_lots(rebuild):
    return [(row["lot"], row["state"]) for row in rebuild.manager.rows("jobs/J-1/holds", part="RING")]


def test_a_slipped_day_replaces_what_runs_out(rebuild):
    held_with_two_lots(rebuild)
    assert ring_lots(rebuild) == [("RING/1", "held")]
    key = uuid.uuid4()
    said = {"fit_on": "2025-02-20", "reason": "the crank is late", "occurred_at": THEN}
    body = rebuild.did(rebuild.manager, "jobs/J-1/dates", said, key=key)
    assert (body["fit_on"], body["kept"], body["shorts"]) == ("2025-02-20", 9, [])
    assert [(row["part"], row["from_lot"], row["to_lot"], row["amount"]) for row in body["replaced"]] == [
        ("RING", "RING/1", "RING/2", 1)
    ]
    assert ring_lots(rebuild) == [("RING/1", "made impossible"), ("RING/2", "held")]
    assert rebuild.did(rebuild.manager, "jobs/J-1/dates", said, key=key) == body
    assert rebuild.manager.read("jobs/J-1").json()["dates"] == [
        {"fit_on": "2025-01-20", "reason": ""},
        {"fit_on": "2025-02-20", "reason": "the crank is late"},
    ]


def test_what_a_slipped_day_leaves_short_says_how_much_in_words(rebuild):
    held_with_two_lots(rebuild)
    body = rebuild.did(
        rebuild.manager, "jobs/J-1/dates", {"fit_on": "2099-02-20", "reason": "parked", "occurred_at": THEN}
    )
    said = {(row["part"], row["amount"], row["base"], row["shown"]) for row in body["shorts"]}
    assert said >= {("RING", 1, "piece", "1")}
    assert all(row["ways"] is not None and row["shown"] for row in body["shorts"])


def test_a_check_replaces_what_was_found_to_be_older(rebuild):
    held_with_two_lots(rebuild)
    Lot.objects.filter(code="RING/1").update(expires_on="2025-01-25")
    body = rebuild.did(rebuild.technician, "jobs/J-1/checks", {"occurred_at": THEN})
    assert (body["kept"], body["shorts"]) == (9, [])
    assert [(row["from_lot"], row["to_lot"], row["amount"]) for row in body["replaced"]] == [("RING/1", "RING/2", 1)]
    again = rebuild.did(rebuild.technician, "jobs/J-1/checks", {"occurred_at": THEN})
    assert again == {"kept": 10, "replaced": [], "shorts": [], "too_old": []}


def test_a_stopped_lot_ends_the_hold_and_the_next_hold_takes_another(rebuild):
    held_with_two_lots(rebuild)
    lot = Lot.objects.get(code="RING/1")
    rebuild.did(rebuild.inspector, f"lots/{lot.pk}/stops", {"reason": "cracked"})
    assert ring_lots(rebuild) == [("RING/1", "made impossible")]
    assert rebuild.did(rebuild.technician, "jobs/J-1/checks", {"occurred_at": THEN}) == {
        "kept": 9,
        "replaced": [],
        "shorts": [],
        "too_old": [],
    }
    rebuild.did(rebuild.technician, "jobs/J-1/holds", {"occurred_at": THEN})
    assert ring_lots(rebuild) == [("RING/1", "made impossible"), ("RING/2", "held")]


def test_who_slipped_comes_after_who_is_fitted_sooner(rebuild):
    for number, engine, fit_on in (("J-1", "T4-00211", "2025-01-20"), ("J-2", "T4-00212", "2025-02-10")):
        two = [{"code": "chosen", "place": place} for place in ("CYL-1", "CYL-2")]
        body = job_body(number=number, engine=engine, fit_on=fit_on, findings=two)
        rebuild.did(rebuild.manager, "jobs", body | {"occurred_at": THEN})
        rebuild.did(rebuild.technician, f"jobs/{number}/holds", {"occurred_at": THEN})
    slip = {"fit_on": "2025-04-01", "reason": "the crank is late", "occurred_at": THEN}
    rebuild.did(rebuild.manager, "jobs/J-1/dates", slip)
    # Six rings were there, both jobs hold two. Three are there: the job that is fitted last loses its hold.
    line = {"part": "RING", "lot": "RING/1", "counted": 3, "counted_again": 3}
    second = rebuild.technician.person.username
    count = {
        "place": "R1",
        "lines": [line],
        "second": second,
        "reason": "tape",
        "looked_at": ["O-ring"],
        "occurred_at": THEN,
    }
    shorts = rebuild.did(rebuild.storekeeper, "counts", count)["shorts"]
    assert [(one["for"], one["amount"], one["needed_on"]) for one in shorts] == [("cart J-1", 2, "2025-04-01")]
    row = rebuild.manager.rows("jobs/J-1/holds", part="SET")[0]
    assert row["needed_on"] == "2025-04-01"
    # And who lacks something before that day may borrow it there.
    lacks = rebuild.manager.read("jobs/J-2/shorts", on="2025-01-16").json()["shorts"]
    (sets,) = [one["ways"] for one in lacks if one["part"] == "SET"]
    assert {(one["way"], one["job"], one["needed_there_on"]) for one in sets} == {("borrow", "J-1", "2025-04-01")}


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("dates", {"fit_on": "2025-01-14", "reason": "sooner"}, 422, "dates-turned"),
        ("dates", {"fit_on": "2025-02-30", "reason": "later"}, 400, "fields-wrong"),
        ("dates", {"fit_on": "2025-02-20"}, 400, "fields-wrong"),
        ("checks", {"fit_on": "2025-02-20"}, 400, "fields-wrong"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().manager.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert Job.objects.get().fit_on.isoformat() == "2025-01-20"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("dates", {"fit_on": "2025-02-20", "reason": "later"}),
        ("checks", {}),
    ],
)
def test_who_may_and_keys(rebuild, path, body):
    rebuild.booked()
    assert rebuild.inspector.send(f"jobs/J-1/{path}", body).json()["code"] == "not-allowed"
    assert rebuild.manager.send(f"jobs/J-1/{path}", body, key="").json()["code"] == "key-missing"
