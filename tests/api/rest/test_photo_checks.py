"""A second person looks with a photo before bolts go over a bearing half, over HTTP."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.django_db

LOOK = {"what": "oil hole clear", "position": "MAIN-1/shells", "photo_ref": "photos/main-1.jpg"}
LOOKS, FITTINGS = "jobs/J-1/photo-checks", "jobs/J-1/fittings"


@pytest.fixture
def shell_in(rebuild):
    """The crank is out; the shell of main 1 is in, the rod bolts lie at the bench."""
    rebuild.booked(findings=[{"code": "crank-out", "place": "ENGINE"}]).held().picked().looked_at()
    received = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", received)
    fit(rebuild, shell(rebuild))
    return rebuild


def shell(rebuild):
    return {"position": "MAIN-1/shells", "item": rebuild.item("MAIN-SHELL")}


def bolt(rebuild):
    return {"position": "ROD-1/bolt-1", "item": rebuild.item("ROD-BOLT")}


def fit(rebuild, *fittings):
    body = {"fittings": fittings, "checker": rebuild.inspector.person.username}
    return rebuild.did(rebuild.technician, FITTINGS, body)


def stopped(rebuild, *fittings):
    """What is refused, and what it would close over."""
    body = {"fittings": fittings, "checker": rebuild.inspector.person.username}
    answer = rebuild.technician.send(FITTINGS, body)
    assert answer.status_code == 422
    return [(row["code"], row["values"].get("missing")) for row in answer.json()["lines"]]


def still_open(rebuild):
    rows = rebuild.manager.read("jobs/J-1/open-lines").json()["open"]
    return [row["position"] for row in rows if row["what"] == "photo check missing"]


def test_the_build_sheet_is_printed_with_what_went_in_and_what_was_not_looked_at(shell_in):
    page = shell_in.manager.get("/api/v1/jobs/J-1/build-sheet", {"format": "html"})
    assert (page.status_code, page["Content-Type"]) == (200, "text/html; charset=utf-8")
    text = page.content.decode()
    (row,) = [one for one in text.split("<tr>") if "MAIN-1/shells" in one]
    people = f"{shell_in.technician.person.username}; {shell_in.inspector.person.username}"
    assert "<strong>MAIN-SHELL</strong>" in row and people in row
    assert "Nothing on record." in text and "certifies nothing" in text
    shell_in.did(shell_in.inspector, LOOKS, {"looks": [LOOK]})
    seen = shell_in.manager.get("/api/v1/jobs/J-1/build-sheet", {"format": "html"}).content.decode()
    assert "MAIN-1/shells: oil hole clear, good" in seen and "Nothing on record." not in seen
    assert shell_in.manager.get("/api/v1/jobs/J-9/build-sheet", {"format": "html"}).status_code == 404


def test_bolts_wait_until_another_person_has_seen_the_half(shell_in):
    missing = ("photo-check-missing", ["oil hole clear at MAIN-1/shells"])
    assert stopped(shell_in, bolt(shell_in)) == [missing]
    assert still_open(shell_in) == ["MAIN-1/shells"]
    wrong = LOOK | {"good": False, "note": "the oil hole is covered"}
    said = shell_in.did(shell_in.inspector, LOOKS, {"looks": [wrong]})
    assert said["open"] == [{"what": "oil hole clear", "position": "MAIN-1/shells"}]
    assert stopped(shell_in, bolt(shell_in)) == [missing]
    assert shell_in.did(shell_in.inspector, LOOKS, {"looks": [LOOK]})["open"] == []
    assert still_open(shell_in) == []
    fit(shell_in, bolt(shell_in))
    sheet = shell_in.manager.read("jobs/J-1/build-sheet").json()["photo_checks"]
    assert [(row["photo_ref"], row["good"], row["note"], row["by"]) for row in sheet] == [
        ("photos/main-1.jpg", False, "the oil hole is covered", shell_in.inspector.person.username),
        ("photos/main-1.jpg", True, "", shell_in.inspector.person.username),
    ]


def test_a_half_that_was_fitted_anew_is_looked_at_anew(shell_in):
    shell_in.did(shell_in.inspector, LOOKS, {"looks": [LOOK]})
    shell_in.did(shell_in.technician, "jobs/J-1/removals", {"removals": [{"position": "MAIN-1/shells"}]})
    assert still_open(shell_in) == []
    again = stopped(shell_in, shell(shell_in), bolt(shell_in))
    assert ("photo-check-missing", ["oil hole clear at MAIN-1/shells"]) in again
    second = {"position": "MAIN-2/shells", "item": shell_in.item("MAIN-SHELL")}
    fit(shell_in, second)
    assert still_open(shell_in) == ["MAIN-2/shells"]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"photo_ref": ""}, "photo-missing"),
        ({"good": False}, "reason-missing"),
        ({"what": "looks nice"}, "check-item-unknown"),
        ({"position": "MAIN-2/shells"}, "position-empty"),
        ({"position": "MAIN-9/shells"}, "position-unknown"),
    ],
)
def test_a_look_that_is_none(shell_in, more, code):
    answer = shell_in.inspector.send(LOOKS, {"looks": [LOOK | more]})
    assert answer.status_code in (404, 409, 422)
    assert code in (answer.json()["code"], *(line["code"] for line in answer.json()["lines"]))
    assert still_open(shell_in) == ["MAIN-1/shells"]


def test_who_fitted_it_does_not_look_and_who_may_not_check_neither(shell_in):
    answer = shell_in.technician.send(LOOKS, {"looks": [LOOK]})
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (422, "same-person")
    answer = shell_in.storekeeper.send(LOOKS, {"looks": [LOOK]})
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
