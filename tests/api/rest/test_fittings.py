"""Fitting over HTTP."""

import uuid

import pytest

from kits.models import Fitting, Job, MeasuredResult

pytestmark = pytest.mark.django_db


def fit(rebuild, *fittings, checker=None, client=None, **more):
    body = {"fittings": list(fittings)} | ({"checker": checker} if checker else {})
    return (client or rebuild.technician).send("jobs/J-1/fittings", body, **more)


def at(rebuild, position, part, identity=None, **more):
    return {"position": position, "item": rebuild.item(part, identity)} | more


def test_a_set_is_fitted_by_one_and_checked_by_another(rebuild):
    rebuild.at_bench()
    fitting = at(rebuild, "CYL-1/set", "SET", "serial=S-1")
    alone = fit(rebuild, fitting)
    assert (alone.status_code, alone.json()["code"]) == (422, "checker-missing")
    key, second = uuid.uuid4(), rebuild.inspector.person.username
    done = fit(rebuild, fitting, checker=second, key=key)
    assert (done.status_code, done.json()["cleaned_off"]) == (201, [])
    assert done.json()["fitted"] == [
        {
            "position": "CYL-1/set",
            "item": fitting["item"],
            "part": "SET",
            "lot": "",
            "serial": "S-1",
            "amount": 1,
            "make": 1,
            "reused": False,
            "instead_of": "",
            "lubricant": "",
            "doubtful": "",
        }
    ]
    again = fit(rebuild, fitting, checker=second, key=key)
    assert (again.json(), again["Idempotent-Replayed"]) == (done.json(), "true")
    row = Fitting.objects.get()
    assert (row.fitter, row.checker) == (rebuild.technician.person, rebuild.inspector.person)


def test_new_oil_over_old_cleans_the_old_off(rebuild):
    rebuild.booked()
    rebuild.did(
        rebuild.technician, "jobs/J-1/finds", {"finds": [{"position": "OIL/fill", "part": "OIL", "amount": "3 L"}]}
    )
    rebuild.held().picked().looked_at()
    to = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", to)
    done = fit(rebuild, at(rebuild, "OIL/fill", "OIL", "-", amount=4_000_000))
    assert done.status_code == 201, done.content
    assert [(row["position"], row["part"], row["amount"]) for row in done.json()["cleaned_off"]] == [
        ("OIL/fill", "OIL", 3_000_000)
    ]


REFUSED = [
    ("CYL-9/set", "SET", {}, "position-unknown"),
    ("CYL-2/set", "SET", {}, "not-on-list"),
    ("CYL-1/ring", "WASHER", {}, "wrong-part"),
    ("HEAD-LEFT/bolt-01", "NEW-BOLT", {"amount": 0}, "amount-not-positive"),
    ("HEAD-LEFT/bolt-01", "NEW-BOLT", {"amount": 2}, "more-than-listed"),
]


@pytest.mark.parametrize(("position", "part", "more", "code"), REFUSED)
def test_what_cannot_go_in_is_refused_by_name(rebuild, position, part, more, code):
    rebuild.at_bench()
    identity = "serial=S-1" if part == "SET" else "-"
    answer = fit(rebuild, at(rebuild, position, part, identity, **more), checker=rebuild.inspector.person.username)
    assert answer.json()["code"] == code, answer.content
    assert Fitting.objects.count() == 0


def test_every_refused_line_is_named(rebuild):
    rebuild.at_bench()
    answer = fit(
        rebuild,
        {"position": "CYL-1/ring", "item": 99_999},
        at(rebuild, "HEAD-LEFT/bolt-01", "NEW-BOLT"),
        at(rebuild, "HEAD-LEFT/bolt-02", "WASHER"),
    )
    assert [(line["line"], line["code"]) for line in answer.json()["lines"]] == [(1, "not-found"), (3, "wrong-part")]
    assert Fitting.objects.count() == 0


def test_the_wrong_bore_is_refused(rebuild):
    rebuild.at_bench()
    said = {"bores": [{"position": "CYL-1/set", "serial": "S-2"}], "reason": "gauged"}
    rebuild.did(rebuild.technician, "jobs/J-1/bores", said)
    answer = fit(rebuild, at(rebuild, "CYL-1/set", "SET", "serial=S-1"), checker=rebuild.inspector.person.username)
    assert (answer.status_code, answer.json()["code"]) == (422, "wrong-bore")


def test_a_stopped_lot_is_not_fitted(rebuild):
    rebuild.at_bench()
    (ring,) = rebuild.manager.rows("lots", part="RING")
    rebuild.did(rebuild.inspector, f"lots/{ring['id']}/stops", {"reason": "cracked"})
    answer = fit(rebuild, at(rebuild, "CYL-1/ring", "RING"))
    assert (answer.status_code, answer.json()["code"]) == (422, "lot-stopped")


def test_who_may_check(rebuild):
    rebuild.at_bench()
    fitting = at(rebuild, "CYL-1/set", "SET", "serial=S-1")
    for checker, status, code in (
        (rebuild.technician.person.username, 422, "same-person"),
        (rebuild.storekeeper.person.username, 403, "may-not-check"),
        ("nobody", 404, "not-found"),
    ):
        answer = fit(rebuild, fitting, checker=checker)
        assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert Fitting.objects.count() == 0


def test_who_may_and_keys(rebuild):
    rebuild.at_bench()
    bolt = at(rebuild, "HEAD-LEFT/bolt-01", "NEW-BOLT")
    assert fit(rebuild, bolt, client=rebuild.storekeeper).json()["code"] == "not-allowed"
    assert fit(rebuild, bolt, key="").json()["code"] == "key-missing"
    assert fit(rebuild).json()["code"] == "nothing-given"
    assert (
        rebuild.technician.send("jobs/J-1/fittings", {"fittings": [bolt | {"torque": 90}]}).json()["code"]
        == "fields-wrong"
    )


def judged(subject, **document):
    """A result of the job's readings, as a clearance leaves it."""
    job = Job.objects.get(number="J-1")
    said = {"rule": "by the gauges", "verdict": "pass", "why": [], "set": ""} | document
    return MeasuredResult.objects.create(
        job=job,
        act=job.booked_by,
        kind="piston clearance",
        subject=subject,
        document=said,
        family_revision=job.family_revision,
    )


def test_what_was_measured_and_says_no_stops_it_until_a_newer_verdict_is_good(rebuild):
    rebuild.at_bench()
    second = rebuild.inspector.person.username
    fitting = at(rebuild, "CYL-1/set", "SET", "serial=S-1")
    failed = judged("CYL-1", verdict="fail")
    answer = fit(rebuild, fitting, checker=second)
    assert (answer.status_code, answer.json()["code"]) == (422, "verdict-fails")
    assert answer.json()["lines"][0]["values"]["result"] == failed.pk
    judged("CYL-1", set="S-1", verdict="doubtful", put_aside=True, why=["the label says 0.080 mm"])
    answer = fit(rebuild, fitting, checker=second)
    assert (answer.status_code, answer.json()["code"]) == (422, "set-put-aside")
    judged("CYL-1", set="S-1")
    assert fit(rebuild, fitting, checker=second).status_code == 201
