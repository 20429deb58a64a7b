"""Orders: placed, acknowledged, delivered in parts, closed; what an over-delivery and an unknown part come to."""

from datetime import date, timedelta

import pytest

from inventory.models import Act, OrderLine, Part, PurchaseOrder, Refusal
from inventory.queries.deliveries import asides, asides_waiting, rendered_asides
from inventory.queries.orders import late_lines
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.join_parts import join_parts
from inventory.services.orders import EndIn, OrderLineIn, PromiseIn, acknowledge, close_lines, place_order
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.scrap import scrap
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.acts import done, refused, standing
from tests.factories.orders import came, numbers, ordered, stands
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, shelf, stamp

pytestmark = pytest.mark.django_db
RINGS = {"number": "O-1", "life": {"from": "cure", "years": 7}}


def undo(kind: str, expected: str = "") -> None:
    """Take the newest act of a kind back, or be refused."""
    act = Act.objects.filter(kind=kind).order_by("-pk")[0]
    given = {"actor": PersonFactory(), "stamp": stamp(), "act_id": act.pk, "reason": "mistaken"}
    if expected:
        refused(expected, correct, **given)
    else:
        correct(**given)


def test_an_order_stands_as_it_was_placed():
    PartFactory(number="O-1")
    SupplierFactory().supplierpart_set.create(part=Part.objects.get(), pack=10, least_order=20)
    body = done(
        place_order,
        order="PO-1",
        supplier="maker",
        lines=[
            OrderLineIn("O-1", packs=2, total_coins=4200, promised_on=date(2025, 1, 20), job="J-1"),
            OrderLineIn("O-1", amount="15 EA"),
        ],
        stamp=stamp(NOON - timedelta(days=5)),
    )
    assert [(line["amount"], line["typed"], line["doubts"]) for line in body["lines"]] == [
        (20, "2 packs of 10", []),
        (15, "15 EA", ["the least order is 20", "it is sold in packs of 10"]),
    ]
    row = stands()
    assert (row.order, row.supplier, row.ordered_on, row.open, row.total_coins) == (
        "PO-1", "maker", date(2025, 1, 10), True, None,
    )  # fmt: skip
    assert numbers(row) == [(20, 0, 0, 0, 0, 0, 0, 20), (15, 0, 0, 0, 0, 0, 0, 15)]
    assert (row.lines[0].job, row.lines[0].promised_on, row.lines[1].promised_on) == ("J-1", date(2025, 1, 20), None)


def test_what_is_wrong_with_an_order_is_named_line_by_line():
    PartFactory(number="O-1")
    given = {"order": "PO-1", "supplier": SupplierFactory().code}
    error = refused(
        "not-found",
        place_order,
        lines=[
            OrderLineIn("O-2", amount=1), OrderLineIn("O-1"), OrderLineIn("O-1", amount=1, packs=1),
            OrderLineIn("O-1", amount=1, promised_on=date(2025, 1, 14)), OrderLineIn("O-1", packs=0),
            OrderLineIn("O-1", amount=1, promised_on=date(2025, 1, 15)), OrderLineIn("O-1", amount=1, total_coins=-1),
        ],
        **given,
    )  # fmt: skip
    assert [(number, one.code) for number, one in error.errors] == [
        (1, "not-found"), (2, "nothing-given"), (3, "nothing-given"), (4, "dates-turned"), (5, "amount-not-positive"),
        (7, "amount-negative"),
    ]  # fmt: skip
    refused("nothing-given", place_order, lines=[], **given)
    refused("not-found", place_order, lines=[OrderLineIn("O-1", amount=1)], order="PO-1", supplier="nobody")
    for number, code in ((" ", "nothing-given"), ("P" * 41, "text-too-long")):
        refused(code, place_order, lines=[OrderLineIn("O-1", amount=1)], order=number, supplier="maker")
    assert not PurchaseOrder.objects.exists()
    ordered(OrderLineIn("O-1", amount=1))
    refused("order-known", place_order, lines=[OrderLineIn("O-1", amount=1)], **given)
    assert OrderLine.objects.count() == 1
    assert Refusal.objects.count() == 6


def test_a_promise_that_passed_stays_and_the_newest_one_holds():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20, promised_on=date(2025, 1, 12), job="J-1"))
    body = done(acknowledge, order="PO-1", lines=[PromiseIn(1, date(2025, 1, 20))], note="by telephone")
    assert body["lines"] == [{"line": 1, "promised_on": "2025-01-20", "before": "2025-01-12"}]
    (line,) = stands(on=date(2025, 1, 20)).lines
    assert (line.promised_on, line.promises_passed, line.late) == (date(2025, 1, 20), (date(2025, 1, 12),), False)
    assert late_lines(date(2025, 1, 20)) == []
    (line,) = stands(on=date(2025, 1, 21)).lines
    assert (line.promises_passed, line.late) == ((date(2025, 1, 12), date(2025, 1, 20)), True)
    (late,) = late_lines(date(2025, 1, 21), "J-1")
    assert (late.order, late.line, late.outstanding, late.promised_on) == ("PO-1", 1, 20, date(2025, 1, 20))
    assert late_lines(date(2025, 1, 21), "J-2") == []
    refused("dates-turned", acknowledge, order="PO-1", lines=[PromiseIn(1, date(2025, 1, 4))])
    refused("not-found", acknowledge, order="PO-1", lines=[PromiseIn(2, date(2025, 1, 20))])
    refused("nothing-given", acknowledge, order="PO-1", lines=[])
    refused("not-found", acknowledge, order="PO-2", lines=[PromiseIn(1, date(2025, 1, 20))])
    undo("acknowledge order")
    assert stands(on=date(2025, 1, 21)).lines[0].promised_on == date(2025, 1, 12)


def test_a_delivery_in_parts_and_what_will_not_come():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20))
    came(ReceiveLine("O-1", 14, lot="A"), ReceiveLine("O-1", 4, lot="B"), order="PO-1")
    assert numbers(stands()) == [(20, 18, 18, 0, 0, 0, 0, 2)]
    refused("reason-missing", close_lines, order="PO-1", lines=[EndIn(1)], reason=" ")
    error = refused("more-than-outstanding", close_lines, order="PO-1", lines=[EndIn(1, "3 EA")], reason="none left")
    assert error.errors[0][1].values["outstanding"] == 2
    refused("not-found", close_lines, order="PO-1", lines=[EndIn(1), EndIn(1)], reason="none left")
    body = done(close_lines, order="PO-1", lines=[EndIn(1, 1)], reason="none left")
    assert body["lines"] == [{"line": 1, "part": "O-1", "given_up": 1, "outstanding": 1, "loans": []}]
    done(close_lines, order="PO-1", lines=[EndIn(1)], reason="none left")
    assert (numbers(stands()), stands().open) == ([(20, 18, 18, 0, 0, 0, 2, 0)], False)
    refused("line-done", close_lines, order="PO-1", lines=[EndIn(1)], reason="none left")
    undo("close order lines")
    assert (numbers(stands()), stands().open) == ([(20, 18, 18, 0, 0, 0, 1, 1)], True)
    undo("order", "not-correctable")
    undo("receive")
    assert numbers(stands()) == [(20, 0, 0, 0, 0, 0, 1, 19)]
    undo("order", "not-correctable")


def test_an_order_that_nothing_came_for_is_taken_back():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20))
    undo("order")
    refused("not-found", close_lines, order="PO-1", lines=[EndIn(1)], reason="x")
    refused("order-known", place_order, order="PO-1", supplier="maker", lines=[OrderLineIn("O-1", amount=1)])


def test_a_bag_with_two_cure_quarters_is_two_lots_and_what_is_over_waits():
    PartFactory(**RINGS)
    ordered(OrderLineIn("O-1", amount=10), OrderLineIn("O-1", amount=10))
    lines = came(
        ReceiveLine("O-1", 16, lot="A", cure_code="3Q24", total_coins=1_600),
        ReceiveLine("O-1", 7, lot="B", cure_code="4Q24", total_coins=701),
        order="PO-1",
    )
    assert [(one["lot"], one["amount"], one["place"], one["why"]) for one in lines] == [
        ("A", 10, "R1", ""), ("A", 6, "R1", ""), ("B", 4, "R1", ""), ("B", 3, "Q1", "over"),
    ]  # fmt: skip
    assert numbers(stands()) == [(10, 10, 10, 0, 0, 0, 0, 0), (10, 13, 10, 0, 3, 3, 0, 0)]
    assert standing() == [("O-1", "lot=A", "R1", 16), ("O-1", "lot=B", "Q1", 3), ("O-1", "lot=B", "R1", 4)]
    (aside,) = rendered_asides(asides())
    assert (aside.order, aside.order_line, aside.why, aside.in_inspection) == ("PO-1", 2, "over", 3)
    item = aside.item
    # Kept: a second person releases two of them. The third waits on.
    done(release_quarantine, lines=[ReleaseLine(item, 2, "Q1", "R1")], note="we keep them")
    (aside,) = rendered_asides(asides())
    assert (aside.accepted, aside.in_inspection) == (2, 1)
    assert numbers(stands())[1] == (10, 13, 12, 0, 1, 3, 0, 0)
    undo("release from quarantine")
    assert numbers(stands())[1] == (10, 13, 10, 0, 3, 3, 0, 0)
    # Two are scrapped and one is counted away, and nobody rejected them: nothing waits, and nothing comes again.
    done(scrap, place="Q1", item_id=item, amount=2, reason="wet", who_pays="shop")
    assert (stands().lines[1].gone, numbers(stands())[1]) == (2, (10, 13, 10, 0, 1, 3, 0, 0))
    done(count, place="Q1", lines=[CountLine(0, item_id=item)], reason="not in the bin")
    (aside,) = rendered_asides(asides())
    assert (aside.gone, aside.in_inspection, numbers(stands())[1]) == (3, 0, (10, 13, 10, 0, 0, 3, 0, 0))
    assert rendered_asides(asides_waiting(asides(), True)) == []
    undo("count")
    undo("scrap")
    assert (stands().lines[1].gone, numbers(stands())[1]) == (0, (10, 13, 10, 0, 3, 3, 0, 0))


def test_without_a_quarantine_what_is_over_is_refused_by_line():
    PartFactory(number="O-1")
    PartFactory(number="O-2")
    ordered(OrderLineIn("O-1", amount=2))
    given = {"supplier": "maker", "place": shelf("R1").code, "order": "PO-1"}
    error = refused(
        "quarantine-needed",
        receive,
        lines=[ReceiveLine("O-1", 2, lot="A"), ReceiveLine("O-1", 1, lot="A"), ReceiveLine("O-2", 1, lot="A")],
        **given,
    )
    assert [number for number, _ in error.errors] == [2, 3]
    SupplierFactory(code="other", name="Another")
    refused("wrong-supplier", receive, lines=[ReceiveLine("O-1", 2, lot="A")], **(given | {"supplier": "other"}))
    refused("wrong-part", receive, lines=[ReceiveLine("O-2", 2, lot="A", order_line=1)], **given)
    refused("not-found", receive, lines=[ReceiveLine("O-1", 2, lot="A", order_line=2)], **given)
    refused("wrong-place", receive, lines=[ReceiveLine("O-1", 2, lot="A")], quarantine="R1", **given)
    assert standing() == []


def test_what_is_not_on_the_order_waits_too():
    PartFactory(number="O-1")
    PartFactory(number="O-2")
    ordered(OrderLineIn("O-1", amount=2))
    (line,) = came(ReceiveLine("O-2", 1, lot="A"), order="PO-1")
    assert (line["place"], line["why"], line["on_order"]) == ("Q1", "not ordered", False)
    assert numbers(stands()) == [(2, 0, 0, 0, 0, 0, 0, 2)]


def test_a_set_is_rejected_whole_as_it_came_and_is_awaited_again():
    PartFactory(number="SET", tracked_by="set", unit="SET")
    ordered(OrderLineIn("SET", amount=2))
    label = SetLabel(weight_mg=415_000, weighed="with pin", photo="labels/1.jpg")
    first, second = came(
        ReceiveLine("SET", 1, serial="S-1", set_label=label),
        ReceiveLine("SET", 1, serial="S-2", set_label=label, rejected="flange chipped", photos=["c/1.jpg", "c/2.jpg"]),
        order="PO-1",
    )
    assert (first["why"], second["why"], second["place"], second["photo_missing"]) == ("", "rejected", "Q1", False)
    assert numbers(stands()) == [(2, 2, 1, 1, 0, 0, 0, 1)]
    refused("rejected", release_quarantine, lines=[ReleaseLine(second["item"], 1, "Q1", "R1")])
    refused(
        "serial-elsewhere",
        receive,
        supplier="maker",
        place="R1",
        lines=[ReceiveLine("SET", 1, serial="S-2")],
    )


def test_a_label_outside_its_window_sends_the_whole_set_to_quarantine():
    PartFactory(number="SET", tracked_by="set", unit="SET", label_window={"weight_mg": [410_000, 420_000]})
    lines = came(
        ReceiveLine("SET", 1, serial="S-1", set_label=SetLabel(weight_mg=420_000, weighed="with pin")),
        ReceiveLine("SET", 1, serial="S-2", set_label=SetLabel(weight_mg=420_001, weighed="with pin")),
        ReceiveLine("SET", 1, serial="S-3"),
    )
    assert [(one["serial"], one["place"], one["why"]) for one in lines] == [
        ("S-1", "R1", ""), ("S-2", "Q1", "label implausible"), ("S-3", "Q1", "label implausible"),
    ]  # fmt: skip
    assert "420001" in lines[1]["quarantined"]


def test_a_number_that_the_catalogue_does_not_know_is_kept_to_be_sorted_and_not_released():
    PartFactory(number="O-1")
    (line,) = came(ReceiveLine("X-77", "3 EA", lot="A", to_be_sorted="green ring, no label"))
    part = Part.objects.get(number="X-77")
    assert (part.kind, part.name, part.tracked_by, line["place"], line["why"]) == (
        "", "green ring, no label", "lot", "Q1", "to be sorted",
    )  # fmt: skip
    refused("part-to-be-sorted", release_quarantine, lines=[ReleaseLine(line["item"], 3, "Q1", "R1")])
    refused("number-known", came_again, number="O1")
    Part.objects.filter(pk=part.pk).update(kind="O-ring")
    done(release_quarantine, lines=[ReleaseLine(line["item"], 3, "Q1", "R1")])
    assert standing() == [("X-77", "lot=A", "R1", 3)]


def came_again(*, number, actor, stamp):
    """A delivery of a number that looks like another."""
    came(ReceiveLine(number, 1, lot="A", to_be_sorted="a ring"), actor=actor)


def test_joined_numbers_are_ordered_and_delivered_under_the_one_that_is_kept():
    PartFactory(number="O-1")
    PartFactory(number="O1")
    done(join_parts, joined="O1", kept="O-1", reason="the same ring")
    ordered(OrderLineIn("O1", amount=4))
    came(ReceiveLine("O1", 4, lot="A"), order="PO-1")
    assert [line.part for line in stands().lines] == ["O-1"]
    assert numbers(stands()) == [(4, 4, 4, 0, 0, 0, 0, 0)]


def test_a_promise_that_is_entered_late_does_not_replace_what_was_said_after_it():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20, promised_on=date(2025, 1, 12)))
    for said_on, promised_on, before in (
        (12, date(2025, 1, 30), "2025-01-12"),
        (8, date(2025, 1, 18), "2025-01-12"),
        (14, date(2025, 1, 31), "2025-01-30"),
    ):
        body = done(
            acknowledge, order="PO-1", lines=[PromiseIn(1, promised_on)], stamp=stamp(NOON.replace(day=said_on))
        )
        assert body["lines"][0]["before"] == before
    (line,) = stands(on=date(2025, 1, 25)).lines
    assert (line.promised_on, line.late) == (date(2025, 1, 31), False)
    assert line.promises_passed == (date(2025, 1, 12), date(2025, 1, 18))


def test_nothing_happens_to_an_order_before_the_day_on_which_it_was_placed():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20), at=NOON.replace(day=10))
    early = stamp(NOON.replace(day=9))
    refused("dates-turned", acknowledge, order="PO-1", lines=[PromiseIn(1, date(2025, 1, 20))], stamp=early)
    refused("dates-turned", close_lines, order="PO-1", lines=[EndIn(1)], reason="never", stamp=early)
    delivery = {"supplier": "maker", "place": shelf("R1").code, "lines": [ReceiveLine("O-1", 4, lot="A")]}
    error = refused("dates-turned", receive, order="PO-1", stamp=early, **delivery)
    assert (error.values["day"], error.values["since"]) == ("2025-01-09", "2025-01-10")
    done(receive, stamp=early, **delivery)  # it answers no order
    came(ReceiveLine("O-1", 4, lot="A"), order="PO-1", at=NOON.replace(day=10, hour=1))  # on the day itself
    assert stands().lines[0].delivered == 4
