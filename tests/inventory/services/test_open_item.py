"""Kits and boxes of sets opened: every content with its own lot, or marked as not known; the sums of before and after."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.models import Lot, MatchedSet, Movement
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.open_item import open_kit
from inventory.services.receive import SetLabel
from inventory.services.stops import stop_lot
from inventory.services.transfer import TransferLine, transfer
from tests.databases import rolled_back
from tests.factories.acts import done, ends, gone, held, item, picked, refused, standing
from tests.factories.stores import NOON, PartFactory, PersonFactory, bench, cart, quarantine, shelf, stamp, stock
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


def test_contents_come_out_with_the_lots_that_were_recorded():
    kit("K-1", {"R-1": 1, "R-2": 2})
    PartFactory(number="N-1", tracked_by="nothing")
    closed_kits("K-1", 5, lot="K-A", inner={"R-1": "B1", "R-2": "C1"})
    box = item("K-1", "lot=K-A")
    body = done(open_kit, item_id=box.pk, place="R1", amount=2)
    assert standing() == [
        ("K-1", "lot=K-A", "R1", 3),
        ("R-1", f"lot=B1|kit={box.pk}", "R1", 2),
        ("R-2", f"lot=C1|kit={box.pk}", "R1", 4),
    ]
    assert gone("conversion") == [
        ("K-1", "lot=K-A", 2),
        ("R-1", f"lot=B1|kit={box.pk}", -2),
        ("R-2", f"lot=C1|kit={box.pk}", -4),
    ]
    assert [(one["part"], one["lot"], one["amount"], one["usable"]) for one in body["contents"]] == [
        ("R-1", "B1", 2, "free"),
        ("R-2", "C1", 4, "free"),
    ]


def test_the_boxes_keep_the_revision_they_came_with():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-1": "B1"})
    kit("K-1", {"R-1": 3, "R-3": 1}, revision=2)
    body = done(open_kit, item_id=item("K-1", "lot=K-A").pk, place="R1")
    assert (body["revision"], [(one["part"], one["amount"]) for one in body["contents"]]) == (1, [("R-1", 1)])


def test_a_lot_first_seen_inside_a_kit_has_the_expiry_on_its_bag_or_else_the_kits():
    kit("K-1", {"R-1": 1, "R-2": 1, "R-3": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-3": "D1"}, printed_on=date(2027, 5, 1))
    assert Lot.objects.get(code="D1").expires_on is None
    body = done(
        open_kit,
        item_id=item("K-1", "lot=K-A").pk,
        place="R1",
        inner_lots={"R-1": "B1", "R-2": "C1"},
        expiries={"R-2": date(2029, 1, 1)},
    )
    assert {one["part"]: one["expires_on"] for one in body["contents"]} == {
        "R-1": "2027-05-01",
        "R-2": "2029-01-01",
        "R-3": "2027-05-01",
    }
    assert Lot.objects.get(code="D1").expires_on == date(2027, 5, 1)


def test_a_lot_that_is_known_keeps_its_own_expiry():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 1, lot="K-A", printed_on=date(2026, 1, 1))
    Lot.objects.create(
        part=things.parts_by_number(["R-1"])["R-1"],
        code="B1",
        compare_key="B1",
        expires_on=date(2030, 1, 1),
        expiry_rule="cure",
    )
    [ring] = done(open_kit, item_id=item("K-1", "lot=K-A").pk, place="R1", inner_lots={"R-1": "B1"})["contents"]
    assert ring["expires_on"] == "2030-01-01"


def test_an_unreadable_bag_is_never_given_the_kits_lot_and_stays_with_the_job():
    kit("K-1", {"R-1": 2})
    closed_kits("K-1", 2, lot="K-A")
    box = item("K-1", "lot=K-A")
    error = refused("inner-lot-missing", open_kit, item_id=box.pk, place="R1", inner_lots={"R-1": ""})
    assert error.values["parts"] == ["R-1"]
    picked(held(box, cart("cart J1")), 1)
    [ring] = done(open_kit, item_id=box.pk, place="cart J1")["contents"]
    assert (ring["lot"], ring["usable"], ring["place"]) == ("", "this job only", "cart J1")
    assert item("R-1", f"kit={box.pk}").lot is None
    quarantine("Q1")
    done(open_kit, item_id=box.pk, place="R1", to_place="Q1")
    assert standing() == [("R-1", f"kit={box.pk}", "Q1", 2), ("R-1", f"kit={box.pk}", "cart J1", 2)]


def test_a_bag_that_says_another_lot_is_a_named_conflict():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-1": "B1"})
    box = item("K-1", "lot=K-A")
    words = {"item_id": box.pk, "place": "R1", "inner_lots": {"R-1": "B2"}}
    error = refused("inner-lot-differs", open_kit, **words)
    assert (error.values["on_record"], error.values["read"]) == (["B1"], "B2")
    [ring] = done(open_kit, **words, reason="bag read by two people")["contents"]
    assert (ring["lot"], ring["record_said"]) == ("B2", ["B1"])


def test_a_bag_whose_lot_looks_like_one_on_record_is_asked_about():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-1": "B10"})
    closed_kits("K-1", 1, lot="K-B")
    words = {"item_id": item("K-1", "lot=K-B").pk, "place": "R1", "inner_lots": {"R-1": "B1O"}}
    error = refused("spelling-ambiguous", open_kit, **words)
    assert error.values["known"] == ["B10"]
    [ring] = done(open_kit, **words, others=["R-1"])["contents"]
    assert ring["lot"] == "B1O"


def test_a_kit_inside_a_kit_comes_out_closed_and_can_be_opened_next():
    kit("K-1", {"R-1": 2})
    kit("K-2", {"K-1": 3, "R-2": 1})
    closed_kits("K-2", 1, lot="K2-A", inner={"K-1": "K-A", "R-2": "C1"}, printed_on=date(2027, 5, 1))
    big = item("K-2", "lot=K2-A")
    done(open_kit, item_id=big.pk, place="R1")
    small = item("K-1", f"lot=K-A|kit={big.pk}")
    [ring] = done(open_kit, item_id=small.pk, place="R1", inner_lots={"R-1": "B1"})["contents"]
    assert (ring["amount"], ring["expires_on"]) == (2, "2027-05-01")
    assert standing() == [
        ("K-1", f"lot=K-A|kit={big.pk}", "R1", 2),
        ("R-1", f"lot=B1|kit={small.pk}", "R1", 2),
        ("R-2", f"lot=C1|kit={big.pk}", "R1", 1),
    ]


def a_box_of_sets():
    PartFactory(number="S-1", tracked_by="set", unit="SET")
    kit("B-1", {"S-1": 4}, tracked_by="serial")
    closed_kits("B-1", serial="BOX-1")
    return item("B-1", "serial=BOX-1")


def test_a_box_of_sets_gives_each_set_its_serial_and_label():
    box = a_box_of_sets()
    numbers = ["S-1", "S-2", "S-3", "S-4"]
    done(
        open_kit,
        item_id=box.pk,
        place="R1",
        serials={"S-1": numbers},
        set_labels={"S-3": SetLabel(weight_mg=416_000, weighed="with pin")},
    )
    assert standing() == [("S-1", f"serial={number}", "R1", 1) for number in numbers]
    assert list(MatchedSet.objects.order_by("serial__number").values_list("weight_mg", flat=True)) == [
        None,
        None,
        416_000,
        None,
    ]


@pytest.mark.parametrize("numbers", [[], ["a", "b", "c"], ["a", "b", "c", "c"], ["a", "b", "c", " "], list("abcde")])
def test_one_serial_for_each_set(numbers):
    box = a_box_of_sets()
    error = refused("serial-count", open_kit, item_id=box.pk, place="R1", serials={"S-1": numbers})
    assert error.values["needed"] == 4
    assert standing() == [("B-1", "serial=BOX-1", "R1", 1)]


def test_a_set_that_stands_elsewhere_does_not_come_out_of_a_box():
    box = a_box_of_sets()
    stock(things.parts_by_number(["S-1"])["S-1"], serial="b", place=shelf("R2"))
    error = refused("serial-elsewhere", open_kit, item_id=box.pk, place="R1", serials={"S-1": list("abcd")})
    assert error.values["place"] == "R2"


def test_opening_what_is_held_ends_the_hold_with_a_short():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 2, lot="K-A", inner={"R-1": "B1"})
    box = item("K-1", "lot=K-A")
    hold = held(box, cart("cart J1"), 2)
    [short] = done(open_kit, item_id=box.pk, place="R1")["shorts"]
    assert ends() == [(hold.pk, "made impossible")]
    assert (short["for"], short["amount"]) == ("cart J1", 2)


def test_what_cannot_be_opened():
    kit("K-1", {"R-1": 1})
    closed_kits("K-1", 1, lot="K-A", inner={"R-1": "B1"})
    box = item("K-1", "lot=K-A")
    stock(things.parts_by_number(["R-1"])["R-1"], lot="B1")
    bench("bench 1")
    before = standing()
    refused("not-a-kit", open_kit, item_id=item("R-1", "lot=B1").pk, place="R1")
    refused("not-in-kit", open_kit, item_id=box.pk, place="R1", inner_lots={"R-9": "B1"})
    refused("not-there", open_kit, item_id=box.pk, place="R1", amount=2)
    refused("not-there", open_kit, item_id=box.pk, place="bench 1")
    refused("wrong-place", open_kit, item_id=box.pk, place="R1", to_place="bench 1")
    refused("amount-not-positive", open_kit, item_id=box.pk, place="R1", amount=0)
    refused("not-found", open_kit, item_id=0, place="R1")
    assert standing() == before


def test_an_opening_by_mistake_is_taken_back_while_the_contents_lie_there():
    kit("K-1", {"R-1": 2})
    closed_kits("K-1", 2, lot="K-A", inner={"R-1": "B1"})
    box = item("K-1", "lot=K-A")
    opening = open_kit(actor=PersonFactory(), stamp=stamp(), item_id=box.pk, place="R1")
    done(correct, act_id=opening.act_id, reason="wrong box", stamp=stamp(NOON + timedelta(hours=1)))
    assert standing() == [("K-1", "lot=K-A", "R1", 2)]
    again = open_kit(actor=PersonFactory(), stamp=stamp(), item_id=box.pk, place="R1")
    shelf("R2")
    loose = item("R-1", f"lot=B1|kit={box.pk}")
    done(transfer, lines=[TransferLine(loose.pk, 1, "R1", "R2")])
    refused("not-there", correct, act_id=again.act_id, reason="wrong box")


@settings(max_examples=12)
@given(st.lists(st.tuples(st.integers(1, 4), st.booleans()), min_size=1, max_size=5), st.data())
def test_what_went_in_is_what_came_out_however_kits_are_opened_and_counted(contents, data):
    with rolled_back():
        kit("K-1", {f"R-{index}": amount for index, (amount, _) in enumerate(contents)})
        inner = {f"R-{index}": f"L{index}" for index, (_, recorded) in enumerate(contents) if recorded}
        closed_kits("K-1", 4, lot="K-A", inner=inner)
        quarantine("Q1")
        box = item("K-1", "lot=K-A")
        boxes = data.draw(st.integers(1, 4))
        body = done(open_kit, item_id=box.pk, place="R1", to_place="Q1", amount=boxes)
        assert {one["part"]: one["amount"] for one in body["contents"]} == {
            f"R-{index}": amount * boxes for index, (amount, _) in enumerate(contents)
        }
        assert {one["part"] for one in body["contents"] if one["usable"] == "free"} == set(inner)
        lost = body["contents"][0]
        done(count, place="Q1", lines=[CountLine(0, item_id=lost["item"])], reason="thrown away")
        moved = Movement.objects.filter(item_id=lost["item"]).values_list("amount", flat=True)
        assert list(moved) == [lost["amount"], lost["amount"]]


def test_what_is_stopped_itself_is_said_to_be_when_its_kit_is_opened():
    """The lot of one bag was stopped while the box was closed: the box may be opened, and that bag is not free."""
    kit("K-1", {"A-1": 2, "B-1": 1})
    closed_kits("K-1", 1, lot="KL", inner={"A-1": "A7", "B-1": "B7"})
    done(stop_lot, lot_id=Lot.objects.get(code="A7").pk, reason="leaks")
    box = item("K-1", "lot=KL")
    contents = done(open_kit, item_id=box.pk, place="R1")["contents"]
    assert {one["part"]: one["usable"] for one in contents} == {"A-1": "stopped", "B-1": "free"}
