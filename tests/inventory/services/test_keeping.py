"""One sealed piece of each lot is kept: on hand, counted, not free; it goes by no other way than its release."""

from datetime import timedelta

import pytest

from inventory.domain.errors import ManyErrors
from inventory.domain.keeping import HowEnded
from inventory.models import KeptEnd, KeptPiece, Part
from inventory.queries.audit import audit
from inventory.queries.stock import free_by_part
from inventory.services.claims import ReturnLine, return_to_supplier
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.keep_pieces import keep_pieces
from inventory.services.keeping import end_kept
from inventory.services.receive import ReceiveLine, receive
from inventory.services.run import run
from inventory.services.scrap import scrap
from inventory.services.stops import stop_lot
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.factories.acts import done, gone, held, item, refused, shorts
from tests.factories.keeping import rings, stands, switch_on
from tests.factories.stores import (
    NOON,
    PartFactory,
    PersonFactory,
    SupplierFactory,
    cart,
    quarantine,
    shelf,
    site,
    stamp,
    stock,
)

pytestmark = pytest.mark.django_db


def ends():
    return list(KeptEnd.objects.values_list("how", flat=True))


def test_one_of_a_lot_is_kept_when_it_comes_and_a_second_bag_keeps_no_second():
    ring = rings()
    assert stands() == (10, 1)
    assert free_by_part([ring.part_id], site().pk, NOON.date()) == {ring.part_id: 9}
    stock(Part.objects.get(number="RING-K"), 5, lot="B", place=shelf("R1"))
    assert (stands(), KeptPiece.objects.count()) == ((15, 1), 1)
    stock(Part.objects.get(number="RING-K"), 1, lot="C", place=shelf("R2"))
    assert stands("R2") == (1, 0)  # the only one is for the engine that waits for it
    stock(Part.objects.get(number="RING-K"), 1, lot="C", place=shelf("R3"))
    assert (stands("R2"), stands("R3")) == ((1, 0), (1, 1))


def test_nothing_is_kept_by_a_shop_that_did_not_switch_it_on_nor_of_other_kinds():
    stock(PartFactory(number="RING-K", kind="O-ring"), 3, lot="A")
    assert done(keep_pieces) == {"pieces": 0, "kept": []}
    switch_on()
    stock(PartFactory(number="BOLT"), 3, lot="A")
    assert KeptPiece.objects.count() == 0
    kept = done(keep_pieces)["kept"]
    assert [(one["part"], one["lot"], one["kept"]) for one in kept] == [("RING-K", "A", 1)]
    assert done(keep_pieces)["kept"] == []


def test_it_is_held_for_nobody_picked_carried_scrapped_or_sent_back():
    ring = rings(3)
    held(ring, cart("cart J1"), 2)
    with pytest.raises(Exception, match="0 of RING-K, lot B are free") as caught:
        held(ring, cart("cart J2"), 1)
    assert caught.value.code == "not-free"
    for error in (
        refused("not-there", scrap, place="R1", item_id=ring.pk, amount=3, reason="wet", who_pays="shop"),
        first(transfer, lines=[TransferLine(ring.pk, 1, "R1", shelf("R2").code)]),
        first(return_to_supplier, supplier="maker", note="N-1", lines=[ReturnLine(ring.pk, "R1", 3, 100)]),
    ):
        assert (error.code, error.values["kept"]) == ("not-there", 1)
        assert "1 of them is the kept one of lot B" in str(error)
    assert stands() == (3, 3)


def first(call, **arguments):
    """The first refused line."""
    with pytest.raises(ManyErrors) as caught:
        call(actor=PersonFactory(), stamp=stamp(), **arguments)
    return caught.value.errors[0][1]


def counted(ring, amount, at=NOON, **more):
    lines = [CountLine(amount, item_id=ring.pk)]
    return count(actor=PersonFactory(), stamp=stamp(at), place="R1", lines=lines, looked_at=["O-ring"], **more)


def test_it_is_counted_with_the_shelf_and_the_last_to_be_missing():
    ring = rings()
    promised = held(ring, cart("cart J1"), 4)
    assert counted(ring, 10).body["lines"][0]["said"] == "as the books say"
    # Four are left: the hold of four does not fit beside the kept one.
    counted(ring, 4, reason="a bag is gone")
    assert (shorts(), stands(), ends()) == ([(promised.pk, 4)], (4, 1), [])
    counted(ring, 0, reason="the other bag too")
    assert (stands(), ends()) == ((0, 0), ["missing"])
    found = counted(ring, 2, reason="behind the rack")
    assert [one["lot"] for one in found.body["kept_back"]["kept"]] == ["B"]
    assert done(keep_pieces)["pieces"] == 0
    assert (stands(), gone("count difference")) == ((2, 1), [("RING-K", "lot=B", 8)])


def test_a_count_that_is_taken_back_keeps_again_what_it_lost():
    ring = rings(1)
    assert (stands(), KeptPiece.objects.count()) == ((1, 0), 0)
    stock(Part.objects.get(number="RING-K"), 1, lot="B", place=shelf("R1"))
    held(ring, cart("cart J1"), 1)
    lost = counted(ring, 0, reason="the bag is gone")
    assert (stands(), ends()) == ((0, 0), ["missing"])
    body = done(correct, act_id=lost.act_id, reason="the wrong bin", stamp=stamp(NOON + timedelta(hours=1)))
    assert body["restored"] == {"kept": [{"lot": "B", "part": "RING-K", "place": "R1", "spot": "-"}]}
    # the piece that is kept is no job's; the hold that the count ended stays ended
    assert (stands(), len(body["holds_not_restored"])) == ((2, 1), 1)
    assert KeptPiece.objects.get(end=None).act_id == KeptPiece.objects.latest("pk").act_id
    # lost and found by a second correction, it is kept once
    again = counted(ring, 0, reason="gone")
    done(correct, act_id=again.act_id, reason="the wrong bin again", stamp=stamp(NOON + timedelta(hours=2)))
    assert (stands(), ends(), audit()) == ((2, 1), ["missing"] * 2, [])


def test_the_last_one_of_a_lot_is_kept_again_too():
    ring = rings(2)
    counted(ring, 1, reason="one bag is gone")
    lost = counted(ring, 0, reason="the other too")
    assert ends() == ["missing"]
    done(correct, act_id=lost.act_id, reason="the wrong bin", stamp=stamp(NOON + timedelta(hours=1)))
    # as it comes to a shelf the only free one of a lot is never kept; this one was kept before
    assert stands() == (1, 1)


def test_what_was_lost_is_not_kept_again_beside_another_or_once_the_lots_was_released():
    ring = rings(2)
    lost = counted(ring, 0, reason="gone")
    stock(Part.objects.get(number="RING-K"), 2, lot="B", place=shelf("R2"), at=NOON + timedelta(minutes=5))
    body = done(correct, act_id=lost.act_id, reason="the wrong bin", stamp=stamp(NOON + timedelta(hours=1)))
    assert (body["restored"], stands("R1"), stands("R2")) == ({}, (2, 0), (2, 1))
    released(KeptPiece.objects.get(end=None))
    once_more = counted(ring, 0, NOON + timedelta(hours=2), reason="gone")
    body = done(correct, act_id=once_more.act_id, reason="the wrong bin", stamp=stamp(NOON + timedelta(hours=3)))
    assert (body["restored"], stands("R1"), stands("R2")) == ({}, (2, 0), (2, 0))


def released(kept):
    """It is released for good."""

    def work(act):
        end_kept(act, [kept], HowEnded.RELEASED, "the last term has ended")
        return {}

    run("release kept piece", work, actor=PersonFactory(), stamp=stamp(), request={})


def test_a_stopped_lot_keeps_its_piece():
    ring = rings()
    done(stop_lot, lot_id=ring.lot_id, reason="leaks")
    assert (stands(), ends()) == ((10, 1), [])


def test_a_delivery_that_is_taken_back_keeps_nothing():
    switch_on()
    shelf("R1")
    line = ReceiveLine(PartFactory(number="RING-K", kind="O-ring").number, 5, lot="B")
    its = receive(
        actor=PersonFactory(), stamp=stamp(), supplier=SupplierFactory().code, place="R1", lines=[line], reason=""
    )
    assert [(one["lot"], one["kept"]) for one in its.body["kept_back"]["kept"]] == [("B", 1)]
    done(correct, act_id=its.act_id, reason="another shop's box", stamp=stamp(NOON + timedelta(hours=1)))
    assert (stands(), ends()) == ((0, 0), ["taken back"])


def test_what_was_in_quarantine_first_is_kept_as_it_is_released():
    switch_on()
    stock(PartFactory(number="RING-K", kind="O-ring"), 6, lot="B", place=quarantine("Q1"))
    assert KeptPiece.objects.count() == 0
    shelf("R1")
    ring = item("RING-K", "lot=B")
    done(release_quarantine, lines=[ReleaseLine(ring.pk, 6, "Q1", "R1")], note="looked at")
    assert stands() == (6, 1)
