"""Storage over HTTP: what suits a place, what is kept apart, the log of temperatures and its notes, the check at a count."""

from datetime import timedelta

import pytest
from django.utils import timezone

from inventory.domain.errors import ManyErrors
from inventory.models import Balance, Lot, Part, StorageCheck, StorageWord
from inventory.services.correct import correct
from inventory.services.storage import TemperatureIn, log_temperatures
from tests.factories.acts import held
from tests.factories.stores import (
    NOON,
    PartFactory,
    PersonFactory,
    SupplierFactory,
    cart,
    quarantine,
    shelf,
    stamp,
    stock,
)

pytestmark = pytest.mark.django_db
RUBBER = {"high": "25 °C"}


@pytest.fixture
def keeper(client_of):
    shelf("R1")
    shelf("R2")
    quarantine("Q1")
    SupplierFactory()
    PartFactory(number="ACID", kind="fluid", storage={"class": "corrosive", "group": "acid", "apart_from": ["base"]})
    PartFactory(number="BASE", kind="fluid", storage={"group": "base"})
    PartFactory(number="RING", kind="O-ring", storage=RUBBER)
    PartFactory(number="BOLT", kind="fastener")
    return client_of("storekeeper")


def did(client, path, body):
    answer = client.send(path, body)
    assert answer.status_code == 201, answer.content
    return answer.json()


def refused(client, path, body):
    answer = client.send(path, body)
    assert answer.status_code == 422, answer.content
    return answer.json()


def delivery(*parts, place="R1", **more):
    lines = [{"part": part, "amount": 4, "lot": "L-1"} for part in parts]
    return {"supplier": "maker", "place": place, "lines": lines} | more


def standing():
    rows = Balance.objects.filter(real=True, amount__gt=0).values_list("part__number", "place__code", "amount")
    return sorted(rows)


def test_what_does_not_suit_its_place_is_asked_about_and_a_word_is_kept(keeper):
    body = refused(keeper, "receipts", delivery("BOLT", "RING"))
    (line,) = body["lines"]
    assert (line["line"], line["code"], line["values"]["place"]) == (2, "storage-unsuitable", "R1")
    assert line["values"]["asked"] == ["it is stored not above 25 °C, and nobody said what the place keeps to"]
    assert standing() == []
    did(keeper, "places/R1/storage", {"high": "25.001 °C"})
    assert "the place reaches 25.001 °C" in refused(keeper, "receipts", delivery("RING"))["lines"][0]["detail"]
    did(keeper, "places/R1/storage", {"high": "25 °C", "classes": ["Dry"]})
    did(keeper, "receipts", delivery("RING", "BOLT"))
    assert StorageWord.objects.count() == 0
    # A spot has a word of its own.
    did(keeper, "places/R1/storage", {"high": "40 °C", "spot": "top"})
    item = Balance.objects.get(part__number="RING", real=True).item_id
    move = {"item": item, "amount": 1, "from_place": "R1", "to_place": "R1", "to_spot": "top"}
    assert refused(keeper, "transfers", {"lines": [move]})["lines"][0]["code"] == "storage-unsuitable"
    did(keeper, "transfers", {"lines": [move], "storage_word": "for an hour, while R1 is painted"})
    lot = keeper.read(f"lots/{Lot.objects.get(part__number='RING').pk}/storage").json()
    assert lot["needs"] == {"class": "", "low": "", "high": "25 °C", "group": "", "apart_from": []}
    assert [(one["spot"], one["word"]) for one in lot["words"]] == [("top", "for an hour, while R1 is painted")]
    assert lot["words"][0]["asked"] == ["it is stored not above 25 °C, the place reaches 40 °C"]
    assert lot["rule"].startswith("unhung and unstretched, dark, below 25 °C")
    offers = keeper.read("places/R1/storage").json()["offers"]
    assert [(one["spot"], one["high"], one["counts"]) for one in offers] == [
        ("top", "40 °C", True), ("", "25 °C", True), ("", "25.001 °C", False),
    ]  # fmt: skip


def test_what_is_kept_apart_does_not_come_to_lie_beside_it(keeper):
    did(keeper, "places/R1/storage", {"classes": ["corrosive"]})
    did(keeper, "receipts", delivery("ACID"))
    (line,) = refused(keeper, "receipts", delivery("BOLT", "BASE"))["lines"]
    assert line["values"]["asked"] == ["ACID lies there: base is kept apart from acid"]
    # Also in one delivery, where neither lay there before; another place takes it, and so does quarantine.
    did(keeper, "places/R2/storage", {"classes": ["corrosive"]})
    both = refused(keeper, "receipts", delivery("ACID", "BASE", place="R2"))["lines"]
    assert [one["line"] for one in both] == [2]
    did(keeper, "receipts", delivery("BASE", place="R2"))
    base = Balance.objects.get(part__number="BASE", place__code="R2").item_id
    move = {"item": base, "amount": 4, "from_place": "R2", "to_place": "R1"}
    assert refused(keeper, "transfers", {"lines": [move]})["lines"][0]["code"] == "storage-unsuitable"
    did(keeper, "transfers", {"lines": [move | {"to_place": "Q1"}], "note": "leaks"})


def test_what_was_not_used_is_asked_about_when_it_comes_back(rebuild):
    rebuild.at_bench()
    changed = rebuild.manager.send("parts/NEW-BOLT", {"storage": RUBBER}, method="PATCH", if_match='"1"')
    assert changed.status_code == 201, changed.content
    back = {"returns": [{"item": rebuild.item("NEW-BOLT"), "amount": 1, "bag_sealed": True}]}
    answer = rebuild.technician.send("jobs/J-1/returns", back)
    assert answer.json()["lines"][0]["code"] == "storage-unsuitable"
    rebuild.did(rebuild.technician, "jobs/J-1/returns", back | {"storage_word": "the shop is at 20 °C all winter"})


def at(hours):
    return (timezone.now() - timedelta(hours=hours)).isoformat()


def logged(client, *pairs, place="R1"):
    readings = [{"at": at(hours), "value": value, "thermometer": "T-1"} for hours, value in pairs]
    return did(client, f"places/{place}/temperatures", {"readings": readings})["readings"]


def test_a_warm_day_and_a_gap_are_noted_on_what_lay_there_and_stop_nothing(rebuild, client_of):
    keeper = client_of("storekeeper")
    Part.objects.filter(number="RING").update(storage=RUBBER)
    rings = Lot.objects.get(part__number="RING")
    made = logged(keeper, (70, "24 °C"), (50, "25 °C"), (40, "25.001 °C"), (20, "22 °C"), (1, "22 °C"))
    whereabouts = keeper.read(f"lots/{rings.pk}/whereabouts").json()
    assert [(one["what"], one["place"], one["readings"]) for one in whereabouts["storage_notes"]] == [
        ("outside", "R1", [made[2]["id"]])
    ]
    assert whereabouts["storage_notes"][0]["said"] == "R1: 25.001 °C was read, it is stored not above 25 °C"
    # Withdrawn, the note is gone; but nobody read for a day and a half around it.
    did(keeper, f"temperatures/{made[2]['id']}/withdrawals", {"reason": "it lay in the sun"})
    notes = keeper.read(f"lots/{rings.pk}/storage").json()["notes"]
    assert [(one["what"], one["readings"]) for one in notes] == [("gap", [made[1]["id"], made[3]["id"]])]
    again = keeper.send(f"temperatures/{made[2]['id']}/withdrawals", {"reason": "once more"})
    assert (again.status_code, again.json()["code"]) == (409, "withdrawn-already")
    log = keeper.read("places/R1/temperatures").json()["readings"]
    assert [one["withdrawn"] for one in log] == ["", "", "it lay in the sun", "", ""]
    # It is told with the list, of every lot that lay there, and stops nothing.
    rebuild.booked()
    told = rebuild.technician.read("jobs/J-1/list").json()["storage"]
    assert {one["part"] for one in told} == {"RING", "SHELL-STD"}
    assert {note["what"] for one in told for note in one["notes"]} == {"gap"}
    rebuild.held().picked()


def test_a_place_without_a_log_and_a_lot_that_came_later_have_no_notes(keeper):
    stock(PartFactory(number="HERE"), 4, lot="H", place=shelf("R1"))
    stock(PartFactory(number="ELSE"), 4, lot="E", place=shelf("R2"))
    logged(keeper, (10, "30 °C"), (1, "20 °C"))
    stock(PartFactory(number="LATE"), 4, lot="L", place=shelf("R1"), at=timezone.now())
    Part.objects.filter(number__in=["HERE", "ELSE", "LATE"]).update(storage=RUBBER)

    def notes(part):
        return [
            one["what"] for one in keeper.read(f"lots/{Lot.objects.get(part__number=part).pk}/storage").json()["notes"]
        ]

    assert [notes(part) for part in ("HERE", "ELSE", "LATE")] == [["outside"], [], []]


def test_readings_and_words_that_cannot_be_used(keeper):
    good = {"at": at(1), "value": "21 °C", "thermometer": "T-1"}
    for wrong, code in (
        ({"value": "21"}, "quantity-unreadable"),
        ({"value": "21 mm"}, "quantity-wrong-dimension"),
        ({"value": "-400 °C"}, "quantity-negative"),
        ({"at": at(-1)}, "storage-unusable"),
    ):
        answer = keeper.send("places/R1/temperatures", {"readings": [good, good | wrong]})
        assert (answer.status_code, answer.json()["lines"][0]["line"], answer.json()["lines"][0]["code"]) == (
            422,
            2,
            code,
        ), (wrong, answer.content)
    assert keeper.read("places/R1/temperatures").json()["readings"] == []
    cart("cart 1")
    for path, body, code in (
        ("places/R1/temperatures", {"readings": []}, "nothing-given"),
        ("places/cart 1/temperatures", {"readings": [good]}, "wrong-place"),
        ("places/cart 1/storage", {"high": "25 °C"}, "wrong-place"),
        ("places/R1/storage", {}, "nothing-given"),
        ("places/R1/storage", {"low": "26 °C", "high": "25 °C"}, "storage-unusable"),
    ):
        assert refused(keeper, path, body)["code"] == code
    for path in ("places/R9/storage", "places/R9/temperatures"):
        assert keeper.read(path).status_code == 404
    nameless = keeper.send("places/R1/temperatures", {"readings": [good | {"thermometer": " "}]})
    assert (nameless.status_code, nameless.json()["code"]) == (400, "fields-wrong")
    with pytest.raises(ManyErrors) as caught:
        readings = [TemperatureIn(NOON, "21 °C", " ")]
        log_temperatures(actor=PersonFactory(), stamp=stamp(), place="R1", readings=readings)
    assert [error.code for _, error in caught.value.errors] == ["storage-unusable"]
    assert keeper.send("temperatures/99/withdrawals", {"reason": "no"}).status_code == 404
    assert keeper.read("lots/9999/storage").status_code == 404


def test_a_count_asks_how_things_are_stored_and_sets_aside_what_stood_wrongly(keeper):
    gaskets = PartFactory(number="GASKET", kind="gasket")
    stock(gaskets, 5, lot="G", place=shelf("R1"))
    stock(PartFactory(number="SEAL", kind="lip seal"), 5, lot="S", place=shelf("R1"))
    stock(PartFactory(number="PIN"), 5, lot="P", place=shelf("R1"))
    lines = [{"part": part, "lot": lot, "counted": 5} for part, lot in (("GASKET", "G"), ("SEAL", "S"), ("PIN", "P"))]
    asked = refused(keeper, "counts", {"place": "R1", "lines": lines})
    assert (asked["code"], asked["values"]["kinds"]) == ("storage-unchecked", ["gasket", "lip seal"])
    assert "flat" in asked["values"]["rules"]["gasket"]
    said = {"place": "R1", "lines": lines, "looked_at": ["gasket", "lip seal"]}
    assert {one["set_aside"] for one in did(keeper, "counts", said)["lines"]} == {False}
    promised = held(Balance.objects.get(part=gaskets, real=True).item, cart("cart J1"), 2)
    wrong = [lines[0] | {"stored_wrongly": "on edge, bent"}, lines[1] | {"stored_wrongly": "hung on a nail"}, lines[2]]
    assert refused(keeper, "counts", said | {"lines": wrong})["code"] == "wrong-place"
    assert refused(keeper, "counts", said | {"lines": wrong, "quarantine": "R2"})["code"] == "wrong-place"
    body = did(keeper, "counts", said | {"lines": wrong, "quarantine": "Q1"})
    assert [(one["part"], one["set_aside"]) for one in body["lines"]] == [
        ("GASKET", True),
        ("SEAL", False),
        ("PIN", False),
    ]
    assert [(one["hold"], one["for"]) for one in body["shorts"]] == [(promised.pk, "cart J1")]
    assert standing() == [("GASKET", "Q1", 5), ("PIN", "R1", 5), ("SEAL", "R1", 5)]
    found = (
        StorageCheck.objects.exclude(wrong="").order_by("pk").values_list("item__part__number", "wrong", "set_aside")
    )
    assert list(found) == [("GASKET", "on edge, bent", True), ("SEAL", "hung on a nail", False)]
    # What has no rule has no check; in quarantine nothing is asked.
    assert (
        refused(keeper, "counts", said | {"lines": [lines[2] | {"stored_wrongly": "wet"}]})["code"]
        == "storage-unusable"
    )
    did(keeper, "counts", {"place": "Q1", "lines": [lines[0]]})


def test_a_count_that_is_taken_back_brings_it_back_to_its_shelf(keeper):
    stock(PartFactory(number="GASKET", kind="gasket"), 5, lot="G", place=shelf("R1"))
    line = {"part": "GASKET", "lot": "G", "counted": 5, "stored_wrongly": "on edge"}
    answer = keeper.send("counts", {"place": "R1", "lines": [line], "looked_at": ["gasket"], "quarantine": "Q1"})
    act = int(answer["Location"].rpartition("/")[2])
    correct(actor=PersonFactory(), stamp=stamp(timezone.now()), act_id=act, reason="the wrong shelf")
    assert standing() == [("GASKET", "R1", 5)]
    lot = keeper.read(f"lots/{Lot.objects.get(part__number='GASKET').pk}/storage").json()
    assert lot["checks"] == []
