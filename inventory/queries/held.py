"""Holds with what they hold and where, each thing read once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models.functions import Coalesce

from inventory.models import Hold, Item, Spot
from inventory.queries.by_hand import marks, rows

#: `Hold.day`, as the database says it.
DAY = Coalesce("to_spot__place__needed_on", "needed_on")


def with_what_and_where(holds: Collection[Hold]) -> None:
    """Give holds their items (with part, lot, serial, tube) and spots (with place). Two queries, none for no hold.

    The holds of a kit share their cart and a few shelves: joined to every hold they would be read a hundred times.
    """
    if not holds:
        return
    items = Item.objects.select_related("part", "lot", "serial", "tube").in_bulk({row.item_id for row in holds})
    spots = Spot.objects.select_related("place").in_bulk(
        {spot for row in holds for spot in (row.from_spot_id, row.to_spot_id)}
    )
    for row in holds:
        row.item, row.from_spot, row.to_spot = items[row.item_id], spots[row.from_spot_id], spots[row.to_spot_id]


@dataclass(frozen=True, slots=True)
class Thing:
    """What a posting has to know of an item: an `Item` without its words, for acts that move hundreds."""

    pk: int
    part_id: int
    single: bool
    member: str
    serial_id: int | None

    def named(self) -> Item:
        """The item itself, with its part, to be called by its name. One query."""
        return Item.objects.select_related("part").get(pk=self.pk)


@dataclass(frozen=True, slots=True)
class Pending:
    """A hold as plain values: what is held, where it lies and where it goes; `how` it ended, empty while it is open."""

    pk: int
    amount: int
    until: date | None
    how: str
    from_spot: Spot
    to_spot: Spot
    thing: Thing
    part: str
    kind: str
    lot: str
    serial: str
    tube: str
    use_by: date | None

    @property
    def label(self) -> str:
        """What a scan of the thing must read: serial, tube number, lot, or the part number where nothing is told apart."""
        return self.serial or self.tube or self.lot or self.part

    @property
    def item_id(self) -> int:
        """Id of the item."""
        return self.thing.pk

    @property
    def from_spot_id(self) -> int:
        """Id of the spot where it lies."""
        return int(self.from_spot.pk)

    @property
    def part_at_site(self) -> tuple[int, int]:
        """(part id, site id): what gets scarcer when it goes."""
        return self.thing.part_id, self.from_spot.place.site_id or 0


_PENDING = """
    SELECT h.id, h.amount, h.until, e.how, h.from_spot_id, h.to_spot_id, i.id, i.part_id, i.single, i.member, i.serial_id,
           p.number, p.kind, l.code, s.number, t.number, CASE WHEN t.id IS NULL THEN l.expires_on ELSE t.use_by END
    FROM inventory_hold h
    JOIN inventory_item i ON i.id = h.item_id
    JOIN inventory_part p ON p.id = i.part_id
    LEFT JOIN inventory_holdend e ON e.hold_id = h.id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_serial s ON s.id = i.serial_id
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    WHERE h.id IN ({})"""


def pending(hold_ids: Collection[int]) -> dict[int, Pending]:
    """Holds by id; unknown ones are left out. Two queries, by hand: a kit has hundreds."""
    if not hold_ids:
        return {}
    found = rows(_PENDING.format(marks(len(hold_ids))), [*hold_ids])
    spots = Spot.objects.select_related("place").in_bulk({spot for row in found for spot in row[4:6]})
    return {
        row[0]: Pending(
            row[0], row[1], row[2], row[3] or "", spots[row[4]], spots[row[5]],
            Thing(row[6], row[7], bool(row[8]), row[9], row[10]),
            row[11], row[12], row[13] or "", row[14] or "", row[15] or "", _day(row[16]),
        )
        for row in found
    }  # fmt: skip


def _day(value: date | str | None) -> date | None:
    """SQLite gives a day that was computed as text."""
    return date.fromisoformat(value) if isinstance(value, str) else value
