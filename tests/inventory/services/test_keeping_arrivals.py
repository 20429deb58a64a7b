"""One piece is kept of a lot however it came to a shelf, but a job comes first; and the kept piece is carried as the kept one."""

from datetime import timedelta

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import Balance, KeptEnd, KeptPiece, Lot, Part
from inventory.queries.audit import audit
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.keep_pieces import keep_pieces
from inventory.services.open_item import open_kit
from inventory.services.transfer import TransferLine, transfer
from tests.factories.acts import done, held, item, picked, refused, shorts
from tests.factories.counting import may_recount
from tests.factories.keeping import rings, stands, switch_on
from tests.factories.stores import NOON, PartFactory, PersonFactory, cart, quarantine, shelf, stamp, stock
from tests.factories.stores_kits import closed_kits, kit
from tests.factories.vans import road
from tests.inventory.services.test_bring_in import booked, read_in

pytestmark = pytest.mark.django_db


def kept():
    """(lot, place) of what is kept now."""
    rows = KeptPiece.objects.filter(end__isnull=True)
    return sorted(rows.values_list("lot__code", "spot__place__code"))


def boxes(amount=2, inner=12):
    """Closed kits of a shop that keeps: each holds so many rings of lot B that came in no other way."""
    switch_on()
    PartFactory(number="RING-K", kind="O-ring")
    kit("K-1", {"RING-K": inner})
    closed_kits("K-1", amount, lot="K-A", inner={"RING-K": "B"})
    return item("K-1", "lot=K-A")


def test_of_a_lot_that_came_only_inside_kits_one_is_kept_when_a_kit_is_opened_on_the_shelf():
    box = boxes()
    assert kept() == []
    body = done(open_kit, item_id=box.pk, place="R1")["kept_back"]
    (one,) = body["kept"]
    assert (one["part"], one["lot"], one["place"], one["kept"], body["pieces"]) == ("RING-K", "B", "R1", 1, 1)
    assert (stands(), body["left_to_job"]) == ((12, 1), [])
    assert "kept_back" not in done(open_kit, item_id=box.pk, place="R1")
    assert stands() == (24, 1)


def test_a_kit_from_before_the_day_keeps_none():
    box = boxes()
    Lot.objects.filter(code="K-A").update(received_on="2024-12-31")
    assert "kept_back" not in done(open_kit, item_id=box.pk, place="R1")


def test_a_kit_inside_a_kit_came_when_the_outer_one_did():
    switch_on()
    PartFactory(number="RING-K", kind="O-ring")
    kit("K-IN", {"RING-K": 4})
    kit("K-OUT", {"K-IN": 1})
    closed_kits("K-OUT", lot="O", inner={"K-IN": "I"})
    outer = item("K-OUT", "lot=O")
    done(open_kit, item_id=outer.pk, place="R1")
    inner = item("K-IN", f"lot=I|kit={outer.pk}")
    done(open_kit, item_id=inner.pk, place="R1", inner_lots={"RING-K": "B"})
    assert (kept(), stands()) == ([("B", "R1")], (4, 1))


@pytest.mark.parametrize("said", [True, False])
def test_a_kit_that_is_opened_for_a_job_leaves_all_its_rings_to_it_and_says_so(said):
    box = boxes(1)
    promised = None if said else held(box, cart("cart J1"))
    body = done(open_kit, item_id=box.pk, place="R1", subject="J1" if said else "")
    told = body["kept_back"]
    assert (told["pieces"], told["kept"], [one["lot"] for one in told["left_to_job"]]) == (0, [], ["B"])
    assert told["why"].startswith("it was opened for J1" if said else "a job was promised the kit")
    assert (shorts(), stands()) == ([] if said else [(promised.pk, 1)], (12, 0))
    held(item("RING-K", f"lot=B|kit={box.pk}"), cart("cart J2"), 12)
    assert (done(keep_pieces)["pieces"], stands()) == (0, (12, 12))


def test_what_is_opened_on_a_jobs_cart_is_the_jobs_and_keeps_none():
    box = boxes(1)
    picked(held(box, cart("cart J1")), 1)
    body = done(open_kit, item_id=box.pk, place="cart J1")
    assert ("kept_back" in body, kept()) == (False, [])


def test_what_comes_to_another_site_or_out_of_quarantine_or_by_a_count_is_kept_there():
    way = road()
    Part.objects.filter(number="R-1").update(kind="O-ring")
    switch_on()
    note = way.sent()
    body = way.taken(note)
    assert [(one["lot"], one["place"]) for one in body["kept_back"]["kept"]] == [("B1", "Y1")]
    seal = PartFactory(number="SEAL", kind="seal")
    stock(seal, 1, lot="S", place=shelf("R2"))
    lines = [CountLine(4, item_id=item("SEAL", "lot=S").pk, counted_again=4)]
    counted = count(
        actor=PersonFactory(),
        second=may_recount(),
        stamp=stamp(),
        place="R2",
        lines=lines,
        reason="found",
        looked_at=["seal"],
    ).body
    assert [one["lot"] for one in counted["kept_back"]["kept"]] == ["S"]
    assert kept() == [("B1", "Y1"), ("S", "R2")]


LOTS = "part,lot,received on\nRING-K,A,2025-01-07\nRING-K,B,2025-01-08\nRING-K,C,2024-01-08\nRING-K,D,\n"
STOCK = (
    "part,lot,place,spot,amount,value\nRING-K,A,R1,-,5,1\nRING-K,A,R2,-,5,1\nRING-K,B,R2,-,1,1\nRING-K,C,R1,-,5,1\n"
    "RING-K,D,R1,-,5,1\nRING-K,E,R1,-,5,1\nRING-K,A,Q1,-,3,1\n"
)


def test_an_imported_table_keeps_one_of_each_lot_of_which_it_is_known_that_it_came_since():
    switch_on()
    PartFactory(number="RING-K", kind="O-ring")
    shelf("R1"), shelf("R2"), quarantine("Q1")
    booked(read_in("lots", LOTS))
    body = booked(read_in("stock", STOCK))
    assert [(one["lot"], one["place"]) for one in body["kept_back"]["kept"]] == [("A", "R1")]
    rows = Balance.objects.filter(part__number="RING-K", real=True, held__gt=0)
    assert list(rows.values_list("item__lot__code", "place__code", "held")) == [("A", "R1", 1)]
    assert audit() == []


def carried(ring, amount, *, to="R2", from_place="R1", kept=True, **more):
    return done(transfer, lines=[TransferLine(ring.pk, amount, from_place, shelf(to).code, kept=kept)], **more)


def test_the_kept_piece_alone_goes_to_the_drawer_and_is_kept_there():
    ring = rings()
    body = carried(ring, 1)
    assert [(one["amount"], one["kept"]) for one in body["lines"]] == [(1, 1)]
    assert (stands("R1"), stands("R2"), kept()) == ((9, 0), (1, 1), [("B", "R2")])
    assert list(KeptEnd.objects.values_list("how", "why")) == [("moved", "carried to R2")]
    # It is free nowhere: not to be held, not to be carried as another one.
    assert first_refused(ring, 1, "R2", "R1", kept=False).code == "not-there"
    carried(ring, 9, kept=False)
    assert (stands("R1"), stands("R2")) == ((0, 0), (10, 1))


def test_a_whole_bin_goes_with_the_kept_piece_in_it_and_what_is_held_for_a_job_stays():
    ring = rings()
    held(ring, cart("cart J1"), 2)
    assert first_refused(ring, 9, "R1", "R2").code == "not-there"
    carried(ring, 8)
    assert (stands("R1"), stands("R2"), kept()) == ((2, 2), (8, 1), [("B", "R2")])


def first_refused(ring, amount, from_place, to, kept=True):
    with pytest.raises(ManyErrors) as caught:
        done(transfer, lines=[TransferLine(ring.pk, amount, from_place, shelf(to).code, kept=kept)], note="why")
    return caught.value.errors[-1][1]


def test_what_is_not_kept_there_or_would_leave_the_shelves_is_refused_by_name():
    ring = rings()
    quarantine("Q1")
    shelf("R2")
    lines = [TransferLine(ring.pk, 1, "R1", "Q1", kept=True)]
    with pytest.raises(ManyErrors) as caught:
        done(transfer, lines=lines, note="leaks")
    assert caught.value.errors[0][1].code == "wrong-place"
    with pytest.raises(ManyErrors) as caught:
        done(transfer, lines=[TransferLine(ring.pk, 1, "R1", "R2", kept=True)] * 2)
    assert [(at, error.code) for at, error in caught.value.errors] == [(2, "not-kept")]
    assert (stands(), kept()) == ((10, 1), [("B", "R1")])


def test_a_carrying_that_is_taken_back_keeps_it_where_it_was():
    ring = rings(2)
    its = transfer(
        actor=PersonFactory(), stamp=stamp(), lines=[TransferLine(ring.pk, 1, "R1", shelf("R2").code, kept=True)]
    )
    done(correct, act_id=its.act_id, reason="the other bin", stamp=stamp(NOON + timedelta(hours=1)))
    assert (stands("R1"), stands("R2"), kept()) == ((2, 1), (0, 0), [("B", "R1")])
    assert list(KeptEnd.objects.order_by("kept").values_list("how", flat=True)) == ["moved", "taken back"]
    # The way back a second time, and a delivery whose piece lies elsewhere is not taken back.
    carried(ring, 1)
    delivery = KeptPiece.objects.order_by("pk").first().act_id
    refused("not-there", correct, act_id=delivery, reason="another shop's", stamp=stamp(NOON + timedelta(hours=2)))
    assert audit() == []
