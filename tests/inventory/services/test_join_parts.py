"""Two records of one number are joined: nothing is moved, both serve, and it can be taken back."""

from datetime import timedelta

import pytest

from inventory.domain.supersession import BothWays
from inventory.models import Balance, InnerLot, Lot, Movement, Part, PartJoin, Stop
from inventory.queries.joins import records_of
from inventory.queries.replacements import links_of
from inventory.services.join_parts import join_parts
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement, withdraw_replacement
from inventory.services.stops import stop_lot
from tests.factories.acts import done, ends, held, item, refused, standing
from tests.factories.orders import came, ordered, stands
from tests.factories.stores import NOON, PartFactory, cart, stock
from tests.factories.stores_kits import closed_kits, kit

WHY = {"reason": "typed twice"}


def two(**more):
    kept, joined = PartFactory(number="A-201", **more), PartFactory(number="A 201", **more)
    stock(kept, 4, lot="L-1")
    stock(joined, 3, lot="L-1", cure_code="3Q23")
    stock(joined, 2, lot="L-2")
    return kept, joined


@pytest.mark.django_db
def test_nothing_is_moved_and_the_records_serve_for_each_other():
    kept, joined = two()
    mine = held(item("A 201", "lot=L-2"), cart("cart J1"), 2)
    before = (standing(), Movement.objects.count(), list(Balance.objects.order_by("pk").values_list("pk", "held")))
    body = done(join_parts, joined="A 201", kept="A-201", **WHY)
    assert {name: body[name] for name in ("joined", "kept", "reason", "same_lots", "same_serials")} == {
        "joined": "A 201",
        "kept": "A-201",
        "reason": "typed twice",
        "same_lots": [{"lot": "L-1", "joined_cure_code": "3Q23", "kept_cure_code": ""}],
        "same_serials": [],
    }
    assert before == (
        standing(),
        Movement.objects.count(),
        list(Balance.objects.order_by("pk").values_list("pk", "held")),
    )
    assert ends() == []
    assert mine.amount == 2
    links = links_of([kept.pk])
    assert [(link.a, link.b, link.one_number) for link in links if isinstance(link, BothWays)] == [
        ("A 201", "A-201", True)
    ]
    assert records_of([kept.pk]) == records_of([joined.pk]) == {kept.pk, joined.pk}


@pytest.mark.django_db
def test_a_delivery_by_the_joined_number_is_booked_under_the_kept_one_until_the_join_is_taken_back():
    _, joined = two()
    body = done(join_parts, joined="A 201", kept="A-201", **WHY)
    stock(joined, 5, lot="L-9")
    assert ("A-201", "lot=L-9", "R1", 5) in standing()
    done(withdraw_replacement, replacement_id=body["replacement"], reason="they are two after all")
    stock(joined, 6, lot="L-9")
    assert ("A 201", "lot=L-9", "R1", 6) in standing()
    assert records_of([joined.pk]) == {joined.pk}
    # Taken back is not forgotten, and it may be joined anew.
    done(join_parts, joined="A 201", kept="A-201", **WHY)
    assert PartJoin.objects.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize("called", ["A 201", "A-201"])
def test_what_was_ordered_by_the_joined_number_comes_for_its_line_under_the_kept_one(called):
    two()
    ordered(OrderLineIn("A 201", 10), at=NOON - timedelta(days=10))
    done(join_parts, joined="A 201", kept="A-201", **WHY)
    (first,) = came(ReceiveLine(called, 4, lot="L-9"), order="PO-1")
    (rest,) = came(ReceiveLine(called, 6, lot="L-9", order_line=1), order="PO-1")
    assert {(row["part"], row["place"], row["on_order"]) for row in (first, rest)} == {("A-201", "R1", True)}
    (line,) = stands().lines
    assert (line.ordered, line.accepted, line.outstanding) == (10, 10, 0)


@pytest.mark.django_db
def test_a_lot_of_both_records_is_stopped_under_both():
    kept, joined = two()
    kit("K-1", {"A 201": 2})
    closed_kits("K-1", 3, lot="K-A", inner={"A 201": "L-1"})
    done(join_parts, joined="A 201", kept="A-201", **WHY)
    hold, box = held(item("A 201", "lot=L-1"), cart("cart J1"), 2), held(item("K-1", "lot=K-A"), cart("cart J2"))
    body = done(stop_lot, lot_id=Lot.objects.get(part=kept, code="L-1").pk, reason="leaks")
    assert ends() == sorted([(hold.pk, "made impossible"), (box.pk, "made impossible")])
    assert [(one["part"], one["where"]["totals"]) for one in body["also"]] == [
        ("A 201", {"shelf": 3, "closed kits": 6})
    ]
    assert set(Stop.objects.values_list("lot__part__number", "lot__code")) == {("A-201", "L-1"), ("A 201", "L-1")}
    assert InnerLot.objects.get().lot.part == joined
    refused("stopped-already", stop_lot, lot_id=Lot.objects.get(part=joined, code="L-1").pk, reason="again")


@pytest.mark.django_db
def test_a_lot_that_is_stopped_under_one_record_only_keeps_them_apart():
    kept, _ = two()
    done(stop_lot, lot_id=Lot.objects.get(part=kept, code="L-1").pk, reason="leaks")
    assert refused("records-differ", join_parts, joined="A 201", kept="A-201", **WHY).values["lots"] == ["L-1"]
    done(stop_lot, lot_id=Lot.objects.get(part__number="A 201", code="L-1").pk, reason="leaks")
    # L-2 stands under one record alone: its stop is nobody else's.
    done(stop_lot, lot_id=Lot.objects.get(code="L-2").pk, reason="leaks")
    done(join_parts, joined="A 201", kept="A-201", **WHY)


@pytest.mark.django_db
def test_what_stands_against_it_is_named():
    two()
    PartFactory(number="A201", unit="MTR", base="nanometre")
    PartFactory(number="NEW")
    assert refused("records-differ", join_parts, joined="A201", kept="A-201", **WHY).values["fields"] == ["unit"]
    refused("reason-missing", join_parts, joined="A 201", kept="A-201", reason=" ")
    refused("not-found", join_parts, joined="A-0", kept="A-201", **WHY)
    notice = done(add_replacement, line=ReplacementIn("A 201", [NewPart("NEW")]))["replacement"]
    error = refused("records-differ", join_parts, joined="A 201", kept="A-201", **WHY)
    assert error.values["replacements"] == [notice]
    done(withdraw_replacement, replacement_id=notice, reason="entered for A-201")
    done(add_replacement, line=ReplacementIn("A-201", [NewPart("NEW")]))
    done(join_parts, joined="A 201", kept="A-201", **WHY)


@pytest.mark.django_db
def test_a_record_points_at_one_that_counts_by_itself():
    two()
    PartFactory(number="A201")
    done(join_parts, joined="A 201", kept="A-201", **WHY)
    for joined, kept in (("A 201", "A201"), ("A-201", "A201"), ("A201", "A 201"), ("A-201", "A 201")):
        assert refused("joined-already", join_parts, joined=joined, kept=kept, **WHY).values["kept"] == "A-201"
    done(join_parts, joined="A201", kept="A-201", **WHY)
    assert len(records_of(Part.objects.filter(number="A201").values_list("pk", flat=True))) == 3
