"""Who delivered a lot or a thing, by the deliveries that stand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping

from django.db.models import Q

from inventory.models import InnerLot, Item
from inventory.queries.deliveries import standing_lines

Codes = frozenset[str]


def sellers_of_lots(lot_ids: Collection[int]) -> dict[int, Codes]:
    """Lot → codes of the suppliers that delivered it, loose or inside kits; none where no delivery of it is on record, as of stock that was
    counted over. Two queries, one more for each level of kits."""
    holding = _holding(lot_ids)
    every = {one for lots in holding.values() for one in lots}
    came: dict[int, set[str]] = defaultdict(set)
    for lot, code in standing_lines().filter(item__lot__in=every).values_list("item__lot", "receipt__supplier__code"):
        came[lot].add(code)
    return {lot: frozenset().union(*(came[one] for one in lots)) for lot, lots in holding.items()}


def sellers_of_items(items: Iterable[Item]) -> dict[int, Codes]:
    """Item → codes of the suppliers that delivered its lot, its serial, the kit it came out of, or the like of it where it has neither; none
    where nobody on record did. Four queries, one more for each level of kits."""
    found = list(items)
    kits = dict(Item.objects.filter(pk__in={one.from_kit_id for one in found}).values_list("pk", "lot"))
    lots = {one.pk: {one.lot_id, kits.get(one.from_kit_id or 0)} - {None} for one in found}
    of_lots = sellers_of_lots({lot for some in lots.values() for lot in some if lot})
    things = {one.pk for one in found} | set(kits)
    serials = {one.serial_id for one in found if one.serial_id}
    rows = standing_lines().filter(Q(item__in=things) | Q(item__serial__in=serials))
    by_thing: dict[int, set[str]] = defaultdict(set)
    by_serial: dict[int, set[str]] = defaultdict(set)
    for thing, serial, code in rows.values_list("item", "item__serial", "receipt__supplier__code"):
        by_thing[thing].add(code)
        by_serial[serial].add(code)
    return {
        one.pk: frozenset().union(
            by_thing[one.pk],
            by_thing[one.from_kit_id or 0],
            by_serial[one.serial_id or 0],
            *(of_lots[lot] for lot in lots[one.pk] if lot),
        )
        for one in found
    }


def _holding(lot_ids: Collection[int]) -> Mapping[int, set[int]]:
    """Lot → itself and the lots of kits inside which it came, at every depth."""
    above: dict[int, set[int]] = defaultdict(set)
    seen: set[int] = set()
    new = set(lot_ids)
    while new:
        seen |= new
        pairs = list(InnerLot.objects.filter(lot__in=new).values_list("lot", "kit_lot"))
        for lot, kit in pairs:
            above[lot].add(kit)
        new = {kit for _, kit in pairs} - seen
    found: dict[int, set[int]] = {}
    for lot in lot_ids:
        reached, ahead = {lot}, {lot}
        while ahead:
            ahead = {kit for one in ahead for kit in above[one]} - reached
            reached |= ahead
        found[lot] = reached
    return found
