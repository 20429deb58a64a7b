"""Findings, their withdrawal and the owner's word, over HTTP."""

import uuid

import pytest

from inventory.models import Part
from kits.models import JobFinding

pytestmark = pytest.mark.django_db


def parts(rebuild, **query):
    return [row["part"] for row in rebuild.technician.read("jobs/J-1/list", **query).json()["lines"]]


def states(rebuild):
    return [(row["code"], row["place"], row["state"]) for row in rebuild.manager.read("jobs/J-1").json()["findings"]]


def test_a_finding_brings_its_parts(rebuild):
    rebuild.booked()
    body = rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "crank-out", "note": "scored"}]})
    made = JobFinding.objects.get(code="crank-out")
    assert body == {"findings": [{"id": made.pk, "code": "crank-out", "place": "ENGINE"}], "waiting": False}
    assert "MAIN-SHELL" in parts(rebuild)
    assert made.note == "scored"


def extra_work(rebuild):
    body = {"findings": [{"code": "crank-out"}], "extra_work": True}
    return rebuild.did(rebuild.booked().technician, "jobs/J-1/findings", body)["findings"][0]["id"]


def test_extra_work_waits_for_the_owners_word(rebuild):
    finding = extra_work(rebuild)
    assert states(rebuild) == [("chosen", "CYL-1", "counts"), ("crank-out", "ENGINE", "waits for the owner")]
    assert "MAIN-SHELL" not in parts(rebuild)
    assert "MAIN-SHELL" in parts(rebuild, waiting="1")
    word = {"findings": [finding], "approved": True, "given_by": "owner", "how": "telephone", "limit_coins": 50_000}
    body = rebuild.did(rebuild.manager, "jobs/J-1/approvals", word)
    assert body == {"approval": body["approval"], "approved": True, "findings": [finding], "released": []}
    assert states(rebuild)[1] == ("crank-out", "ENGINE", "counts")
    assert "MAIN-SHELL" in parts(rebuild)


def test_a_word_against_it_keeps_it_off_the_list(rebuild):
    finding = extra_work(rebuild)
    word = {"findings": [finding], "approved": False, "given_by": "owner", "how": "letter"}
    rebuild.did(rebuild.manager, "jobs/J-1/approvals", word)
    assert states(rebuild)[1] == ("crank-out", "ENGINE", "refused by the owner")
    assert "MAIN-SHELL" not in parts(rebuild, waiting="1")


def test_a_no_frees_what_was_held_for_that_work_alone(rebuild):
    finding = extra_work(rebuild)
    word = {"findings": [finding], "given_by": "owner", "how": "letter"}
    rebuild.did(rebuild.manager, "jobs/J-1/approvals", word | {"approved": True})
    held = rebuild.held().said["held"]["held"]
    more = rebuild.did(rebuild.technician, "jobs/J-1/extras", {"part": "RING", "amount": 1, "reason": "dropped"})
    body = rebuild.did(rebuild.manager, "jobs/J-1/approvals", word | {"approved": False})
    its = [row["hold"] for row in held if row["part"] == "MAIN-SHELL"]
    assert its and set(its) <= set(body["released"])
    mine = rebuild.manager.rows("jobs/J-1/holds")
    kept = {row["hold"] for row in mine if row["state"] == "held"}
    assert kept == {row["hold"] for row in [*held, *more["held"]]} - set(body["released"])
    assert {row["part"] for row in held if row["hold"] in kept} >= {"RING", "SET", "NEW-GASKET", "SEALANT"}
    scan = {"scans": [{"hold": its[0], "scanned": "MAIN-SHELL/1"}]}
    late = rebuild.storekeeper.send(f"pick-lists/{rebuild.said['held']['pick_list']}/picks", scan)
    assert (late.status_code, late.json()["code"]) == (409, "hold-ended")


def test_a_withdrawn_finding_shrinks_the_list_and_nothing_is_deleted(rebuild):
    rebuild.booked()
    path, said = "jobs/J-1/findings", {"findings": [{"code": "crank-out"}]}
    finding = rebuild.did(rebuild.technician, path, said)["findings"][0]["id"]
    key = uuid.uuid4()
    body = rebuild.did(rebuild.technician, f"{path}/{finding}/withdrawals", {"reason": "mixed up"}, key=key)
    to_return = {"job": "J-1", "held": [], "lying": []}
    assert body == {"withdrawn": finding, "code": "crank-out", "place": "ENGINE", "to_return": to_return}
    assert "MAIN-SHELL" not in parts(rebuild)
    assert states(rebuild)[1] == ("crank-out", "ENGINE", "withdrawn")
    assert rebuild.did(rebuild.technician, f"{path}/{finding}/withdrawals", {"reason": "mixed up"}, key=key) == body
    answer = rebuild.technician.send(f"{path}/{finding}/withdrawals", {"reason": "again"})
    assert (answer.status_code, answer.json()["code"]) == (409, "withdrawn-already")


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("jobs/J-1/findings", {"findings": []}, 422, "nothing-given"),
        ("jobs/J-1/findings", {"findings": [{"code": "rattle"}]}, 422, "finding-unknown"),
        ("jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "VALVE-1"}]}, 422, "finding-place-wrong"),
        ("jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "CYL-7"}]}, 422, "finding-place-wrong"),
        ("jobs/J-1/findings", {"findings": [{"place": "CYL-1"}]}, 400, "fields-wrong"),
        ("jobs/J-1/findings", {"findings": [{"code": "noise", "note": "a\0b"}]}, 400, "bad-request"),
        ("jobs/J-9/findings", {"findings": [{"code": "noise"}]}, 404, "not-found"),
        ("jobs/J-1/findings/999/withdrawals", {"reason": "wrong"}, 404, "not-found"),
        ("jobs/J-1/findings/999/withdrawals", {"reason": " "}, 400, "fields-wrong"),
        (
            "jobs/J-1/approvals",
            {"findings": [999], "approved": True, "given_by": "owner", "how": "letter"},
            404,
            "not-found",
        ),
        (
            "jobs/J-1/approvals",
            {"findings": [], "approved": "yes", "given_by": "o", "how": "letter"},
            400,
            "fields-wrong",
        ),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().manager.send(path, body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert JobFinding.objects.count() == 1


def test_every_wrong_finding_is_named(rebuild):
    body = {"findings": [{"code": "rattle"}, {"code": "noise"}, {"code": "chosen", "place": "ENGINE"}]}
    answer = rebuild.booked().technician.send("jobs/J-1/findings", body)
    assert [(line["line"], line["code"]) for line in answer.json()["lines"]] == [
        (1, "finding-unknown"),
        (3, "finding-place-wrong"),
    ]


def test_who_may_and_keys(rebuild):
    rebuild.booked()
    body = {"findings": [{"code": "noise"}]}
    assert rebuild.storekeeper.send("jobs/J-1/findings", body).json()["code"] == "not-allowed"
    assert rebuild.technician.send("jobs/J-1/approvals", {}).json()["code"] == "not-allowed"
    assert rebuild.technician.send("jobs/J-1/findings", body, key="").json()["code"] == "key-missing"


def test_a_finding_at_a_wrong_place_is_told_the_right_ones(rebuild):
    rebuild.booked()
    answer = rebuild.technician.send("jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "CYL-7"}]})
    (line,) = answer.json()["lines"]
    places = line["values"]["places"]
    assert places[0] == "CYL-1"
    assert line["detail"].startswith("'cylinder chosen' is found at CYL-1") and line["detail"].endswith(
        "not at 'CYL-7'."
    )


def test_a_choice_that_is_none_is_told_those_that_are(rebuild):
    rebuild.booked()
    body = {"item": 1, "amount": "1 EA", "reason": "bent", "who_pays": "nobody"}
    answer = rebuild.technician.send("jobs/J-1/scraps", body).json()
    assert (answer["code"], answer["detail"]) == (
        "fields-wrong",
        'who_pays: "nobody" is none of: job, shop, supplier, maker.',
    )


def test_parts_above_the_owners_sum_wait_for_a_new_word(rebuild):
    finding = extra_work(rebuild)
    Part.objects.update(price_coins=100)
    word = {"findings": [finding], "approved": True, "given_by": "owner", "how": "telephone"}
    rebuild.did(rebuild.manager, "jobs/J-1/approvals", word | {"limit_coins": 1})
    read = rebuild.manager.read("jobs/J-1/approvals").json()
    assert [(row["limit_coins"], row["findings"], row["by"]) for row in read["approvals"]] == [
        (1, [finding], rebuild.manager.person.username)
    ]
    used = read["used_coins"]
    assert (read["limit_coins"], used > 0, read["left_coins"], read["unpriced"]) == (1, True, 1 - used, [])
    answer = rebuild.technician.send("jobs/J-1/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "over-limit")
    rebuild.did(rebuild.manager, "jobs/J-1/approvals", word | {"limit_coins": used})
    rebuild.did(rebuild.technician, "jobs/J-1/holds", {})
    assert rebuild.manager.read("jobs/J-1/approvals").json()["left_coins"] == 0
