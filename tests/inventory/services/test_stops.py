"""Lots and items stopped and freed: holds end with shorts, closed kits are found, and nothing is planned again."""

from datetime import date
from functools import partial

import pytest

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Free, Hold, InnerLot, Item, Lot, Place, Stop
from inventory.queries.stock import on_shelves
from inventory.queries.stopped import containing
from inventory.services import holding, things
from inventory.services.open_item import open_kit
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from inventory.services.run import run
from inventory.services.stops import free_item, free_lot, stop_item, stop_lot
from tests.databases import together
from tests.factories.acts import done, ends, held, item, picked, refused, shorts, standing
from tests.factories.stores import PartFactory, PersonFactory, cart, shelf, site, stamp, stock
from tests.factories.stores_kits import closed_kits, kit


def ring_lot(amount: int = 10) -> Lot:
    stock(PartFactory(number="R-1"), amount, lot="B1")
    return Lot.objects.get(part__number="R-1", code="B1")


@pytest.mark.django_db
def test_a_stopped_lot_is_blocked_where_it_is_and_every_hold_ends_latest_fit_date_first():
    lot = ring_lot()
    rings = item("R-1", "lot=B1")
    early = held(rings, cart("cart J1"), 2, needed_on=date(2025, 2, 1))
    late = held(rings, cart("cart J2"), 3, needed_on=date(2025, 4, 1))
    gone_out = held(rings, cart("cart J3"), 4, needed_on=date(2025, 3, 1))
    picked(gone_out, 4)
    body = done(stop_lot, lot_id=lot.pk, reason="leaks reported")
    assert shorts() == [(late.pk, 3), (early.pk, 2)]
    assert [(one["for"], one["amount"]) for one in body["shorts"]] == [("cart J2", 3), ("cart J1", 2)]
    assert ends() == sorted([(early.pk, "made impossible"), (late.pk, "made impossible"), (gone_out.pk, "picked")])
    # Nothing moved; six lie on the shelf, four on a cart whose technician is to be told.
    assert standing() == [("R-1", "lot=B1", "R1", 6), ("R-1", "lot=B1", "cart J3", 4)]
    assert body["where"]["totals"] == {"shelf": 6, "cart": 4}
    assert [(row.free, row.stopped) for row in on_shelves([rings.part_id])] == [(6, True)]


@pytest.mark.django_db
def test_kits_that_contain_it_are_stopped_with_it_and_counted_apart():
    kit("K-1", {"R-1": 2})
    closed_kits("K-1", 3, lot="K-A", inner={"R-1": "B1"})
    closed_kits("K-1", 5, lot="K-B", inner={"R-1": "B2"})
    stock(things.parts_by_number(["R-1"])["R-1"], 7, lot="B1")
    mine = held(item("K-1", "lot=K-A"), cart("cart J1"), 1)
    other = held(item("K-1", "lot=K-B"), cart("cart J2"), 1)
    body = done(stop_lot, lot_id=Lot.objects.get(code="B1").pk, reason="leaks reported")
    assert ends() == [(mine.pk, "made impossible")]
    assert body["where"]["closed_kits"] == [
        {"kit": "K-1", "lot": "K-A", "place": "R1", "kind": "shelf", "boxes": 3, "amount": 6}
    ]
    assert body["where"]["totals"] == {"shelf": 7, "closed kits": 6}
    assert {row.lot_code: row.stopped for row in on_shelves([item("K-1", "lot=K-A").part_id])} == {
        "K-A": True,
        "K-B": False,
    }
    assert other.pk not in dict(ends())


@pytest.mark.django_db
def test_a_kit_inside_a_kit_is_followed():
    kit("K-1", {"R-1": 2})
    kit("K-2", {"K-1": 3})
    closed_kits("K-2", 1, lot="K2-A", inner={"K-1": "K-A"})
    ring = Lot.objects.create(part=things.parts_by_number(["R-1"])["R-1"], code="B1", compare_key="B1")
    small, big = Lot.objects.get(code="K-A"), Lot.objects.get(code="K2-A")
    InnerLot.objects.create(kit_lot=small, lot=ring, amount=2)
    assert containing(ring.pk) == {small.pk: 2, big.pk: 6}
    mine = held(item("K-2", "lot=K2-A"), cart("cart J1"), 1)
    body = done(stop_lot, lot_id=ring.pk, reason="leaks reported")
    assert ends() == [(mine.pk, "made impossible")]
    assert [(one["kit"], one["amount"]) for one in body["where"]["closed_kits"]] == [("K-2", 6)]
    assert [row.stopped for row in on_shelves([big.part_id])] == [True]


@pytest.mark.django_db
def test_what_came_out_of_the_kit_is_stopped_as_the_loose_lot_is():
    kit("K-1", {"R-1": 2})
    closed_kits("K-1", 2, lot="K-A", inner={"R-1": "B1"})
    done(open_kit, item_id=item("K-1", "lot=K-A").pk, place="R1")
    body = done(stop_lot, lot_id=Lot.objects.get(code="B1").pk, reason="leaks reported")
    assert body["where"]["totals"] == {"shelf": 2, "closed kits": 2}


@pytest.mark.django_db
def test_engines_are_listed_apart():
    lot = ring_lot(5)
    engine = things.make_place("engine 7", PlaceKind.ENGINE, site=None)
    picked(held(item("R-1", "lot=B1"), engine, 2), 2)
    where = done(stop_lot, lot_id=lot.pk, reason="leaks reported")["where"]
    assert [(one["place"], one["amount"]) for one in where["engines"]] == [("engine 7", 2)]
    assert [(one["place"], one["amount"]) for one in where["places"]] == [("R1", 3)]


@pytest.mark.django_db
def test_one_open_stop_a_lot_and_freeing_plans_nothing_again():
    lot = ring_lot()
    hold = held(item("R-1", "lot=B1"), cart(), 2)
    first = done(stop_lot, lot_id=lot.pk, reason="leaks reported")
    error = refused("stopped-already", stop_lot, lot_id=lot.pk, reason="another reason")
    assert (error.values["reason"], error.values["stop"]) == ("leaks reported", first["stop"])
    body = done(free_lot, lot_id=lot.pk, stop_id=first["stop"], reason="report was about another lot")
    assert body["note"] == "Nothing was held again: jobs that still want it hold it anew."
    assert ends() == [(hold.pk, "made impossible")]
    assert [(row.free, row.stopped) for row in on_shelves([lot.part_id])] == [(10, False)]
    refused("freed-already", free_lot, lot_id=lot.pk, stop_id=first["stop"], reason="again")
    again = done(stop_lot, lot_id=lot.pk, reason="leaks after all")
    assert Stop.objects.count() == 2
    assert Free.objects.get().stop_id == first["stop"] != again["stop"]


@pytest.mark.django_db
def test_a_stop_is_freed_through_its_own_lot():
    lot = ring_lot()
    stock(PartFactory(number="R-2"), 1, lot="C1")
    stop = done(stop_lot, lot_id=lot.pk, reason="leaks reported")["stop"]
    refused("not-found", free_lot, lot_id=Lot.objects.get(code="C1").pk, stop_id=stop, reason="x")
    refused("reason-missing", free_lot, lot_id=lot.pk, stop_id=stop, reason="")
    refused("reason-missing", stop_lot, lot_id=Lot.objects.get(code="C1").pk, reason=" ")
    refused("not-found", stop_lot, lot_id=0, reason="x")
    assert Free.objects.count() == 0


@pytest.mark.django_db
def test_one_item_is_stopped_and_freed():
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    stock(things.parts_by_number(["S-1"])["S-1"], serial="S-2")
    one = item("S-1", "serial=S-1")
    hold = held(one, cart("cart J1"))
    stopped = done(stop_item, item_id=one.pk, reason="weight looks wrong")
    assert ends() == [(hold.pk, "made impossible")]
    assert stopped["where"]["totals"] == {"shelf": 1}
    assert {row.serial: row.stopped for row in on_shelves([one.part_id])} == {"S-1": True, "S-2": False}
    refused("stopped-already", stop_item, item_id=one.pk, reason="x")
    done(free_item, item_id=one.pk, stop_id=stopped["stop"], reason="weighed again")
    assert {row.stopped for row in on_shelves([one.part_id])} == {False}


@pytest.mark.django_db
def test_stock_at_every_site_is_blocked():
    lot = ring_lot(6)
    quay = shelf("Y1", site("QUAY"))
    stock(lot.part, 2, lot="B1", place=quay)
    there = held(item("R-1", "lot=B1"), cart("cart Y", site("QUAY")), 1, shelf="Y1")
    where = done(stop_lot, lot_id=lot.pk, reason="leaks reported")["where"]
    assert [(one["site"], one["amount"]) for one in where["places"]] == [("TS", 6), ("QUAY", 2)]
    assert ends() == [(there.pk, "made impossible")]


def hold_if_free(ring: Item, cart_: Place) -> None:
    """Hold one as a job does: lock, see what is free and not stopped, hold."""

    def work(act: Act) -> dict[str, object]:
        locks.scarcer([(ring.part_id, cart_.site_id)])
        [row] = on_shelves([ring.part_id])
        if row.stopped:
            raise DomainError("stopped", "It is stopped.")
        promise = holding.Promise(row.item_id, row.spot_id, 1, date(2025, 2, 1))
        holding.hold(act, things.spot(cart_), [promise])
        return {}

    run("hold", work, actor=PersonFactory(), stamp=stamp(), request={"cart": cart_.code})


@pytest.mark.usefixtures("shop_database")
@pytest.mark.parametrize("by", ["a stop of its lot", "a notice that withdraws its number"])
def test_nobody_holds_it_while_it_is_being_blocked(by):
    lot = ring_lot(20)
    PartFactory(number="R-2")
    ring = item("R-1", "lot=B1")
    actor = PersonFactory()
    carts = [cart(f"cart J{index}") for index in range(5)]
    holds = [partial(hold_if_free, ring, one) for one in carts]
    notice = ReplacementIn("R-1", [NewPart("R-2")], fate="withdrawn")
    stops = [
        partial(stop_lot, actor=actor, stamp=stamp(), lot_id=lot.pk, reason="leaks reported")
        if by == "a stop of its lot"
        else partial(add_replacement, actor=actor, stamp=stamp(), line=notice)
    ]
    ended = together(holds[:2] + stops + holds[2:])
    stopped_ = ended[2].answer
    assert stopped_ is not None, ended[2].error
    refused_ = [one.error.code for one in ended if one.error is not None]
    assert refused_ == ["stopped"] * len(refused_)
    # Those that came first were ended by the stop, the others were refused; none is open, nothing stays promised.
    assert len(stopped_.body["shorts"]) + len(refused_) == 5
    assert Hold.objects.filter(end__isnull=True).count() == 0
    assert [row.held for row in on_shelves([ring.part_id])] == [0]
