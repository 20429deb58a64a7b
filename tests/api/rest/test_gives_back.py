"""The customer's own things go back, over HTTP; who signed is not for everybody's eyes."""

import uuid

import pytest

from kits.models import GiveBack

pytestmark = pytest.mark.django_db
PATH = "jobs/J-1/gives-back"


def old_lifter(rebuild):
    rebuild.booked()
    find = {"finds": [{"position": "LIFTER-1/lifter", "part": "LIFTER"}]}
    item = rebuild.did(rebuild.technician, "jobs/J-1/finds", find)["found"][0]["item"]
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "LIFTER-1/lifter"}]})
    return {"signed_by": "R. Alder", "given": [{"item": item, "amount": 1}]}


def test_it_goes_back_once_and_the_name_is_read_by_who_may_see_owners(rebuild):
    said, key = old_lifter(rebuild), uuid.uuid4()
    body = rebuild.did(rebuild.technician, PATH, said, key=key)
    assert [(row["part"], row["amount"], row["from"]) for row in body["given_back"]] == [("LIFTER", 1, "bench J-1")]
    assert rebuild.did(rebuild.technician, PATH, said, key=key) == body
    assert GiveBack.objects.count() == 1
    assert "Alder" not in str(body)
    (row,) = rebuild.manager.read(PATH).json()["gives_back"]
    assert (row["signed_by"], [one["part"] for one in row["things"]]) == ("R. Alder", ["LIFTER"])
    assert rebuild.technician.read(PATH).json()["code"] == "not-allowed"
    (find,) = rebuild.technician.read("jobs/J-1/finds").json()["finds"]
    assert (find["found"], find["given_back"], find["still_here"], find["adds_up"]) == (1, 1, 0, True)


def test_what_cannot_be_is_refused_by_name(rebuild):
    said = old_lifter(rebuild)
    (one,) = said["given"]
    for body, status, code in (
        (said | {"signed_by": " "}, 400, "fields-wrong"),
        ({"given": [one]}, 400, "fields-wrong"),
        (said | {"given": [one | {"place": "R1"}]}, 422, "wrong-place"),
        (said | {"given": [one | {"item": 999_999}]}, 404, "not-found"),
        (said | {"given": [one, one]}, 409, "not-there"),
        (said | {"given": []}, 422, "nothing-given"),
    ):
        answer = rebuild.technician.send(PATH, body)
        seen = answer.json()
        codes = {seen["code"]} | {line["code"] for line in seen.get("lines", ())}
        assert code in codes, answer.content
        assert answer.status_code == status, answer.content
    assert GiveBack.objects.count() == 0
    assert rebuild.storekeeper.send(PATH, said).json()["code"] == "not-allowed"
