"""What is on the shelves, and how much of it is free to be promised."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.models import InnerLot, Item, Stop
from inventory.queries.by_hand import STOPPED, marks, rows
from inventory.queries.held import Thing
from inventory.queries.limited import LIMITED
from inventory.queries.withdrawn import withdrawn


@dataclass(frozen=True, slots=True)
class Standing:
    """An item at a shelf spot; `free` = amount − held, whole base units. `limited`: a notice leaves its number to some engines."""

    item_id: int
    spot_id: int
    part_id: int
    place_code: str
    spot_name: str
    walk_order: int
    amount: int
    held: int
    identity: str
    lot_code: str
    serial: str
    from_kit_id: int | None
    expires_on: date | None
    received_on: date | None
    tube_number: str
    tube_opened_on: date | None
    tube_use_by: date | None
    stopped: bool
    part: str
    kind: str
    single: bool
    member: str
    serial_id: int | None
    limited: bool

    @property
    def use_by(self) -> date | None:
        """Last day of use: of an opened tube its own, else the lot's; None where there is no limit."""
        return self.tube_use_by if self.tube_number else self.expires_on

    @property
    def thing(self) -> Thing:
        """The item, as a posting has to know it."""
        return Thing(self.item_id, self.part_id, self.single, self.member, self.serial_id)

    @property
    def free(self) -> int:
        """Amount not held for a job."""
        return self.amount - self.held


def open_stops() -> QuerySet[Stop]:
    """Stops that were not lifted."""
    return Stop.objects.filter(freed__isnull=True)


def stopped(item: str = "item") -> Q:
    """A condition: the item, its lot, the opened kit that it came out of (or the kit around that one), or a lot inside its closed kit (or inside a kit in that kit) is stopped, or old stock of its
    number is withdrawn.

    `item` is the path to the item.
    """
    prefix = f"{item}__" if item else ""
    lots = open_stops().filter(lot__isnull=False).values("lot")
    boxes = InnerLot.objects.filter(lot__in=lots).values("kit_lot")
    inner = InnerLot.objects.filter(Q(lot__in=lots) | Q(lot__in=boxes), kit_lot=OuterRef(f"{prefix}lot"))
    items = open_stops().filter(item__isnull=False).values("item")
    around = Q(lot__in=lots) | Q(from_kit__lot__in=lots) | Q(pk__in=items) | Q(from_kit__in=items)
    return (
        Q(Exists(Item.objects.filter(around, pk=OuterRef(f"{prefix}from_kit"))))
        | Q(Exists(open_stops().filter(lot=OuterRef(f"{prefix}lot"))))
        | Q(Exists(open_stops().filter(item=OuterRef(f"{prefix}pk"))))
        | Q(Exists(inner))
        | withdrawn(f"{prefix}part")
    )


def on_shelves(part_ids: Collection[int], site_id: int | None = None) -> list[Standing]:
    """Everything of these parts that stands on shelves (of one site), stopped things marked; by part, walk and item.

    Two queries. Sorted so that two machines give the same answer.
    """
    if not part_ids:
        return []
    found = _which(f"pickable AND amount > 0 AND part_id IN ({marks(len(part_ids))})", [*part_ids])
    if site_id is None:
        return _standings(found)
    # "+ 0" keeps SQLite, which knows nothing of how many there are, from starting at all places of the site.
    return _standings(found, " AND p.site_id + 0 = %s", [site_id])


def in_place(place_ids: Collection[int]) -> list[Standing]:
    """Everything that stands in these places (carts, benches, shelves), stopped things marked. Two queries."""
    if not place_ids:
        return []
    return _standings(_which(f"amount > 0 AND place_id IN ({marks(len(place_ids))})", [*place_ids]))


def _which(where: str, parameters: Sequence[int]) -> list[int]:
    """Ids of balances, by one of the partial indexes.

    They are asked for first, alone: PostgreSQL expects as many as if engines were counted too, and would read all items and
    places of the shop to join them.
    """
    return [row[0] for row in rows(f"SELECT id FROM inventory_balance WHERE {where}", parameters)]


#: By hand: hundreds of rows for every list and every hold.
_STANDINGS = f"""
    SELECT b.item_id, b.spot_id, b.part_id, p.code, s.name, p.walk_order, b.amount, b.held, i.identity, l.code, r.number,
           i.from_kit_id, l.expires_on, l.received_on, t.number, t.opened_on, t.use_by, {STOPPED},
           n.number, n.kind, i.single, i.member, i.serial_id, b.part_id IN ({LIMITED})
    FROM inventory_balance b
    JOIN inventory_item i ON i.id = b.item_id
    JOIN inventory_part n ON n.id = b.part_id
    JOIN inventory_place p ON p.id = b.place_id
    JOIN inventory_spot s ON s.id = b.spot_id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_serial r ON r.id = i.serial_id
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    WHERE b.id IN ({{}})"""


def _standings(ids: Sequence[int], more: str = "", parameters: Sequence[int] = ()) -> list[Standing]:
    if not ids:
        return []
    where = _STANDINGS.format(marks(len(ids))) + more
    found = rows(f"{where} ORDER BY b.part_id, p.walk_order, b.item_id, b.spot_id", [*ids, *parameters])
    standings = []
    for row in found:
        values: list[Any] = [
            *row[:9],
            row[9] or "",
            row[10] or "",
            *row[11:14],
            row[14] or "",
            *row[15:17],
            bool(row[17]),
            *row[18:20],
            bool(row[20]),
            *row[21:23],
            bool(row[23]),
        ]
        standings.append(Standing(*values))
    return standings


def free_by_part(part_ids: Iterable[int], site_id: int, day: date, margin_days: int = 0) -> dict[int, int]:
    """Free whole base units of each part at a site that are usable on a day: not stopped, not past their expiry, unopened."""
    totals: dict[int, int] = dict.fromkeys(part_ids, 0)
    for row in on_shelves(list(totals), site_id):
        if not row.stopped and not row.tube_number and usable_on(row.expires_on, day, margin_days):
            totals[row.part_id] += row.free
    return totals


@dataclass(frozen=True, slots=True)
class OnHand:
    """How much of one item of a part stands at a spot of the shop, in base units of the item.

    use_by    of an opened tube its own, else the lot's expiry; None without a limit
    free      may be promised to a job: on a shelf, not held, not stopped; what has expired on a day is for the reader to see
    apart     in quarantine: on hand, never free
    """

    item_id: int
    site: str
    place: str
    kind: str
    spot: str
    lot: str
    serial: str
    member: str
    tube: str
    base: str
    use_by: date | None
    received_on: date | None
    amount: int
    held: int
    free: int
    apart: bool
    stopped: bool


_ON_HAND = f"""
    SELECT b.item_id, g.code, p.code, p.kind, s.name, l.code, r.number, i.member, t.number, i.base, l.expires_on, t.use_by,
           l.received_on, b.amount, b.held, b.pickable, {STOPPED}, p.walk_order
    FROM inventory_balance b
    JOIN inventory_item i ON i.id = b.item_id
    JOIN inventory_place p ON p.id = b.place_id
    JOIN inventory_spot s ON s.id = b.spot_id
    LEFT JOIN inventory_site g ON g.id = p.site_id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_serial r ON r.id = i.serial_id
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    WHERE b.id IN ({{}})"""


def on_hand(part_id: int) -> tuple[OnHand, ...]:
    """Where a part stands now in the shop: every real place but engines, by site, walk and use-by. Two queries.

    The partial index over `in_shop` keeps it as quick after ten thousand engines as after ten.
    """
    ids = _which("part_id = %s AND in_shop AND amount > 0", [part_id])
    found = []
    for row in rows(_ON_HAND.format(marks(len(ids))), ids) if ids else ():
        use_by = row[11] if row[8] else row[10]
        free = row[13] - row[14] if row[15] and not row[16] else 0
        apart = row[3] == PlaceKind.QUARANTINE
        values: list[Any] = [
            row[0], row[1] or "", *row[2:5], row[5] or "", row[6] or "", row[7], row[8] or "", row[9], use_by, row[12],
            row[13], row[14], free, apart, bool(row[16]),
        ]  # fmt: skip
        said = OnHand(*values)
        found.append((said.site, row[17], said.place, use_by or date.max, said.lot, said.spot, said.item_id, said))
    return tuple(row[-1] for row in sorted(found, key=lambda row: row[:-1]))


def stopped_items(item_ids: Collection[int]) -> set[int]:
    """Which of these items are stopped: themselves, by their lot, or by a lot inside their closed kit. One query."""
    if not item_ids:
        return set()
    sql = f"SELECT i.id FROM inventory_item i WHERE i.id IN ({marks(len(item_ids))}) AND {STOPPED}"
    return {row[0] for row in rows(sql, [*item_ids])}
