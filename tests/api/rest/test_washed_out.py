"""Plugs, dowels and oil jets counted out and back over HTTP."""

import uuid

import pytest

from tests.api.rest.clients import ShopClient, somebody

pytestmark = pytest.mark.django_db

OUT, BACK = "jobs/J-1/washed-out", "jobs/J-1/washed-out/returns"


def counts(*rows, **more):
    return {"counts": [{"name": name, "count": count} for name, count in rows], **more}


def test_out_back_missing(rebuild):
    rebuild.booked()
    key = uuid.uuid4()
    body = rebuild.did(rebuild.technician, OUT, counts(("core plug", 4), ("dowel, head", 2)), key=key)
    assert rebuild.did(rebuild.technician, OUT, counts(("core plug", 4), ("dowel, head", 2)), key=key) == body
    apprentice = ShopClient(somebody("apprentice"))
    rebuild.did(apprentice, BACK, counts(("core plug", 3), ("dowel, head", 2)))
    read = rebuild.manager.read(OUT).json()
    assert [(row["name"], row["listed"], row["out"], row["back"], row["missing"]) for row in read["washed_out"]] == [
        ("core plug", 4, 4, 3, 1),
        ("dowel, head", 2, 2, 2, 0),
    ]
    assert [(row["name"], row["count"], row["back"], row["by"]) for row in read["counts"]] == [
        ("core plug", 4, False, rebuild.technician.person.username),
        ("dowel, head", 2, False, rebuild.technician.person.username),
        ("core plug", 3, True, apprentice.person.username),
        ("dowel, head", 2, True, apprentice.person.username),
    ]
    left = rebuild.manager.read("jobs/J-1/open-lines").json()["open"]
    assert [row["why"] for row in left if row["what"] == "plugs, dowels, jets"] == [
        "core plug: 4 out, 3 back, 1 missing"
    ]


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        (OUT, counts(("core plugs", 1)), 422, "washed-out-unknown"),
        (OUT, counts(("core plug", 5)), 422, "more-out-than-listed"),
        (BACK, counts(("core plug", 1)), 422, "more-back-than-out"),
        (OUT, counts(("core plug", 1), recount=True), 422, "reason-missing"),
        (OUT, counts(), 400, "fields-wrong"),
        (OUT, counts(("core plug", -1)), 400, "fields-wrong"),
        (OUT, counts(("core plug", 1), ("core plug", 2)), 400, "fields-wrong"),
        ("jobs/J-9/washed-out", counts(("core plug", 1)), 404, "not-found"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().technician.send(path, body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content


@pytest.mark.parametrize("path", [OUT, BACK])
def test_who_may_and_keys(rebuild, path):
    rebuild.booked()
    body = counts(("core plug", 1))
    assert rebuild.storekeeper.send(path, body).json()["code"] == "not-allowed"
    assert rebuild.technician.send(path, body, key="").json()["code"] == "key-missing"
