"""A stage for each act of the stores."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.domain.catalogue import KitLine, PartFacts
from inventory.models import Hold, Item, Part, Replacement
from inventory.services.assemble_kit import LimbIn, assemble_kit
from inventory.services.break_set import break_set
from inventory.services.catalogue import change_part, create_part, create_supplier, sell_part
from inventory.services.core_value import decide_core_value
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.extend_life import extend_life
from inventory.services.join_parts import join_parts
from inventory.services.open_item import open_kit
from inventory.services.open_tube import open_tube, weigh_tube
from inventory.services.photos import enter_photo
from inventory.services.put_right import relabel_set, set_lot_dates
from inventory.services.receive import ReceiveLine, SetLabel, receive
from inventory.services.replacements import (
    NewPart,
    ReplacementIn,
    add_kit_revision,
    add_replacement,
    withdraw_replacement,
)
from inventory.services.safety_sheets import enter_safety_sheet, sign_safety_sheets
from inventory.services.scrap import scrap
from inventory.services.set_up import PlaceIn, add_places, add_site, set_up_shop
from inventory.services.sheets import enter_sheet, sign_sheet
from inventory.services.stops import free_item, free_lot, stop_item, stop_lot
from inventory.services.storage import TemperatureIn, log_temperatures, offer_storage, withdraw_temperature
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from inventory.services.withdraw_stock import withdraw_stock
from tests.factories.acts import held, picked
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, cart, shelf, stamp, stock
from tests.factories.stores_kits import closed_kits, kit
from tests.faults.scenes import fresh, scene


def lot_of(pieces: int, *, promised: int = 0, **more: Any) -> Item:
    """So many pieces of a new part in one lot on shelf R1, some of them held for a cart."""
    part = PartFactory(number=fresh("F-"), **more)
    stock(part, pieces, lot="A", place=shelf("R1"))
    item = Item.objects.select_related("lot", "part").get(part=part)
    if promised:
        held(item, cart(fresh("cart F")), promised)
    return item


def set_on_shelf() -> Item:
    """A matched set of a new part on shelf R1, held for a cart."""
    part = PartFactory(number=fresh("FS-"), kind="matched set", tracked_by="set")
    stock(part, serial="S-1", place=shelf("R1"), set_label=SetLabel(weight_mg=400_000, weighed="with pin"))
    item = Item.objects.select_related("part").get(part=part)
    held(item, cart(fresh("cart F")))
    return item


def tube(opened: bool) -> tuple[Item, str]:
    """A closed tube of a new product on shelf R1, or an opened one with its number."""
    part = PartFactory(number=fresh("FT-"), net_ul=80_000, empty_mg=12_000, density_mg_per_ml=1_400)
    stock(part, 2, lot="A", place=shelf("R1"))
    item, number = Item.objects.get(part=part), fresh("tube ")
    if opened:
        open_tube(actor=PersonFactory(), stamp=stamp(), item_id=item.pk, place="R1", tube_number=number)
    return item, number


@scene(receive)
def a_lot_and_a_set() -> dict[str, Any]:
    bag, box = PartFactory(number=fresh("F-")), PartFactory(number=fresh("FS-"), tracked_by="set")
    lines = [
        ReceiveLine(bag.number, 4, lot="A", total_coins=1_000),
        ReceiveLine(box.number, 1, serial="S-1", set_label=SetLabel(weight_mg=400_000, weighed="with pin")),
    ]
    return {"supplier": SupplierFactory().code, "place": "R1", "lines": lines, "note": "two boxes"}


@scene(receive)
def a_kit_with_inner_bags() -> dict[str, Any]:
    inside = fresh("F-")
    box = kit(fresh("FK-"), {inside: 2})
    lines = [ReceiveLine(box.number, 3, lot="K", inner_lots={inside: "A"})]
    return {"supplier": SupplierFactory().code, "place": "R1", "lines": lines}


@scene(transfer)
def to_another_shelf() -> dict[str, Any]:
    return {"lines": [TransferLine(lot_of(4, promised=1).pk, 3, "R1", "R2", to_spot=fresh("bin "))]}


@scene(release_quarantine)
def an_undated_lot() -> dict[str, Any]:
    part = PartFactory(number=fresh("F-"), life={"years": 5, "from": "cure"})
    lines = [ReceiveLine(part.number, 4, lot="A")]
    receive(
        actor=PersonFactory(), stamp=stamp(), supplier=SupplierFactory().code, place="R1", quarantine="Q1", lines=lines
    )
    back = ReleaseLine(Item.objects.get(part=part).pk, 4, "Q1", "R1", cure_code="3Q23")
    return {"lines": [back], "note": "the bag was found"}


@scene(count)
def short_and_over() -> dict[str, Any]:
    one, other = lot_of(4, promised=3), lot_of(2)
    lines = [CountLine(2, item_id=one.pk), CountLine(5, item_id=other.pk)]
    return {"place": "R1", "lines": lines, "reason": "counted"}


@scene(scrap)
def what_is_held() -> dict[str, Any]:
    item = lot_of(4, promised=4)
    return {"place": "R1", "item_id": item.pk, "amount": 3, "reason": "wet", "who_pays": "shop"}


@scene(decide_core_value)
def a_broken_liner() -> dict[str, Any]:
    whole = set_on_shelf()
    words = {"part": whole.part.number, "serial": "S-1"}
    break_set(
        actor=PersonFactory(),
        stamp=stamp(),
        damaged="pin",
        reason="dropped",
        orphan_place="Q1",
        photo_ref="photo 12",
        **words,
    )
    return words | {"value_coins": 2_500, "reason": "the maker takes liners back"}


@scene(break_set)
def a_held_set() -> dict[str, Any]:
    part = set_on_shelf().part.number
    return {
        "part": part,
        "serial": "S-1",
        "damaged": "liner",
        "reason": "dropped",
        "orphan_place": "Q1",
        "photo_ref": "photo 12",
    }


@scene(break_set)
def a_picked_set() -> dict[str, Any]:
    words = a_held_set()
    picked(Hold.objects.get(item__part__number=words["part"]), 1)
    return words


@scene(break_set)
def half_a_box() -> dict[str, Any]:
    part = set_on_shelf().part.number
    return {"part": part, "serial": "S-1", "missing": ["pin"], "reason": "the box held no pin", "orphan_place": "Q1"}


@scene(assemble_kit)
def two_boxes() -> dict[str, Any]:
    bag, seals = lot_of(2), lot_of(8, promised=1)
    box = kit(fresh("FK-"), {bag.part.number: 1, seals.part.number: 3})
    limbs = [LimbIn(bag.pk, 1, "R1"), LimbIn(seals.pk, 3, "R1")]
    return {"kit": box.number, "lot": "OURS", "contents": limbs, "place": "R1", "boxes": 2}


@scene(open_kit)
def a_held_box() -> dict[str, Any]:
    ring, bolt = fresh("F-"), fresh("F-")
    box = kit(fresh("FK-"), {ring: 2, bolt: 4})
    closed_kits(box.number, 2, lot="K", inner={ring: "A"})
    item = Item.objects.get(part=box)
    held(item, cart(fresh("cart F")), 2)
    return {"item_id": item.pk, "place": "R1", "inner_lots": {ring: "A", bolt: "B"}}


@scene(open_tube)
def a_closed_tube() -> dict[str, Any]:
    item, number = tube(opened=False)
    return {"item_id": item.pk, "place": "R1", "tube_number": number}


@scene(weigh_tube)
def an_opened_tube() -> dict[str, Any]:
    return {"tube": tube(opened=True)[1], "weight": 40_000}


#: An invented product sheet.
SHEET: dict[str, Any] = {
    "edition": "sheet 1, edition 2, page 3",
    "cures_by": "moisture of the air",
    "entries": [
        {"temperature": "23 °C", "humidity": "50 %", "window": "10 min", "fill_after": "2 h", "run_after": "12 h"}
    ],
}


@scene(enter_sheet)
def a_sealant_without_a_sheet() -> dict[str, Any]:
    return {"part": PartFactory(number=fresh("FT-"), kind="sealant").number, **SHEET}


@scene(sign_sheet)
def a_sheet_on_record() -> dict[str, Any]:
    part = PartFactory(number=fresh("FT-"), kind="sealant").number
    enter_sheet(actor=PersonFactory(), stamp=stamp(), part=part, **SHEET)
    return {"part": part}


@scene(enter_safety_sheet)
def a_chemical_without_its_sheet() -> dict[str, Any]:
    part = PartFactory(number=fresh("FT-"), kind="fluid").number
    return {"part": part, "link": "office", "issued_on": date(2024, 1, 1)}


@scene(sign_safety_sheets)
def a_safety_sheet_on_record() -> dict[str, Any]:
    given = a_chemical_without_its_sheet()
    enter_safety_sheet(actor=PersonFactory(), stamp=stamp(), **given)
    return {"parts": [given["part"]]}


@scene(offer_storage)
def a_shelf() -> dict[str, Any]:
    return {"place": shelf(fresh("FR-")).code, "classes": ["dry"], "high": "25 °C"}


@scene(log_temperatures)
def a_shelf_and_its_recorder() -> dict[str, Any]:
    readings = [TemperatureIn(NOON, value, "T-1") for value in ("21 °C", "22 °C")]
    return {"place": shelf(fresh("FR-")).code, "readings": readings}


@scene(withdraw_temperature)
def a_reading_in_the_log() -> dict[str, Any]:
    given = a_shelf_and_its_recorder()
    made = log_temperatures(actor=PersonFactory(), stamp=stamp(), **given).body["readings"]
    return {"reading": made[0]["id"], "reason": "it lay in the sun"}


@scene(stop_lot)
def a_lot_held_for_two() -> dict[str, Any]:
    item = lot_of(4, promised=1)
    held(item, cart(fresh("cart F")), 2)
    return {"lot_id": item.lot_id, "reason": "leaks reported"}


@scene(free_lot)
def a_stopped_lot() -> dict[str, Any]:
    lot = lot_of(4).lot_id
    done = stop_lot(actor=PersonFactory(), stamp=stamp(), lot_id=lot, reason="leaks reported")
    return {"lot_id": lot, "stop_id": done.body["stop"], "reason": "tested well"}


@scene(extend_life)
def a_lot_to_be_inspected() -> dict[str, Any]:
    part = PartFactory(number=fresh("F-"), life={"from": "cure", "years": 7, "extendable": True})
    stock(part, 4, lot="A", place=shelf("R1"), cure_code="3Q22")
    return {"lot_id": part.lots.get().pk, "sample_pieces": 2, "passed": True, "found": "no cracks"}


@scene(set_lot_dates)
def a_lot_with_a_wrong_date() -> dict[str, Any]:
    part = PartFactory(number=fresh("F-"), life={"from": "cure", "years": 7})
    stock(part, 4, lot="A", place=shelf("R1"), cure_code="3Q22")
    held(Item.objects.get(part=part), cart(fresh("cart F")), 2)
    return {"lot_id": part.lots.get().pk, "cure_code": "3Q12", "reason": "read by two people"}


@scene(relabel_set)
def a_set_with_a_wrong_label() -> dict[str, Any]:
    return {
        "part": set_on_shelf().part.number,
        "serial": "S-1",
        "label": SetLabel(weight_mg=416_000, weighed="with pin"),
        "reason": "read by two people",
    }


@scene(stop_item)
def an_item_held() -> dict[str, Any]:
    return {"item_id": lot_of(4, promised=2).pk, "reason": "bent"}


@scene(free_item)
def a_stopped_item() -> dict[str, Any]:
    item = lot_of(4).pk
    done = stop_item(actor=PersonFactory(), stamp=stamp(), item_id=item, reason="bent")
    return {"item_id": item, "stop_id": done.body["stop"], "reason": "straight after all"}


@scene(correct)
def a_wrong_count() -> dict[str, Any]:
    lines = [CountLine(1, item_id=lot_of(4, promised=2).pk), CountLine(6, item_id=lot_of(2).pk)]
    done = count(actor=PersonFactory(), stamp=stamp(), place="R1", lines=lines, reason="counted")
    return {"act_id": done.act_id, "reason": "the wrong shelf"}


@scene(create_part)
def a_new_part() -> dict[str, Any]:
    return {"facts": PartFacts(fresh("FN-"), "washer", "EA")}


@scene(change_part)
def a_known_part() -> dict[str, Any]:
    part = PartFactory(number=fresh("FN-"))
    return {"number": part.number, "version": part.version, "changes": {"name": "another name"}}


@scene(join_parts)
def two_records_of_one_number() -> dict[str, Any]:
    kept = lot_of(4, promised=1).part.number
    joined = PartFactory(number=kept.replace("-", " "))
    stock(joined, 3, lot="A", place=shelf("R1"))
    return {"joined": joined.number, "kept": kept, "reason": "typed twice"}


@scene(enter_photo)
def a_photo_of_a_part() -> dict[str, Any]:
    return {"part": PartFactory(number=fresh("FN-")).number, "link": "counter, green folder"}


@scene(withdraw_stock)
def old_stock_of_a_withdrawn_number() -> dict[str, Any]:
    old, new = lot_of(4, promised=2).part.number, PartFactory(number=fresh("FN-")).number
    Replacement.objects.create(old=Part.objects.get(number=old), way="one way", fate="withdrawn")
    return {"part": old, "place": "Q1", "reason": f"{new} takes its place"}


@scene(create_supplier)
def a_new_supplier() -> dict[str, Any]:
    return {"code": fresh("s"), "name": "A supplier"}


@scene(sell_part)
def a_part_sold() -> dict[str, Any]:
    return {"supplier": SupplierFactory().code, "part": PartFactory(number=fresh("FN-")).number, "price_coins": 900}


@scene(add_replacement)
def one_by_two() -> dict[str, Any]:
    old, one, two = (PartFactory(number=fresh("FN-")).number for _ in range(3))
    return {"line": ReplacementIn(old, [NewPart(one), NewPart(two, 2)], way="one to several")}


@scene(withdraw_replacement)
def a_known_replacement() -> dict[str, Any]:
    old, new = (PartFactory(number=fresh("FN-")) for _ in range(2))
    add_replacement(actor=PersonFactory(), stamp=stamp(), line=ReplacementIn(old.number, [NewPart(new.number)]))
    return {"replacement_id": Replacement.objects.get(old=old).pk, "reason": "a misprint"}


@scene(add_kit_revision)
def a_second_revision() -> dict[str, Any]:
    inside = fresh("F-")
    return {"kit": kit(fresh("FK-"), {inside: 2}).number, "lines": [KitLine(inside, 3)]}


@scene(set_up_shop)
def a_new_site() -> dict[str, Any]:
    code = fresh("X")
    places = [PlaceIn(f"{code}-1", "shelf", code), PlaceIn(f"{code}-2", "quarantine", code)]
    return {"sites": {code: "another"}, "places": places, "settings": {"margin_days": 14}}


@scene(add_site)
def one_more_site() -> dict[str, Any]:
    return {"code": fresh("Y"), "name": "one more"}


@scene(add_places)
def two_more_places() -> dict[str, Any]:
    code = fresh("Z")
    return {"places": [PlaceIn(f"{code}-1", "van"), PlaceIn(f"{code}-2", "quarantine")]}
