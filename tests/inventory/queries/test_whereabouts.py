"""Where the pieces of a lot are: the stopped lot of the demo shop with its sum, and the edges of the arithmetic."""

import re
from datetime import timedelta

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Balance, Item
from inventory.queries.whereabouts import lot_whereabouts
from inventory.services import things
from inventory.services.open_item import open_kit
from inventory.services.open_tube import open_tube
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from inventory.services.stops import stop_lot
from inventory.services.take_transfer import TakeLine, take_in
from inventory.services.transfer_notes import SendLine, send_to_site
from tests.factories.moves import DAY, engine_place, item_of, kit_of, lot_of, move, plans, spot, take_back
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


def kits(kit, lot: str, boxes: int, **inner_lots: str) -> Item:
    """Receive boxes of a kit whose bags carry these lots (part number with _ for -)."""
    receive(
        actor=PersonFactory(),
        stamp=stamp(),
        supplier=SupplierFactory().code,
        place=shelf().code,
        lines=[
            ReceiveLine(kit.number, boxes, lot=lot, inner_lots={k.replace("_", "-"): v for k, v in inner_lots.items()})
        ],
    )
    return item_of(kit, lot=lot)


def opened(kit: Item, boxes: int, **more) -> list[Item]:
    """Open boxes where they stand; the items that came out."""
    before = set(Item.objects.values_list("pk", flat=True))
    open_kit(actor=PersonFactory(), stamp=stamp(NOON + DAY), item_id=kit.pk, place="R1", amount=boxes, **more)
    return list(Item.objects.exclude(pk__in=before).select_related("part").order_by("pk"))


def fit(item: Item, origin, engine: str, positions: int, day: int = 2):
    return move(
        *[(item, 1, origin, spot(engine_place(engine), f"CYL-{n}/ring-lower")) for n in range(1, positions + 1)],
        kind="fit",
        at=NOON + day * DAY,
    )


def demo_lot():
    """The stopped lot of the demo shop: 84 loose and 16 in boxes, 14 engines, five of them opened again."""
    ring, kit = PartFactory(number="R-113"), PartFactory(number="R-802", kind="kit")
    kit_of(kit, (ring, 1), (PartFactory(number="R-111"), 1))
    stock(ring, 84, lot="SB-2341")
    box = kits(kit, "K-77", 16, R_113="SB-2341", R_111="SB-9")
    loose, home = item_of(ring, lot="SB-2341"), spot(shelf())
    out = next(item for item in opened(box, 12) if item.part == ring)
    for number in range(12):
        fit(loose, home, f"E-{number:02d}", 6)
    for number in range(12, 14):
        fit(out, home, f"E-{number:02d}", 6)
    claims = spot(quarantine("claim shelf"))
    for number in range(5):
        engine = engine_place(f"E-{number:02d}")
        move(
            *[(loose, 1, spot(engine, f"CYL-{n}/ring-lower"), claims) for n in range(1, 7)],
            kind="remove",
            at=NOON + 60 * DAY,
        )
    scrap(
        actor=PersonFactory(), stamp=stamp(NOON + 61 * DAY), place="R1", item_id=loose.pk, amount=4, reason="cut",
        who_pays="shop",
    )  # fmt: skip
    shelf("Q-store", at=site("QY"))
    things.make_place("VAN", PlaceKind.VAN, site=None)
    later = stamp(NOON + 62 * DAY)
    lines = [SendLine(loose.pk, 2, "R1")]
    note = send_to_site(actor=PersonFactory(), stamp=later, van="VAN", to_site="QY", lines=lines).act_id
    take_in(actor=PersonFactory(), stamp=stamp(NOON + 62 * DAY), note=note, lines=[TakeLine(1, 2, "Q-store")])
    return lot_of(ring, "SB-2341")


def test_the_stopped_lot_adds_up_to_the_hundred_that_were_received():
    # Worked example of the demo shop: 54 in engines + 30 removed + 10 on the shelf + 4 scrapped + 2 at the other site = 100;
    # by source: kits 16 = 12 fitted + 4 closed, loose 84 = 72 fitted + 6 shelf + 4 scrapped + 2 at the other site.
    lot = demo_lot()
    stop_lot(actor=PersonFactory(), stamp=stamp(NOON + 70 * DAY), lot_id=lot.pk, reason="leaks")
    found = lot_whereabouts(lot.pk)
    total = found.sum
    assert (found.lot, found.part, found.stopped) == ("SB-2341", "R-113", True)
    assert (total.received_loose, total.received_in_kits, total.received) == (84, 16, 100)
    assert (total.in_engines, total.removed, total.loose, total.in_closed_kits, total.scrapped) == (54, 30, 8, 4, 4)
    assert (total.accounted, total.difference) == (100, 0)
    assert [(row.place, row.site, row.loose, row.used, row.in_kits, row.boxes) for row in found.places] == [
        ("Q-store", "QY", 2, 0, 0, 0),
        ("R1", "TS", 6, 0, 4, 4),
        ("claim shelf", "TS", 30, 30, 0, 0),
    ]
    assert sorted({row.place for row in found.engines}) == [f"E-{number:02d}" for number in range(5, 14)]
    assert {row.place for row in found.engines if row.kit == "R-802 K-77"} == {"E-12", "E-13"}
    assert len(found.removed) == 30
    assert {(row.from_place, row.to_place, row.kind) for row in found.removed} == {
        (f"E-{number:02d}", "claim shelf", "remove") for number in range(5)
    }
    assert [(row.part, row.lot, row.pieces, row.closed, row.opened) for row in found.kits] == [
        ("R-802", "K-77", 1, 4, 12)
    ]
    assert (found.possible, found.last) == ((), ())


def test_the_kits_own_lot_is_not_the_lot_of_its_rings():
    lot = demo_lot()
    found = lot_whereabouts(lot_of(lot.inside_kit_lots.get().kit_lot.part, "K-77").pk)
    assert (found.sum.received, found.sum.loose, found.sum.opened, found.sum.difference) == (16, 4, 12, 0)
    assert found.engines == ()


def test_a_bag_that_cannot_be_read_is_lot_unknown_and_counts_as_any_lot_of_the_part():
    ring, kit = PartFactory(number="RING"), PartFactory(number="KIT", kind="kit")
    kit_of(kit, (ring, 2))
    stock(ring, 10, lot="A")
    box = kits(kit, "K1", 3)
    out = opened(box, 2, to_place=quarantine().code)
    move((out[0], 1, spot(quarantine()), spot(engine_place("E-1"), "CYL-1/ring")), at=NOON + 2 * DAY)
    found = lot_whereabouts(lot_of(ring, "A").pk)
    assert (found.sum.received, found.sum.difference) == (10, 0)
    assert [(row.kit, row.place, row.kind, row.spot, row.amount) for row in found.possible] == [
        ("KIT K1", "E-1", "engine", "CYL-1/ring", 1),
        ("KIT K1", "Q1", "quarantine", "-", 3),
    ]
    other = PartFactory(number="OTHER")
    stock(other, 1, lot="B")
    assert lot_whereabouts(lot_of(other, "B").pk).possible == ()


def test_a_lot_read_only_when_its_box_was_opened_counts_as_received_then():
    ring, kit = PartFactory(number="RING"), PartFactory(number="KIT", kind="kit")
    kit_of(kit, (ring, 2))
    opened(kits(kit, "K1", 3), 2, inner_lots={"RING": "A"})
    total = lot_whereabouts(lot_of(ring, "A").pk).sum
    assert (total.received_loose, total.received_in_kits, total.told_by_opening, total.loose) == (0, 0, 4, 4)
    assert total.difference == 0


def test_a_bag_read_as_another_lot_than_the_box_said_is_named_and_both_lots_add_up():
    ring, kit = PartFactory(number="RING"), PartFactory(number="KIT", kind="kit")
    kit_of(kit, (ring, 2))
    box = kits(kit, "K1", 3, RING="A")
    opened(box, 2, inner_lots={"RING": "B"}, reason="the bag says so")
    said, read = (lot_whereabouts(lot_of(ring, code).pk).sum for code in "AB")
    assert (said.received, said.in_closed_kits, said.read_otherwise, said.difference) == (6, 2, 4, 0)
    assert (read.received, read.told_by_opening, read.loose, read.difference) == (4, 4, 4, 0)


def test_a_receipt_that_was_taken_back_was_no_receipt_and_no_return():
    ring = PartFactory(number="RING")
    stock(ring, 10, lot="A")
    wrong = move((item_of(ring, lot="A"), 5, spot(PlaceKind.SUPPLIER), spot(shelf())), kind="receive")
    take_back(wrong, NOON + DAY)
    total = lot_whereabouts(lot_of(ring, "A").pk).sum
    assert (total.received, total.returned, total.loose, total.difference) == (10, 0, 10, 0)


def test_returned_counted_and_brought_pieces_are_said_apart():
    ring = PartFactory(number="RING")
    stock(ring, 10, lot="A")
    item, home = item_of(ring, lot="A"), spot(shelf())
    move((item, 3, home, spot(PlaceKind.SUPPLIER)), at=NOON + DAY)
    move((item, 2, home, spot(PlaceKind.COUNT_DIFFERENCE)), at=NOON + DAY)
    move((item, 1, spot(PlaceKind.COUNT_DIFFERENCE), home), at=NOON + DAY)
    move((item, 1, home, spot(cart("C1"))), at=NOON + DAY)
    total = lot_whereabouts(lot_of(ring, "A").pk).sum
    assert (total.received, total.returned, total.counted_short, total.counted_over) == (10, 3, 2, 1)
    assert (total.loose, total.difference) == (6, 0)


def test_an_opened_tube_leaves_the_sum_of_closed_ones_and_is_listed_in_microlitres():
    tube = PartFactory(
        number="SEAL", kind="sealant", net_ul=80_000, tracked_by="lot", density_mg_per_ml=1000, empty_mg=9000
    )
    stock(tube, 12, lot="T1")
    item = item_of(tube, lot="T1")
    open_tube(actor=PersonFactory(), stamp=stamp(NOON + DAY), item_id=item.pk, place=shelf().code, tube_number="tube 7")
    poured = Item.objects.select_related("part").get(tube__number="tube 7")
    there = spot(engine_place("E-1"), "SUMP/bead")
    move((poured, 7000, Balance.objects.get(item=poured, real=True).spot, there), at=NOON + 2 * DAY)
    found = lot_whereabouts(lot_of(tube, "T1").pk)
    assert (found.sum.received, found.sum.loose, found.sum.opened, found.sum.difference) == (12, 11, 1, 0)
    assert [(row.number, row.place, row.spot, row.amount) for row in found.tubes] == [
        ("tube 7", "E-1", "SUMP/bead", 7000),
        ("tube 7", "R1", "-", 73_000),
    ]


@pytest.mark.damages_books
def test_a_sum_that_is_off_says_by_how_many_and_names_the_last_movements():
    ring = PartFactory(number="RING")
    stock(ring, 10, lot="A")
    item = item_of(ring, lot="A")
    fit(item, spot(shelf()), "E-1", 2)
    Balance.objects.filter(item=item, spot=spot(shelf())).update(amount=5)
    found = lot_whereabouts(lot_of(ring, "A").pk)
    assert found.sum.difference == 3
    assert [(row.kind, row.amount, row.to_place) for row in found.last] == [
        ("receive", 10, "R1"),
        ("fit", 1, "E-1"),
        ("fit", 1, "E-1"),
    ]


def test_a_lot_that_is_not_there():
    with pytest.raises(DomainError) as refused:
        lot_whereabouts(1)
    assert refused.value.code == "not-found"


def test_boxes_inside_boxes():
    ring = PartFactory(number="RING")
    inner, outer = PartFactory(number="INNER", kind="kit"), PartFactory(number="OUTER", kind="kit")
    kit_of(inner, (ring, 2))
    kit_of(outer, (inner, 3))
    kits(inner, "I1", 1, RING="A")
    big = kits(outer, "O1", 2, INNER="I1")
    lot = lot_of(ring, "A")
    assert (lot_whereabouts(lot.pk).sum.received, lot_whereabouts(lot.pk).sum.in_closed_kits) == (14, 14)
    small = opened(big, 1)[0]
    assert small.part == inner
    total = lot_whereabouts(lot.pk).sum
    assert (total.received, total.in_closed_kits, total.difference) == (14, 14, 0)
    opened(small, 2)
    total = lot_whereabouts(lot.pk).sum
    assert (total.received, total.in_closed_kits, total.loose, total.difference) == (14, 10, 4, 0)


@pytest.mark.parametrize("engines", [1, 3])
def test_the_queries_do_not_grow_with_the_answer(engines, django_assert_num_queries):
    ring, kit = PartFactory(number="RING"), PartFactory(number="KIT", kind="kit")
    kit_of(kit, (ring, 1))
    stock(ring, 20, lot="A")
    kits(kit, "K1", 3, RING="A")
    item = item_of(ring, lot="A")
    for number in range(engines):
        fit(item, spot(shelf()), f"E-{number}", 3)
    lot = lot_of(ring, "A").pk
    with django_assert_num_queries(5):
        lot_whereabouts(lot)
    for number in range(engines):
        move(
            (item, 1, spot(engine_place(f"E-{number}"), "CYL-1/ring-lower"), spot(quarantine())),
            at=NOON + timedelta(days=9),
        )
    with django_assert_num_queries(6):
        assert len(lot_whereabouts(lot).removed) == engines


def test_pieces_of_unknown_lot_are_found_by_their_own_small_index():
    ring = PartFactory(number="RING")
    stock(ring, 20, lot="A")
    lot = lot_of(ring, "A")
    Item.objects.bulk_create(
        Item(part=ring, identity=f"lot=A|kit={n}", lot=lot, base="piece", single=False) for n in range(500)
    )
    assert "item_lot_unknown" in plans(lambda: lot_whereabouts(lot_of(ring, "A").pk))


def test_no_query_reads_a_large_table_through_or_starts_at_the_acts():
    ring = PartFactory(number="RING")
    for code in "ABC":
        stock(ring, 20, lot=code)
        fit(item_of(ring, lot=code), spot(shelf()), f"E-{code}", 3)
    said = plans(lambda: lot_whereabouts(lot_of(ring, "A").pk))
    assert re.search(r"inventory_movement_item_id", said)
    assert not re.search(r"SCAN (a|b|m|f|i|inventory_\w+)\b|inventory_movement_act_id", said)


def test_things_are_named_by_the_services_as_here():
    """The identity that the tests look items up by is the one that the services write."""
    ring = PartFactory(number="RING")
    stock(ring, 1, lot="A|B")
    assert item_of(ring, lot="A|B") == things.item(ring, lot=lot_of(ring, "A|B"))
