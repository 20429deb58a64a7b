"""What a scanned text is, and picking by whole labels, over HTTP."""

import pytest

from inventory.models import Lot, Part, Supplier, SupplierPart

pytestmark = pytest.mark.django_db
GTIN = "04012345987652"  # gs1/EPCIS Digital Link example
GS = "\x1d"


def sold_as(part, number):
    supplier, _ = Supplier.objects.get_or_create(code="ELM", defaults={"name": "Elm"})
    SupplierPart.objects.create(supplier=supplier, part=Part.objects.get(number=part), number=number)


def scanned(rebuild, text):
    answer = rebuild.technician.read("scans", text=text)
    assert answer.status_code == 200, answer.content
    return answer.json()


def found(rebuild, text):
    return [(one["what"], one["code"], one["part"]) for one in scanned(rebuild, text)["found"]]


def test_plain_numbers_are_looked_up_everywhere(rebuild):
    rebuild.booked()
    lot = Lot.objects.get(code="RING/1")
    assert found(rebuild, "ring") == [("part", "RING", "RING")]
    assert found(rebuild, "RING/1") == [("lot", "RING/1", "RING")]
    assert scanned(rebuild, "RING/1")["found"][0]["address"] == f"lots/{lot.pk}"
    assert found(rebuild, "s 1") == [("matched set", "S-1", "SET")]
    assert found(rebuild, "R1") == [("place", "R1", "")]
    assert found(rebuild, "J-1") == [("job", "J-1", "")]
    assert found(rebuild, "T4-00211") == [("engine", "T4-00211", "")]
    # Every answer leads to what it is.
    for text in ("ring", "RING/1", "s 1", "R1", "J-1", "T4-00211"):
        for one in scanned(rebuild, text)["found"]:
            assert rebuild.manager.read(one["address"]).status_code == 200, one


def test_what_is_not_there_is_said_with_what_is_near_and_nothing_is_guessed(rebuild):
    body = scanned(rebuild, "R1NG")
    assert (body["found"], body["near"]) == ([], [{"what": "part", "code": "RING"}])
    assert scanned(rebuild, "XYZZY-9999")["near"] == []


def test_the_same_code_may_be_of_two_things(rebuild):
    Lot.objects.create(part=Part.objects.get(number="SHELL-STD"), code="RING/1", compare_key="RING1")
    assert found(rebuild, "RING/1") == [("lot", "RING/1", "RING"), ("lot", "RING/1", "SHELL-STD")]
    assert found(rebuild, f"[)>\x1e06{GS}1PSHELL-STD{GS}1TRING/1\x1e\x04") == [("lot", "RING/1", "SHELL-STD")]


def test_a_gs1_label_with_and_without_fnc1(rebuild):
    sold_as("RING", GTIN)
    for text in (f"]C101{GTIN}10RING/1", f"(01){GTIN}(10)RING/1", f"01{GTIN}10RING/1", f"{GS}01{GTIN}10RING/1"):
        body = scanned(rebuild, text)
        assert [(one["what"], one["part"]) for one in body["found"]] == [("lot", "RING")]
        assert (body["form"], body["says"], body["unknown"]) == ("gs1", {"gtin": GTIN, "lot": "RING/1"}, [])
    # The GTIN alone, as a shop's till would read it, with and without its leading zero.
    assert found(rebuild, GTIN) == found(rebuild, GTIN[1:]) == [("part", "RING", "RING")]


def test_what_of_a_label_is_not_on_record_is_named(rebuild):
    sold_as("RING", GTIN)
    body = scanned(rebuild, f"]C101{GTIN}10NEW-LOT")
    assert ([one["what"] for one in body["found"]], body["unknown"]) == (["part"], ["lot"])
    body = scanned(rebuild, "]C1010401234512345610RING/1")
    assert ([one["what"] for one in body["found"]], body["unknown"]) == (["lot"], ["gtin"])


@pytest.mark.parametrize(
    ("text", "status", "code"),
    [
        ("]C10104012345987653", 422, "check-digit-wrong"),
        (f"01{GTIN}10LOT2117251231", 422, "label-ambiguous"),
        ("[)>", 422, "label-unreadable"),
        (" ", 400, "parameter-wrong"),
        ("9" * 201, 400, "parameter-wrong"),
        (None, 400, "parameter-wrong"),
    ],
)
def test_a_misread_label_is_refused(rebuild, text, status, code):
    answer = rebuild.technician.read("scans", **({} if text is None else {"text": text}))
    assert (answer.status_code, answer.json()["code"]) == (status, code)


@pytest.fixture
def held(rebuild):
    sold_as("RING", GTIN)
    sold_as("WASHER", "W/77")
    return rebuild.booked().held()


def pick(held, part, scanned):
    hold = next(one for one in held.said["held"]["held"] if one["part"] == part)
    path = f"pick-lists/{held.said['held']['pick_list']}/picks"
    return held.storekeeper.send(path, {"scans": [{"hold": hold["hold"], "scanned": scanned}]})


@pytest.mark.parametrize(
    ("part", "text"),
    [
        ("RING", f"]C101{GTIN}10RING/1"),
        ("RING", f"{GS}10RING/1{GS}01{GTIN}"),
        ("RING", f"01{GTIN}10RING/1"),
        ("RING", f"[)>\x1e06{GS}PRING{GS}1TRING/1{GS}Q1\x1e\x04"),
        ("RING", "1TRING/1"),
        ("SET", f"[)>\x1e06{GS}PSET{GS}SS-1\x1e\x04"),
        ("WASHER", "1PW/77"),
    ],
)
def test_a_line_is_picked_by_the_whole_label(held, part, text):
    answer = pick(held, part, text)
    assert answer.status_code == 201, answer.content
    assert [one["part"] for one in answer.json()["picked"]] == [part]


@pytest.mark.parametrize(
    ("part", "text", "code"),
    [
        ("RING", f"]C101{GTIN}10RING/2", "wrong-scan"),
        ("RING", f"]C101{GTIN}", "wrong-scan"),
        ("SHELL-STD", f"]C101{GTIN}10SHELL-STD/1", "wrong-scan"),
        ("RING", "]C1010401234598765310RING/1", "check-digit-wrong"),
        ("RING", "[)>RING/1", "label-unreadable"),
        ("WASHER", "1PW/78", "wrong-scan"),
        ("WASHER", "1TWASHER", "wrong-scan"),
        ("SET", f"[)>\x1e06{GS}PRING{GS}SS-1\x1e\x04", "wrong-scan"),
    ],
)
def test_a_label_of_something_else_stops_the_line(held, part, text, code):
    answer = pick(held, part, text)
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (422, code)
