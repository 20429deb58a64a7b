"""A code that nobody knows is answered with what was probably meant, whatever it is the code of."""

import pytest

from inventory.models import Place, Site
from tests.api.rest.rebuilds import job_body
from tests.factories.stores import quarantine

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("path", "said", "near"),
    [
        ("places/R-l", "There is no place R-l.", ["R1"]),
        ("places/R-l/contents", "There is no place R-l.", ["R1"]),
        ("suppliers/makr", "There is no supplier makr.", ["maker"]),
        ("engine-families/Testbed-5", "There is no engine family Testbed-5.", ["Testbed-4"]),
        ("procedures/TI", "There is no procedure TI.", ["T1"]),
        ("jobs/J-I", "There is no job J-I.", ["J-1"]),
        ("jobs/JI/list", "There is no job JI.", ["J-1"]),
        ("jobs/JI/holds", "There is no job JI.", ["J-1"]),
        ("jobs/zzz", "There is no job zzz.", []),
    ],
)
def test_reading_what_is_not_there_names_what_is_near(rebuild, path, said, near):
    rebuild.booked()
    document = rebuild.manager.read(path).json()
    assert (document["code"], document["values"]["near"]) == ("not-found", near)
    assert document["detail"] == (f"{said} Near: {', '.join(near)}." if near else said)


@pytest.mark.parametrize(
    ("path", "body", "near"),
    [
        ("jobs", job_body(number="J-2", site="T5"), ["TS"]),
        ("jobs", job_body(number="J-2", operations=["Tl"]), ["T1"]),
        ("jobs/J-l/operations", {"operations": ["T2"]}, ["J-1"]),
        ("jobs/J-1/operations", {"operations": ["T-3."]}, ["T3"]),
        ("receipts", {"supplier": "rnaker", "place": "R1", "lines": [{"part": "WASHER", "amount": 1}]}, ["maker"]),
        ("receipts", {"supplier": "maker", "place": "Rl", "lines": [{"part": "WASHER", "amount": 1}]}, ["R1"]),
        ("suppliers/rnaker/parts", {"part": "WASHER"}, ["maker"]),
        ("counts", {"place": "R-1", "lines": []}, ["R1"]),
        ("engines/T4-00212/field-marks", {"field_modified": True, "reason": "stamp"}, ["T4-00211"]),
    ],
)
def test_an_act_on_what_is_not_there_names_what_is_near(rebuild, path, body, near):
    rebuild.booked()
    document = rebuild.manager.send(path, body).json()
    assert (document["code"], document["values"]["near"]) == ("not-found", near)
    assert document["detail"].endswith(f" Near: {', '.join(near)}.")


def test_every_line_that_is_carried_names_its_own_near_places(rebuild):
    quarantine("Q1")
    item = rebuild.item("WASHER")
    lines = [
        {"item": item, "amount": 1, "from_place": "R1", "to_place": code} for code in ("Ql", "R22", "nowhere at all")
    ]
    told = rebuild.manager.send("transfers", {"lines": lines, "note": "x"}).json()["lines"]
    assert [row["values"]["near"] for row in told] == [["Q1"], ["R2"], []]


def test_codes_that_cannot_be_near_to_anything_do_no_harm(rebuild):
    Place.objects.create(code="--", kind="shelf", real=True, site=Site.objects.get())
    document = rebuild.manager.read("places/R-l").json()
    assert (document["code"], document["values"]["near"]) == ("not-found", ["R1"])
    assert rebuild.manager.read("places/---").json()["values"]["near"] == []
