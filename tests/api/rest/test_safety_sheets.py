"""Safety data sheets over HTTP: without its sheet a chemical is received and not issued, and nobody gets it who has not read it."""

import pytest

from inventory.models import Part
from tests.api.contract.shops import SAFETY_SHEET
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient
from tests.factories.stores import PartFactory, PersonFactory, shelf, stock

pytestmark = pytest.mark.django_db


def code(answer):
    return answer.status_code, answer.json()["code"]


def test_a_chemical_is_received_and_not_issued_until_its_sheet_is_there_and_read(rebuild):
    cleaner = PartFactory(number="CLEANER", kind="fluid")
    stock(cleaner, 3, lot="C/1", place=shelf("R1"))
    chemicals = {row["part"]: row["sheet"] for row in rebuild.manager.read("safety-sheets").json()["chemicals"]}
    assert (sorted(chemicals), chemicals["CLEANER"]) == (["CLEANER", "OIL", "SEALANT"], None)
    rebuild.booked()
    held = rebuild.did(
        rebuild.technician, "jobs/J-1/extras", {"part": "CLEANER", "amount": 1, "reason": "found after strip"}
    )
    scans = {"scans": [{"hold": held["held"][0]["hold"], "scanned": "C/1"}]}
    picks, handovers = (f"pick-lists/{held['pick_list']}/{name}" for name in ("picks", "handovers"))
    assert code(rebuild.storekeeper.send(picks, scans)) == (422, "safety-sheet-missing")
    rebuild.did(rebuild.manager, "parts/CLEANER/safety-sheets", SAFETY_SHEET)
    rebuild.did(rebuild.storekeeper, picks, scans)

    reader = rebuild.technician
    named = {"received_by": reader.person.username}
    unread = rebuild.storekeeper.send(handovers, named)
    assert code(unread) == (422, "safety-sheet-unread")
    assert unread.json()["values"] == {"person": reader.person.username, "parts": ["CLEANER"]}
    signed = rebuild.did(reader, "safety-sheet-readings", {"parts": ["CLEANER", "OIL"]})
    assert signed == {
        "person": reader.person.username, "signed": [{"part": "CLEANER", "revision": 1}], "before": ["OIL"],
    }  # fmt: skip
    # A newer sheet is read anew.
    rebuild.did(rebuild.manager, "parts/CLEANER/safety-sheets", SAFETY_SHEET | {"issued_on": "2024-12-02"})
    assert code(rebuild.storekeeper.send(handovers, named)) == (422, "safety-sheet-unread")
    rebuild.did(reader, "safety-sheet-readings", {"parts": ["CLEANER"]})
    moved = rebuild.did(rebuild.storekeeper, handovers, named)["moved"]
    assert [one["part"] for one in moved] == ["CLEANER"]
    kept = rebuild.manager.read("parts/CLEANER/safety-sheets").json()["sheets"]
    assert [(row["revision"], row["issued_on"], [one["person"] for one in row["read_by"]]) for row in kept] == [
        (2, "2024-12-02", [reader.person.username]), (1, "2024-03-11", [reader.person.username]),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("part", "more", "status", "expected"),
    [
        ("NOTHING", {}, 404, "not-found"),
        ("WASHER", {}, 422, "safety-sheet-unusable"),
        ("OIL", {"link": " "}, 400, "fields-wrong"),
        ("OIL", {"issued_on": "2099-01-01"}, 422, "safety-sheet-unusable"),
        ("OIL", {"issued_on": "2020-01-01"}, 422, "safety-sheet-unusable"),
    ],
)
def test_a_record_of_a_sheet_that_cannot_be_used(rebuild, part, more, status, expected):
    before = rebuild.manager.read("parts/OIL/safety-sheets").json()
    assert code(rebuild.manager.send(f"parts/{part}/safety-sheets", SAFETY_SHEET | more)) == (status, expected)
    assert rebuild.manager.read("parts/OIL/safety-sheets").json() == before


def test_what_cannot_be_signed(rebuild):
    for parts, status, expected in (
        ([], 422, "nothing-given"),
        (["NOTHING"], 404, "not-found"),
        (["WASHER"], 422, "safety-sheet-missing"),
        (["OIL", "SEALANT"], 422, "nothing-changed"),
    ):
        assert code(rebuild.technician.send("safety-sheet-readings", {"parts": parts})) == (status, expected)
    clerk = DescribedClient(somebody("warranty clerk"))
    assert code(clerk.send("safety-sheet-readings", {"parts": ["OIL"]})) == (403, "not-allowed")
    assert code(DescribedClient(PersonFactory()).send("safety-sheet-readings", {"parts": ["OIL"]})) == (
        403,
        "not-allowed",
    )


def test_the_list_says_before_picking_whose_sheet_is_missing_or_not_read(rebuild):
    rebuild.booked()

    def warned(client):
        return [(row["part"], row["why"]) for row in client.read("jobs/J-1/list").json()["safety_sheets"]]

    unread = "you have not signed sheet 1 as read: whoever takes the cart has to"
    assert warned(rebuild.technician) == []
    assert warned(rebuild.storekeeper) == [("OIL", unread), ("SEALANT", unread)]
    Part.objects.filter(number="WASHER").update(kind="lubricant")
    missing = ("WASHER", "no safety data sheet is on record: it is held, and not picked")
    assert warned(rebuild.technician) == [missing]
    rebuild.did(rebuild.manager, "parts/WASHER/safety-sheets", SAFETY_SHEET)
    assert warned(rebuild.technician) == [("WASHER", unread)]
    rebuild.did(rebuild.storekeeper, "safety-sheet-readings", {"parts": ["OIL", "SEALANT", "WASHER"]})
    assert warned(rebuild.storekeeper) == []
