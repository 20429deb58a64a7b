"""Closing and cancelling a job over HTTP."""

import uuid

import pytest

from inventory.models import Balance
from kits.models import Job

pytestmark = pytest.mark.django_db

CLOSED = "jobs/J-1/closings"


def one_bolt(rebuild):
    """A job with one line: a sump bolt that was damaged; picked and at the bench."""
    return rebuild.booked(operations=["T3"], findings=[{"code": "bolt-bad", "place": "SUMP/bolt-01"}])


def skip_the_rest(rebuild):
    """Every listed position but the bolt gets nothing."""
    lines = rebuild.technician.read("jobs/J-1/list").json()["lines"]
    rest = [name for line in lines for name in line["positions"] if name != "SUMP/bolt-01"]
    said = {"positions": [{"position": name, "because": "the sump stayed on"} for name in rest]}
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", said)


def test_a_job_is_closed_when_every_position_is_done(rebuild):
    one_bolt(rebuild)
    skip_the_rest(rebuild)
    rebuild.held().picked()
    to = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", to)
    checked = {"checker": rebuild.inspector.person.username}
    early = rebuild.technician.send(CLOSED, checked)
    assert (early.status_code, early.json()["code"]) == (422, "job-not-done")
    assert {row["what"] for row in early.json()["values"]["open"]} == {"not fitted", "still at the bench"}
    fitting = {"position": "SUMP/bolt-01", "item": rebuild.item("SUMP-BOLT")}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [fitting]})
    key = uuid.uuid4()
    body = rebuild.did(rebuild.technician, CLOSED, checked, key=key)
    assert body == {"job": "J-1", "fitted": 1}
    assert rebuild.did(rebuild.technician, CLOSED, checked, key=key) == body
    read = rebuild.manager.read("jobs/J-1").json()
    assert (read["state"], read["end"]["checker"], read["end"]["by"]) == (
        "closed",
        checked["checker"],
        rebuild.technician.person.username,
    )
    for path, more in (("findings", {"findings": [{"code": "noise"}]}), ("closings", checked), ("checks", {})):
        answer = rebuild.technician.send(f"jobs/J-1/{path}", more)
        assert (answer.status_code, answer.json()["code"]) == (409, "job-ended")


@pytest.mark.parametrize("answer", ["the owner refuses", "it was wrong"])
def test_a_job_is_not_closed_over_extra_work_that_the_owner_has_not_answered(rebuild, answer):
    one_bolt(rebuild)
    found = {"findings": [{"code": "crank-out"}], "extra_work": True}
    finding = rebuild.did(rebuild.technician, "jobs/J-1/findings", found)["findings"][0]["id"]

    def waits():
        left = rebuild.technician.send(CLOSED, {"checker": rebuild.inspector.person.username}).json()["values"]["open"]
        return [(one["position"], one["name"]) for one in left if one["what"] == "extra work not answered"]

    assert waits() == [("ENGINE", "crank-out")]
    if answer == "it was wrong":
        path = f"jobs/J-1/findings/{finding}/withdrawals"
        rebuild.did(rebuild.technician, path, {"reason": "mixed up"})
    else:
        word = {"findings": [finding], "approved": False, "given_by": "owner", "how": "letter"}
        rebuild.did(rebuild.manager, "jobs/J-1/approvals", word)
    assert waits() == []


def test_a_cancelled_job_gives_its_holds_up_and_the_owner_gets_his_parts(rebuild):
    rebuild.booked().held()
    find = {"finds": [{"position": "LIFTER-1/lifter", "part": "LIFTER"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/finds", find)
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "LIFTER-1/lifter"}]})
    unsigned = rebuild.manager.send("jobs/J-1/cancellations", {"reason": "sold"})
    assert (unsigned.status_code, unsigned.json()["code"]) == (422, "not-signed")
    body = rebuild.did(rebuild.manager, "jobs/J-1/cancellations", {"reason": "sold", "signed_by": "R. Alder"})
    assert sorted(body["released"]) == sorted(row["hold"] for row in rebuild.said["held"]["held"])
    assert [(row["part"], row["amount"]) for row in body["given_back"]] == [("LIFTER", 1)]
    assert Balance.objects.filter(held__gt=0).count() == 0
    assert rebuild.manager.read("jobs/J-1").json()["state"] == "cancelled"


def test_a_job_with_things_of_the_shop_is_not_cancelled(rebuild):
    answer = rebuild.at_bench().manager.send("jobs/J-1/cancellations", {"reason": "sold"})
    assert (answer.status_code, answer.json()["code"]) == (422, "job-not-empty")
    assert (len(answer.json()["values"]["things"]), answer.json()["values"]["tools"]) == (10, ["bead gun"])
    said = answer.json()["detail"]
    assert all(one in said for one in ("SET, serial S-1", "RING, lot RING/1", "tool bead gun")), said
    assert Job.objects.get().state == "booked"


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("closings", {}, 400, "fields-wrong"),
        ("closings", {"checker": "nobody"}, 404, "not-found"),
        ("cancellations", {"reason": ""}, 400, "fields-wrong"),
        ("cancellations", {"reason": "sold", "owner_signed": True}, 400, "fields-wrong"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().manager.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content


def test_who_may_check_what_is_closed(rebuild):
    rebuild.booked()
    for person, status, code in (
        (rebuild.technician.person, 422, "same-person"),
        (rebuild.storekeeper.person, 403, "may-not-check"),
    ):
        answer = rebuild.technician.send(CLOSED, {"checker": person.username})
        assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_who_may_and_keys(rebuild):
    rebuild.booked()
    checked = {"checker": rebuild.inspector.person.username}
    assert rebuild.storekeeper.send(CLOSED, checked).json()["code"] == "not-allowed"
    assert rebuild.technician.send("jobs/J-1/cancellations", {"reason": "sold"}).json()["code"] == "not-allowed"
    assert rebuild.technician.send(CLOSED, checked, key="").json()["code"] == "key-missing"
    assert rebuild.manager.send("jobs/J-1/cancellations", {"reason": "sold"}, key="").json()["code"] == "key-missing"
