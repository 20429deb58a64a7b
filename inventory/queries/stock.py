"""What is on the shelves, and how much of it is free to be promised."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.models import Balance, InnerLot, Item, Stop


@dataclass(frozen=True, slots=True)
class Standing:
    """An item at a shelf spot; `free` = amount − held, whole base units."""

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

    @property
    def use_by(self) -> date | None:
        """Last day of use: of an opened tube its own, else the lot's; None where there is no limit."""
        return self.tube_use_by if self.tube_number else self.expires_on

    @property
    def free(self) -> int:
        """Amount not held for a job."""
        return self.amount - self.held


def open_stops() -> QuerySet[Stop]:
    """Stops that were not lifted."""
    return Stop.objects.filter(freed__isnull=True)


def stopped(item: str = "item") -> Q:
    """A condition: the item, its lot, or a lot inside its closed kit (or inside a kit in that kit) is stopped.

    `item` is the path to the item.
    """
    prefix = f"{item}__" if item else ""
    lots = open_stops().filter(lot__isnull=False).values("lot")
    boxes = InnerLot.objects.filter(lot__in=lots).values("kit_lot")
    inner = InnerLot.objects.filter(Q(lot__in=lots) | Q(lot__in=boxes), kit_lot=OuterRef(f"{prefix}lot"))
    return (
        Q(Exists(open_stops().filter(lot=OuterRef(f"{prefix}lot"))))
        | Q(Exists(open_stops().filter(item=OuterRef(f"{prefix}pk"))))
        | Q(Exists(inner))
    )


def on_shelves(part_ids: Collection[int], site_id: int | None = None) -> list[Standing]:
    """Everything of these parts that stands on shelves (of one site), stopped things marked; by part, walk and item.

    One query. Sorted so that two machines give the same answer.
    """
    rows = Balance.objects.filter(pickable=True, amount__gt=0, part_id__in=part_ids)
    if site_id is not None:
        rows = rows.filter(place__site_id=site_id)
    return _standings(rows)


def in_place(place_ids: Collection[int]) -> list[Standing]:
    """Everything that stands in these places (carts, benches, shelves), stopped things marked. One query."""
    return _standings(Balance.objects.filter(place_id__in=place_ids, amount__gt=0))


def _standings(rows: QuerySet[Balance]) -> list[Standing]:
    values = (
        rows.annotate(is_stopped=stopped())
        .order_by("part_id", "place__walk_order", "item_id", "spot_id")
        .values_list(
            "item_id",
            "spot_id",
            "part_id",
            "place__code",
            "spot__name",
            "place__walk_order",
            "amount",
            "held",
            "item__identity",
            "item__lot__code",
            "item__serial__number",
            "item__from_kit_id",
            "item__lot__expires_on",
            "item__lot__received_on",
            "item__tube__number",
            "item__tube__opened_on",
            "item__tube__use_by",
            "is_stopped",
        )
    )
    return [
        Standing(*row[:9], row[9] or "", row[10] or "", *row[11:14], row[14] or "", *row[15:17], bool(row[17]))
        for row in values.iterator(chunk_size=5000)
    ]


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


def on_hand(part_id: int) -> tuple[OnHand, ...]:
    """Where a part stands now in the shop: every real place but engines, by site, walk and use-by. One query.

    The partial index over `in_shop` keeps it as quick after ten thousand engines as after ten.
    """
    rows = (
        Balance.objects.filter(part_id=part_id, in_shop=True, amount__gt=0)
        .annotate(is_stopped=stopped())
        .values_list(
            "item_id",
            "place__site__code",
            "place__code",
            "place__kind",
            "spot__name",
            "item__lot__code",
            "item__serial__number",
            "item__member",
            "item__tube__number",
            "item__base",
            "item__lot__expires_on",
            "item__tube__use_by",
            "item__lot__received_on",
            "amount",
            "held",
            "pickable",
            "is_stopped",
            "place__walk_order",
        )
    )
    found = []
    for row in rows:
        use_by = row[11] if row[8] else row[10]
        free = row[13] - row[14] if row[15] and not row[16] else 0
        apart = row[3] == PlaceKind.QUARANTINE
        said = OnHand(
            row[0], row[1] or "", *row[2:5], row[5] or "", row[6] or "", row[7], row[8] or "", row[9], use_by, row[12],
            row[13], row[14], free, apart, bool(row[16]),
        )  # fmt: skip
        found.append((said.site, row[17], said.place, use_by or date.max, said.lot, said.spot, said.item_id, said))
    return tuple(row[-1] for row in sorted(found, key=lambda row: row[:-1]))


def stopped_items(item_ids: Collection[int]) -> set[int]:
    """Which of these items are stopped: themselves, by their lot, or by a lot inside their closed kit. One query."""
    return set(Item.objects.filter(stopped(""), pk__in=item_ids).values_list("pk", flat=True))
