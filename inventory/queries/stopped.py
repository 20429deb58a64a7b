"""Where a stopped thing lies, in counts: loose, in engines, in closed kits, in opened tubes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from django.db.models import Q

from inventory.domain.places import PlaceKind
from inventory.domain.whereabouts import OutOfKit
from inventory.models import Balance, InnerLot, Item

Body = dict[str, Any]


def containing(lot_id: int) -> dict[int, int]:
    """Kit lots whose closed boxes hold the lot: kit lot id -> pieces of the lot in each box, kits inside kits followed."""
    each: dict[int, int] = defaultdict(int)
    frontier = {lot_id: 1}
    for _ in range(10):  # kits are packed two or three deep
        rows = InnerLot.objects.filter(lot_id__in=frontier).values_list("kit_lot_id", "lot_id", "amount")
        layer: dict[int, int] = defaultdict(int)
        for kit_lot, inner, amount in rows:
            layer[kit_lot] += frontier[inner] * amount
        if not layer:
            return dict(each)
        for kit_lot, amount in layer.items():
            each[kit_lot] += amount
        frontier = dict(layer)
    raise RuntimeError(f"kits around lot {lot_id} contain each other")


def came_out_of_kits(kit_lots: Iterable[int]) -> Q:
    """A condition over items: they came out of an opened kit of one of these lots, or of a kit in such a kit."""
    lots = list(kit_lots)
    return Q(from_kit__lot__in=lots) | Q(from_kit__from_kit__lot__in=lots)


def out_of_kits(lot_id: int) -> tuple[OutOfKit, ...]:
    """Where what came out of the opened kits of a lot is, engines included, by part and place. One query."""
    items = Item.objects.filter(came_out_of_kits([lot_id]))
    rows = Balance.objects.filter(item__in=items, real=True, amount__gt=0)
    found = (
        OutOfKit(
            part=row.item.part.number,
            lot=row.item.lot_code,
            item_id=row.item_id,
            place_id=row.place_id,
            place=row.place.code,
            kind=row.place.kind,
            spot=row.spot.name,
            amount=row.amount,
            base=row.item.base,
        )
        for row in rows.select_related("item__part", "item__lot", "place", "spot")
    )
    return tuple(sorted(found, key=lambda one: (one.part, one.place, one.spot, one.item_id)))


def where_lot(lot_id: int, boxes: dict[int, int]) -> Body:
    """Counts of where a lot is: {"places": [loose, engines left out], "engines": […], "closed_kits": [{kit, lot, place, boxes,
    amount}], "out_of_kits": see `out_of_kits`, "totals": {kind of place, "engine", "closed kits": amount}}; opened tubes are listed apart, in microlitres."""
    answer = places_of(Q(item__lot_id=lot_id))
    kits: list[Body] = []
    rows = Balance.objects.filter(item__lot_id__in=list(boxes), real=True, amount__gt=0).select_related(
        "item__lot__part", "spot__place__site"
    )
    for row in rows.order_by("spot__place__code", "spot__name", "item_id"):
        box = row.item.lot
        if box is None:
            raise RuntimeError(f"item {row.item_id} was found by its lot and has none")
        kits.append(
            {
                "kit": box.part.number,
                "lot": box.code,
                "place": row.spot.place.code,
                "kind": row.spot.place.kind,
                "boxes": row.amount,
                "amount": row.amount * boxes[box.pk],
            }
        )
    answer["closed_kits"] = kits
    answer["out_of_kits"] = [asdict(one) for one in out_of_kits(lot_id)]
    if kits:
        answer["totals"]["closed kits"] = sum(int(one["amount"]) for one in kits)
    return answer


def places_of(of: Q) -> Body:
    """Counts of where the items of a condition over balances are, opened tubes and engines apart; as `where_lot`."""
    rows = Balance.objects.filter(of, real=True, amount__gt=0).select_related("item__tube", "spot__place__site")
    loose: list[Body] = []
    engines: list[Body] = []
    tubes: list[Body] = []
    totals: dict[str, int] = defaultdict(int)
    for row in rows.order_by("spot__place__code", "spot__name", "item_id"):
        place = row.spot.place
        one = {
            "place": place.code,
            "kind": place.kind,
            "site": place.site.code if place.site else "",
            "spot": row.spot.name,
            "item": row.item_id,
            "amount": row.amount,
            "base": row.item.base,
        }
        if row.item.tube is not None:
            tubes.append({**one, "tube": row.item.tube.number})
            continue
        (engines if place.kind == PlaceKind.ENGINE else loose).append(one)
        totals[place.kind] += row.amount
    return {
        "places": loose,
        "engines": engines,
        "opened_tubes": tubes,
        "closed_kits": [],
        "out_of_kits": [],
        "totals": dict(totals),
    }
