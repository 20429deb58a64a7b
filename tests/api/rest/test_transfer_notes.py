"""`transfer-notes` over HTTP: sent, printed, signed for, explained, reminded of; and another site's stock as a way out of a short."""

import pytest

from inventory.models import Part
from tests.api.rest.clients import ShopClient
from tests.factories.stores import PartFactory, shelf, stock
from tests.factories.vans import Road, person, road

pytestmark = pytest.mark.django_db


#: Who it is, the count, the page, its lines, takings, how far they are (three), what is stopped.
QUERIES = 8


@pytest.fixture
def way() -> Road:
    return road()


def note_body(way: Road, **more):
    line = {"item": way.ring.pk, "amount": "4 EA", "from_place": "R1", "for_job": "J-9"}
    return {"van": "VAN", "to_site": "QUAY", "driver": "lio", "remark": "16:00 van", "lines": [line]} | more


def test_a_note_rides_is_signed_for_by_another_and_what_is_missing_stays_on_the_reminders_until_it_is_explained(way):
    piet, cass = ShopClient(way.sender), ShopClient(way.receiver)
    boss = ShopClient(person("maren", "TS", "parts manager"))
    sent = piet.send("transfer-notes", note_body(way))
    assert sent.status_code == 201
    number = sent.json()["note"]
    taking = {"lines": [{"line": 1, "amount": "3 EA", "to_place": "Y1"}]}
    assert piet.send(f"transfer-notes/{number}/receipts", taking).json()["code"] == "second-person-needed"
    taken = cass.send(f"transfer-notes/{number}/receipts", taking)
    assert (taken.status_code, taken.json()["differences"]) == (201, ["line 1: 1 of 4 R-1, lot B1 did not come"])
    [listed] = cass.read("transfer-notes?state=in%20transit,%20unexplained").json()["results"]
    assert (listed["note"], listed["lines"][0]["in_transit"], listed["lines"][0]["shown"]) == (number, 1, "4 EA")
    assert cass.read("transfer-notes?state=done").json()["results"] == []
    [open_now] = boss.read("reminders?on=2030-01-01").json()["reminders"]
    assert (open_now["job"], open_now["kind"], open_now["number"]) == ("J-9", "in transit, unexplained", number)
    said = {"line": 1, "how": "found later", "amount": 1, "reason": "under the seat", "place": "Y1"}
    assert cass.send(f"transfer-notes/{number}/explanations", said).json()["code"] == "not-allowed"
    nowhere = boss.send(f"transfer-notes/{number}/explanations", said | {"place": ""}).json()
    assert (nowhere["code"], nowhere["detail"]) == ("not-found", "No place is named.")
    answer = boss.send(f"transfer-notes/{number}/explanations", said)
    assert (answer.status_code, answer.json()["in_transit"]) == (201, 0)
    assert boss.read("reminders?on=2030-01-01").json()["reminders"] == []
    assert boss.read(f"transfer-notes/{number}").json()["state"] == "done"
    assert boss.read("transfer-notes/99999").json()["code"] == "not-found"


def test_the_sheet_that_rides_along_has_every_line_with_its_lot_and_a_place_for_three_signatures(way):
    stock(PartFactory(number="S-1", name="<set>", tracked_by="set", unit="SET"), serial="S-7", place=shelf("R1"))
    its = Part.objects.get(number="S-1").items.get().pk
    lines = [*note_body(way)["lines"], {"item": its, "amount": 1, "from_place": "R1"}]
    number = ShopClient(way.sender).send("transfer-notes", note_body(way, lines=lines)).json()["note"]
    page = ShopClient(way.sender).read(f"transfer-notes/{number}?format=html").content.decode()
    assert page.count("<tr>") == 3
    for words in ("TS to QUAY", "driver lio", "16:00 van", "for job J-9", "<td>B1</td>", "<td>S-7</td>", "&lt;set&gt;"):
        assert words in page, words
    assert [f"<p>{who}, day</p>" in page for who in ("sent by", "driver", "received by")] == [True] * 3


@pytest.mark.parametrize("count", [1, 3])
def test_notes_are_read_by_as_many_queries_whatever_there_is(way, count, django_assert_num_queries):
    client = ShopClient(way.sender)
    for _ in range(count):
        assert (
            client.send(
                "transfer-notes", note_body(way, lines=[{"item": way.ring.pk, "amount": 1, "from_place": "R1"}] * 2)
            ).status_code
            == 201
        )
    assert len(client.read("transfer-notes").json()["results"]) == count
    with django_assert_num_queries(QUERIES):
        client.read("transfer-notes")
