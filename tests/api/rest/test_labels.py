"""Lots and serials however they are spelled, and receipts that were wrong put right. Worked examples of the demo shop (invented)."""

import pytest

from inventory.models import Hold, Lot, LotDates, MatchedSet, Serial, SetLabelling, Short
from tests.factories.acts import held, item
from tests.factories.stores import PartFactory, SupplierFactory, cart, quarantine, shelf

pytestmark = pytest.mark.django_db

LIFE = {"from": "cure", "years": 7}
SPELLINGS = ["SB-2341", "sb-2341", "SB 2341", "SB2341"]


@pytest.fixture
def stores(client_of, manager):
    """The manager's client in a shop with a ring, a gasket with a life from making, and a matched set."""
    PartFactory(number="A-111", life=LIFE)
    PartFactory(number="G-701", life={"from": "making", "years": 2})
    PartFactory(number="S-100", tracked_by="set", unit="SET")
    SupplierFactory(code="maker")
    shelf("R1")
    quarantine("Q1")
    return manager


def receive(client, part, expect=201, amount=5, aside="", **more):
    line = {"part": part, "amount": amount, **more}
    answer = client.send("receipts", {"supplier": "maker", "place": "R1", "quarantine": aside, "lines": [line]})
    assert answer.status_code == expect, answer.content
    return answer.json()


def receipt(client, part, **more):
    made = receive(client, part, **more)
    return made["receipt"], made["lines"][0]


def take_back(client, act):
    answer = client.send(f"acts/{act}/corrections", {"reason": "the label was misread"})
    assert answer.status_code == 201, answer.content


def test_one_lot_in_four_spellings_is_one_lot_and_a_stop_leaves_nothing_free(stores):
    said = [receive(stores, "A-111", lot=lot, cure_code="3Q24")["lines"][0] for lot in SPELLINGS]
    assert [(one["lot"], one["read_as"]) for one in said] == [("SB-2341", lot) for lot in SPELLINGS]
    lot = Lot.objects.get()
    assert stores.send(f"lots/{lot.pk}/stops", {"reason": "leaks reported"}).status_code == 201
    assert stores.read(f"lots/{lot.pk}/whereabouts").json()["sum"]["loose"] == 20
    (row,) = stores.rows("lots?part=A-111")
    assert (row["code"], row["stopped"]) == ("SB-2341", True)
    for text in SPELLINGS:
        assert [one["code"] for one in stores.read(f"scans?text={text}").json()["found"]] == ["SB-2341"]


def test_a_lot_that_is_another_is_kept_apart_and_both_are_shown(stores):
    receive(stores, "A-111", lot="SB-2341", cure_code="3Q24")
    receive(stores, "A-111", lot="SB 2341", cure_code="3Q21", another_lot=True)
    assert sorted(Lot.objects.values_list("code", flat=True)) == ["SB 2341", "SB-2341"]
    one = stores.read(f"lots/{Lot.objects.get(code='SB 2341').pk}").json()
    assert [other["lot"] for other in one["spelled_alike"]] == ["SB-2341"]
    # From now on a third spelling is a question, and each of the two is itself.
    assert receive(stores, "A-111", 422, lot="sb2341", cure_code="3Q24")["code"] == "spelling-ambiguous"
    assert receive(stores, "A-111", lot="SB 2341", cure_code="3Q21")["lines"][0]["lot"] == "SB 2341"


def test_a_set_is_there_once_however_its_serial_is_written(stores):
    receive(stores, "S-100", amount=1, serial="S-0441", set_label={"weight_mg": 416_000, "weighed": "with pin"})
    answer = receive(stores, "S-100", 409, amount=1, serial="s 0441")
    assert (answer["code"], answer["lines"][0]["values"]["known"]) == ("serial-elsewhere", "S-0441")
    both = [{"part": "S-100", "amount": 1, "serial": serial} for serial in ("S-0500", "s0500")]
    twice = stores.send("receipts", {"supplier": "maker", "place": "R1", "lines": both})
    assert twice.json()["code"] == "serial-elsewhere"
    receive(stores, "S-100", amount=1, serial="s 0441", another_serial=True)
    assert sorted(Serial.objects.values_list("number", flat=True)) == ["S-0441", "s 0441"]


def test_the_label_of_a_set_that_was_taken_back_is_read_anew(stores):
    act, _ = receipt(
        stores, "S-100", amount=1, serial="S-0441", set_label={"weight_mg": 461_000, "weighed": "with pin"}
    )
    take_back(stores, act)
    receive(stores, "S-100", amount=1, serial="S-0441", set_label={"weight_mg": 416_000, "weighed": "with pin"})
    said = stores.read("matched-sets/S-0441").json()
    assert (said["weight_mg"], said["weighed"]) == (416_000, "with pin")
    rows = SetLabelling.objects.order_by("pk").values_list("before", "weight_mg")
    assert list(rows) == [(True, 461_000), (False, 416_000)]


def test_the_label_of_a_standing_set_is_put_right_by_an_act_that_keeps_both(stores, client_of):
    receive(
        stores,
        "S-100",
        amount=1,
        serial="S-0441",
        set_label={"weight_mg": 461_000, "weighed": "with pin", "grade": "A"},
    )
    bare = {"set_label": {"weight_mg": 416_000}, "reason": "read again"}
    assert stores.send("matched-sets/S-0441/labels", bare).json()["code"] == "weight-unsaid"
    answer = receive(
        stores, "S-100", 422, amount=1, serial="S-0442", set_label={"weight_mg": 416_000, "weighed": "heavy"}
    )
    assert answer["lines"][0]["code"] == "weight-unsaid"
    body = {
        "set_label": {"weight_mg": 416_000, "weighed": "with pin", "grade": "A"},
        "reason": "read again by two people",
    }
    assert client_of("storekeeper").send("matched-sets/S-0441/labels", body).json()["code"] == "not-allowed"
    made = stores.send("matched-sets/s0441/labels", body)
    assert (made.status_code, made.json()["before"]["weight_mg"], made.json()["after"]["weight_mg"]) == (
        201,
        461_000,
        416_000,
    )
    assert stores.send("matched-sets/S-0441/labels", body).json()["code"] == "dates-the-same"
    said = stores.read("matched-sets/S-0441").json()
    assert (said["weight_mg"], [one["weight_mg"] for one in said["labels"]]) == (416_000, [461_000, 416_000])
    assert said["labels"][1]["reason"] == "read again by two people"
    assert MatchedSet.objects.get().grade == "A"


def test_a_ring_that_was_taken_back_is_dated_anew(stores):
    act, _ = receipt(stores, "A-111", lot="B1", cure_code="3Q24")
    assert receive(stores, "A-111", 409, lot="B1", cure_code="3Q21")["code"] == "lot-differs"
    take_back(stores, act)
    line = receive(stores, "A-111", lot="B1", cure_code="3Q21")["lines"][0]
    # Group B of ISO 2230: 7 years, counted here from the first day of the quarter. From memory.
    assert line["expires_on"] == "2028-07-01"
    # The same quarter in another way of writing it is no other quarter.
    receive(stores, "A-111", lot="b1", cure_code="3Q2021")
    assert list(LotDates.objects.order_by("pk").values_list("before", "cure_code")) == [(True, "3Q24"), (False, "3Q21")]


def test_two_bags_of_one_delivery_cannot_date_one_lot_twice(stores):
    act, _ = receipt(stores, "A-111", lot="B1", cure_code="3Q24")
    take_back(stores, act)
    lines = [{"part": "A-111", "amount": 1, "lot": "B1", "cure_code": code} for code in ("3Q22", "3Q21")]
    answer = stores.send("receipts", {"supplier": "maker", "place": "R1", "lines": lines})
    assert (answer.status_code, answer.json()["code"]) == (409, "lot-differs")
    assert Lot.objects.get().cure_code == "3Q24"


@pytest.mark.parametrize("name", ["made_on", "printed_on"])
def test_another_day_on_a_standing_lot_is_refused(stores, name):
    receive(stores, "G-701", aside="Q1", lot="G1", **{name: "2024-12-01"})
    answer = receive(stores, "G-701", 409, lot="G1", **{name: "2023-12-01"})
    assert (answer["code"], answer["values"]["known"], answer["values"]["given"]) == (
        "lot-differs",
        "2024-12-01",
        "2023-12-01",
    )
    receive(stores, "G-701", aside="Q1", lot="G1", **{name: "2024-12-01"})


def test_the_dates_of_a_standing_lot_are_put_right_and_holds_that_it_ends_are_named(stores, client_of):
    receive(stores, "A-111", lot="B1", cure_code="3Q24")
    ring = item("A-111", "lot=B1")
    held(ring, cart("cart J1"), 2)
    lot, body = Lot.objects.get(), {"cure_code": "4Q14", "reason": "read by two people"}
    assert client_of("storekeeper").send(f"lots/{lot.pk}/dates", body).json()["code"] == "not-allowed"
    assert stores.send(f"lots/{lot.pk}/dates", body | {"reason": " "}).status_code == 400
    assert stores.send(f"lots/{lot.pk}/dates", {"reason": "no date is there"}).json()["code"] == "undated"
    assert stores.send(f"lots/{lot.pk + 1}/dates", body).json()["code"] == "not-found"
    made = stores.send(f"lots/{lot.pk}/dates", body)
    assert made.status_code == 201, made.content
    # 7 years from 1 October 2014.
    assert (made.json()["before"]["expires_on"], made.json()["after"]["expires_on"]) == ("2031-07-01", "2021-10-01")
    assert [(one["part"], one["amount"]) for one in made.json()["shorts"]] == [("A-111", 2)]
    assert (Hold.objects.get().end.how, Short.objects.get().amount) == ("made impossible", 2)
    assert [row["cure_code"] for row in stores.read(f"lots/{lot.pk}").json()["dates"]] == ["3Q24", "4Q14"]
    assert stores.send(f"lots/{lot.pk}/dates", body).json()["code"] == "dates-the-same"


def test_a_day_put_right_that_still_serves_ends_no_hold(stores):
    receive(stores, "A-111", lot="B1", cure_code="3Q24")
    held(item("A-111", "lot=B1"), cart("cart J1"), 2)
    made = stores.send(f"lots/{Lot.objects.get().pk}/dates", {"cure_code": "3Q22", "reason": "read by two people"})
    assert (made.json()["after"]["expires_on"], made.json()["shorts"]) == ("2029-07-01", [])
    assert not hasattr(Hold.objects.get(), "end")


def test_a_lot_without_dates_takes_those_of_its_first_dated_delivery(stores):
    part = PartFactory(number="G-5", life={"from": "making", "years": 2})
    lot = Lot.objects.create(part=part, code="G-5", compare_key="G5", expiry_rule="found in an engine")
    line = receive(stores, "G-5", aside="Q1", lot="g5", made_on="2015-03-01")["lines"][0]
    assert (line["lot"], line["expires_on"]) == ("G-5", "2017-03-01")
    lot.refresh_from_db()
    assert (lot.made_on.isoformat(), lot.expires_on.isoformat()) == ("2015-03-01", "2017-03-01")
    # And nothing undated lies on a shelf.
    assert receive(stores, "G-5", 422, lot="G-6")["code"] == "undated"


def test_holds_of_an_undated_lot_are_judged_by_the_dates_that_come(stores):
    part = PartFactory(number="N-1")
    receive(stores, "N-1", lot="L1")
    held(item("N-1", "lot=L1"), cart("cart J1"), 2)
    made = receive(stores, "N-1", aside="Q1", lot="L1", printed_on="2025-01-10")
    assert (made["lines"][0]["place"], made["lines"][0]["why"]) == ("Q1", "past its day")
    assert [(one["part"], one["amount"]) for one in made["shorts"]] == [("N-1", 2)]
    assert Lot.objects.get(part=part).expires_on.isoformat() == "2025-01-10"
