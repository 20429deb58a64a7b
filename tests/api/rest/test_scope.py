"""Operations, choices and bores of a job, over HTTP."""

import uuid

import pytest

from inventory.models import Item
from kits.models import JobChoice, JobOperation

pytestmark = pytest.mark.django_db


def test_an_operation_is_added_once(rebuild):
    rebuild.booked()
    key = uuid.uuid4()
    body = rebuild.did(rebuild.manager, "jobs/J-1/operations", {"operations": ["T3"]}, key=key)
    assert body == {"operations": [{"procedure": "T3", "revision": 1}]}
    assert rebuild.did(rebuild.manager, "jobs/J-1/operations", {"operations": ["T3"]}, key=key) == body
    answer = rebuild.manager.send("jobs/J-1/operations", {"operations": ["T3"]})
    assert (answer.status_code, answer.json()["code"]) == (409, "operation-on-job")
    assert JobOperation.objects.count() == 2


def low(rebuild):
    """One cylinder with a liner that stands too low: one shim at most, by measurement."""
    findings = [{"code": "chosen", "place": "CYL-1"}, {"code": "low", "place": "CYL-1"}]
    return rebuild.booked(findings=findings)


def test_a_measured_choice_settles_its_position(rebuild):
    low(rebuild)
    open_before = rebuild.technician.read("jobs/J-1/list").json()["open_choices"]
    assert [(one["choice"], one["place"], one["positions"]) for one in open_before] == [
        ("shim", "CYL-1/shim", ["CYL-1/shim"])
    ]
    said = {"choice": "shim", "place": "CYL-1/shim", "alternative": "thin", "reason": "0.05 low by the dial gauge"}
    body = rebuild.did(rebuild.technician, "jobs/J-1/choices", said)
    assert {name: body[name] for name in ("choice", "place", "alternative")} == {
        "choice": "shim",
        "place": "CYL-1/shim",
        "alternative": "thin",
    }
    listed = rebuild.technician.read("jobs/J-1/list").json()
    assert listed["open_choices"] == []
    assert [row["amount"] for row in listed["lines"] if row["part"] == "SHIM-5"] == [1]
    assert rebuild.manager.read("jobs/J-1").json()["choices"] == [said]


def test_sets_are_given_to_bores(rebuild):
    rebuild.booked()
    said = {"bores": [{"position": "CYL-1/set", "serial": "S-2"}], "reason": "gauged"}
    assert rebuild.did(rebuild.technician, "jobs/J-1/bores", said) == {"bores": {"CYL-1/set": "S-2"}}
    assert rebuild.manager.read("jobs/J-1").json()["bores"] == [{"position": "CYL-1/set", "serial": "S-2"}]


CHOICE = {"choice": "shim", "place": "CYL-1/shim", "alternative": "thin", "reason": "measured"}
BORES = [{"position": "CYL-1/set", "serial": "S-1"}, {"position": "CYL-2/set", "serial": "S-1"}]


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("operations", {"operations": []}, 422, "nothing-given"),
        ("operations", {"operations": ["T9"]}, 404, "not-found"),
        ("operations", {"operations": "T3"}, 400, "fields-wrong"),
        ("choices", CHOICE | {"choice": "paint"}, 422, "choice-unknown"),
        ("choices", CHOICE | {"alternative": "thicker"}, 422, "alternative-unknown"),
        ("choices", CHOICE | {"place": "CYL-9/shim"}, 422, "position-unknown"),
        ("choices", CHOICE | {"place": "ENGINE"}, 422, "choice-place-wrong"),
        ("choices", CHOICE | {"alternative": "part:NO-SUCH"}, 404, "not-found"),
        ("choices", CHOICE | {"alternative": "part:SET"}, 422, "choice-not-candidate"),
        ("choices", CHOICE | {"reason": ""}, 400, "fields-wrong"),
        ("bores", {"bores": [], "reason": "gauged"}, 400, "fields-wrong"),
        ("bores", {"bores": BORES, "reason": "gauged"}, 422, "set-twice"),
        ("bores", {"bores": BORES[:1] * 2, "reason": "gauged"}, 400, "fields-wrong"),
        ("bores", {"bores": [{"position": "CYL-9/set", "serial": "S-1"}], "reason": "gauged"}, 422, "position-unknown"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = low(rebuild).manager.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert (JobChoice.objects.count(), JobOperation.objects.count()) == (0, 1)


@pytest.mark.parametrize("path", ["operations", "choices", "bores"])
def test_who_may_and_keys(rebuild, path):
    rebuild.booked()
    assert rebuild.storekeeper.send(f"jobs/J-1/{path}", {}).json()["code"] == "not-allowed"
    bodies = {
        "operations": {"operations": ["T3"]},
        "choices": CHOICE,
        "bores": {"bores": BORES[:1], "reason": "gauged"},
    }
    assert rebuild.manager.send(f"jobs/J-1/{path}", bodies[path], key="").json()["code"] == "key-missing"


def test_marks_are_cleaned_before_a_set_goes_back(rebuild):
    rebuild.at_bench()
    bores = {"bores": [{"position": "CYL-1/set", "serial": "S-1"}], "reason": "gauged"}
    rebuild.did(rebuild.technician, "jobs/J-1/bores", bores)
    back = {"returns": [{"item": Item.objects.get(serial__number="S-1").pk, "amount": 1, "bag_sealed": True}]}
    refused = rebuild.storekeeper.send("jobs/J-1/returns", back)
    assert (refused.status_code, refused.json()["code"]) == (422, "mark-not-cleaned")
    cleaned = {"serials": ["S-1"], "reason": "the bore is kept"}
    key = uuid.uuid4()
    body = rebuild.did(rebuild.storekeeper, "jobs/J-1/cleaned-marks", cleaned, key=key)
    assert body == {"job": "J-1", "cleaned": ["S-1"], "still_marked": []}
    assert rebuild.did(rebuild.storekeeper, "jobs/J-1/cleaned-marks", cleaned, key=key) == body
    assert rebuild.manager.read("jobs/J-1").json()["bores"] == []
    rebuild.did(rebuild.storekeeper, "jobs/J-1/returns", back)
    again = rebuild.storekeeper.send("jobs/J-1/cleaned-marks", cleaned)
    assert (again.status_code, again.json()["code"]) == (422, "not-marked")
    assert rebuild.inspector.send("jobs/J-1/cleaned-marks", cleaned).json()["code"] == "not-allowed"
    assert rebuild.storekeeper.send("jobs/J-1/cleaned-marks", cleaned, key="").json()["code"] == "key-missing"
