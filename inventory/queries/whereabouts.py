"""Where all pieces of a lot are: on shelves, carts, benches, in the van, in engines, in closed kits, gone for good."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import Exists, OuterRef, Q, Sum

from inventory.domain.corrections import never_in
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind, is_real
from inventory.domain.whereabouts import (
    AtPlace,
    InEngine,
    KitLot,
    Moved,
    OpenedTube,
    Possible,
    Standings,
    Step,
    Thing,
    Whereabouts,
    conserve,
    flows,
    used_at,
)
from inventory.models import Balance, InnerLot
from inventory.queries.by_hand import marks, moment, rows
from inventory.queries.snapshot import snapshot
from inventory.queries.stopped import out_of_kits

#: How many of the last movements are named when the sum does not add up.
LAST = 10


class _Standing(NamedTuple):
    """A balance of an item of the lot, or of a kit that holds it; also where nothing is left."""

    item: int
    lot: int
    tube: str | None
    from_kit: int | None
    from_kit_lot: int | None
    kit_part: str | None
    kit_lot: str | None
    spot: int
    spot_name: str
    place: int
    place_code: str
    kind: str
    site: str | None
    amount: int
    held: int


class _Row(NamedTuple):
    act: int
    item: int
    amount: int
    from_spot: int
    to_spot: int
    kind: str


def lot_whereabouts(lot_id: int) -> Whereabouts:
    """Where the pieces of a lot are and went, with the sum that must equal what was received.

    Five queries; one more when pieces came out of engines or the sum is off, one more when boxes held something else than
    they said, one more when boxes of it were opened; all of one moment. DomainError "not-found".
    """
    with snapshot():
        return _whereabouts(lot_id)


def _whereabouts(lot_id: int) -> Whereabouts:
    heads = rows(_HEAD, [lot_id])
    if not heads:
        raise DomainError("not-found", f"There is no lot {lot_id}.", lot=lot_id)
    found = _Head(*heads[0])
    edges = _edges(lot_id)
    factors = _factors(lot_id, edges)
    standings = _standings(list(factors))
    solid = [row for row in standings if row.tube is None]
    things = {row.item: _thing(row, lot_id, factors, edges) for row in solid}
    moves = _movements(things)
    kinds = {row.spot: PlaceKind(row.kind) for row in standings}
    steps = [
        Step(row.item, row.amount, row.from_spot, row.to_spot, row.act, never_in(row.kind, kinds[row.from_spot]))
        for row in moves
    ]
    gross = flows(steps, things, kinds)
    out_of_engines = [
        row
        for row, step in zip(moves, steps, strict=True)
        if kinds[row.from_spot] is PlaceKind.ENGINE and not step.never_in
    ]
    used = used_at(steps, kinds) if out_of_engines else {}
    places, engines = _places(solid, things, used), _engines(solid)
    not_read, otherwise = _out_of_boxes(found, edges) if gross.missing_from_boxes > 0 else (0, 0)
    total = conserve(gross, _now(places, engines), not_read, otherwise)
    last = moves[-LAST:] if total.difference else []
    moved = _said(out_of_engines, last, standings)
    return Whereabouts(
        lot_id=found.pk,
        lot=found.code,
        part=found.part,
        base=found.base,
        received_on=found.received_on,
        expires_on=found.expires_on,
        stopped=bool(found.stopped),
        sum=total,
        places=places,
        engines=engines,
        removed=tuple(moved[: len(out_of_engines)]),
        kits=_kits(solid, things, edges, factors),
        tubes=tuple(
            OpenedTube(row.tube, row.place, row.place_code, row.kind, row.spot_name, row.amount)
            for row in standings
            if row.tube is not None and row.amount > 0 and _real(row)
        ),
        possible=_possible(found.part_id) if found.lot_unknown else (),
        out_of_kits=out_of_kits(lot_id) if found.opened else (),
        last=tuple(moved[len(out_of_engines) :]),
    )


class _Head(NamedTuple):
    """`lot_unknown`: the part came out of kits with bags that could not be read, or was bought without a lot; `opened`: things came out of boxes of this lot."""

    pk: int
    code: str
    part_id: int
    part: str
    base: str
    received_on: date | None
    expires_on: date | None
    stopped: bool
    lot_unknown: bool
    opened: bool


_HEAD = """
    SELECT l.id, l.code, l.part_id, p.number, p.base, l.received_on, l.expires_on,
           EXISTS (SELECT 1 FROM inventory_stop t LEFT JOIN inventory_free f ON f.stop_id = t.id
                   WHERE t.lot_id = l.id AND f.stop_id IS NULL),
           EXISTS (SELECT 1 FROM inventory_item i WHERE i.part_id = l.part_id AND i.lot_id IS NULL AND i.serial_id IS NULL
                   AND (i.from_kit_id IS NOT NULL OR i.identity = '-')),
           EXISTS (SELECT 1 FROM inventory_item i JOIN inventory_item k ON k.id = i.from_kit_id WHERE k.lot_id = l.id)
    FROM inventory_lot l JOIN inventory_part p ON p.id = l.part_id WHERE l.id = %s"""


@dataclass(frozen=True, slots=True)
class _Edge:
    """A lot of kits, what it holds, how many pieces of it in each box."""

    kit_lot: int
    lot: int
    amount: int
    part: str
    code: str


def _edges(lot_id: int) -> list[_Edge]:
    """Every lot of kits that holds the lot, also inside kits inside kits (to eight deep, so that a ring of them ends)."""
    return [
        _Edge(*row)
        for row in rows(
            """WITH RECURSIVE up(kit_lot, lot, amount, depth) AS (
                 SELECT kit_lot_id, lot_id, amount, 1 FROM inventory_innerlot WHERE lot_id = %s
                 UNION SELECT i.kit_lot_id, i.lot_id, i.amount, up.depth + 1 FROM inventory_innerlot i
                 JOIN up ON i.lot_id = up.kit_lot WHERE up.depth < 8)
               SELECT DISTINCT up.kit_lot, up.lot, up.amount, p.number, l.code FROM up
               JOIN inventory_lot l ON l.id = up.kit_lot JOIN inventory_part p ON p.id = l.part_id ORDER BY 4, 5, 2""",
            [lot_id],
        )
    ]


def _factors(lot_id: int, edges: Sequence[_Edge]) -> dict[int, int]:
    """Lot id -> pieces of the lot in one of it: 1 for itself, for kits what all bags in a box add up to."""
    factors = {lot_id: 1}
    inside: dict[int, list[_Edge]] = defaultdict(list)
    for edge in edges:
        inside[edge.lot].append(edge)
    layer = {lot_id: 1}
    for _ in range(8):
        outer: dict[int, int] = defaultdict(int)
        for lot, pieces in layer.items():
            for edge in inside[lot]:
                outer[edge.kit_lot] += pieces * edge.amount
        for kit_lot, pieces in outer.items():
            factors[kit_lot] = factors.get(kit_lot, 0) + pieces
        layer = outer
    return factors


#: By hand: what is read here is only numbers and names, and a lot that is in many engines has hundreds of rows.
_ITEMS = """
    SELECT i.id, i.lot_id, t.number, i.from_kit_id, k.lot_id, kp.number, kl.code
    FROM inventory_item i
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    LEFT JOIN inventory_item k ON k.id = i.from_kit_id
    LEFT JOIN inventory_part kp ON kp.id = k.part_id
    LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
    WHERE i.lot_id IN ({}) AND i.member = ''"""
_BALANCES = """
    SELECT b.item_id, b.spot_id, s.name, b.place_id, p.code, p.kind, g.code, b.amount, b.held
    FROM inventory_balance b
    JOIN inventory_spot s ON s.id = b.spot_id
    JOIN inventory_place p ON p.id = b.place_id
    LEFT JOIN inventory_site g ON g.id = p.site_id
    WHERE b.item_id IN ({})"""
#: Acts that were taken back are left out by the reader, not by the database: it would start at the acts, and read them all,
#: because nearly every act is no correction.
_MOVEMENTS = """
    SELECT m.act_id, m.item_id, m.amount, m.from_spot_id, m.to_spot_id, a.kind, a.corrects_id, c.id
    FROM inventory_movement m
    JOIN inventory_act a ON a.id = m.act_id
    LEFT JOIN inventory_act c ON c.corrects_id = a.id
    WHERE m.item_id IN ({})
    ORDER BY a.occurred_at, m.id"""


def _read(sql: str, ids: Sequence[int]) -> list[Any]:
    return rows(sql.format(marks(len(ids))), list(ids)) if ids else []


def _standings(lots: Sequence[int]) -> list[_Standing]:
    """By place and spot; sorted here, since two databases sort texts in two ways."""
    items = {row[0]: row for row in _read(_ITEMS, lots)}
    found = [_Standing(*items[row[0]], *row[1:]) for row in _read(_BALANCES, list(items))]
    return sorted(found, key=lambda row: (row.place_code, row.spot_name, row.item))


def _thing(row: _Standing, lot_id: int, factors: Mapping[int, int], edges: Iterable[_Edge]) -> Thing:
    told = any(edge.kit_lot == row.from_kit_lot and edge.lot == row.lot for edge in edges)
    return Thing(factors[row.lot], row.lot != lot_id, row.from_kit is not None, told)


def _movements(items: Iterable[int]) -> list[_Row]:
    """What was moved and not taken back, in the order in which it happened."""
    found = _read(_MOVEMENTS, list(items))
    return [_Row(*row) for *row, corrects, corrected_by in found if corrects is None and corrected_by is None]


def _real(row: _Standing) -> bool:
    return is_real(PlaceKind(row.kind))


def _places(
    rows: Iterable[_Standing], things: Mapping[int, Thing], used: Mapping[tuple[int, int], int]
) -> tuple[AtPlace, ...]:
    sums: dict[tuple[str, str, str, str], list[int]] = defaultdict(lambda: [0] * 5)
    for row in rows:
        if row.amount <= 0 or row.kind == PlaceKind.ENGINE or not _real(row):
            continue
        thing, entry = things[row.item], sums[row.place_code, row.kind, row.site or "", row.spot_name]
        pieces = row.amount * thing.factor
        if thing.kit:
            entry[2] += pieces
            entry[3] += row.amount
        else:
            entry[0] += pieces
            entry[1] += min(used.get((row.item, row.spot), 0), pieces)
        entry[4] += row.held * thing.factor
    return tuple(AtPlace(*where, *amounts) for where, amounts in sums.items())


def _engines(rows: Iterable[_Standing]) -> tuple[InEngine, ...]:
    return tuple(
        InEngine(row.place, row.place_code, row.spot_name, row.amount, _kit(row.kit_part, row.kit_lot))
        for row in rows
        if row.kind == PlaceKind.ENGINE and row.amount > 0
    )


def _kit(part: str | None, lot: str | None) -> str:
    return "" if part is None else f"{part} {lot}" if lot else part


def _now(places: Iterable[AtPlace], engines: Iterable[InEngine]) -> Standings:
    rows = list(places)
    removed = sum(row.used for row in rows)
    return Standings(
        in_engines=sum(row.amount for row in engines),
        removed=removed,
        loose=sum(row.loose for row in rows) - removed,
        in_closed_kits=sum(row.in_kits for row in rows),
    )


def _kits(
    rows: Iterable[_Standing], things: Mapping[int, Thing], edges: Iterable[_Edge], factors: Mapping[int, int]
) -> tuple[KitLot, ...]:
    closed: dict[int, int] = defaultdict(int)
    opened: dict[int, int] = defaultdict(int)
    for row in rows:
        if things[row.item].kit and _real(row):
            closed[row.lot] += row.amount
        if things[row.item].kit and row.kind == PlaceKind.CONVERSION:
            opened[row.lot] += max(row.amount, 0)
    named = {edge.kit_lot: edge for edge in edges}
    return tuple(KitLot(edge.part, edge.code, factors[lot], closed[lot], opened[lot]) for lot, edge in named.items())


def _out_of_boxes(lot: _Head, edges: Iterable[_Edge]) -> tuple[int, int]:
    """Pieces of the part that came out of the lot's boxes with no readable bag, and as a lot that the box did not name."""
    direct = [edge.kit_lot for edge in edges if edge.lot == lot.pk]
    named = InnerLot.objects.filter(kit_lot=OuterRef("item__from_kit__lot"), lot=OuterRef("item__lot"))
    sums = (
        Balance.objects.filter(
            ~Exists(named),
            item__part=lot.part_id,
            item__from_kit__lot__in=direct,
            place__kind=PlaceKind.CONVERSION.value,
        )
        .exclude(item__lot=lot.pk)
        .aggregate(
            not_read=Sum("amount", filter=Q(item__lot__isnull=True)),
            otherwise=Sum("amount", filter=Q(item__lot__isnull=False)),
        )
    )
    return -(sums["not_read"] or 0), -(sums["otherwise"] or 0)


_POSSIBLE = """
    SELECT i.id, kp.number, kl.code, p.id, p.code, p.kind, s.name, b.amount
    FROM inventory_item i
    JOIN inventory_balance b ON b.item_id = i.id
    JOIN inventory_place p ON p.id = b.place_id
    JOIN inventory_spot s ON s.id = b.spot_id
    LEFT JOIN inventory_item k ON k.id = i.from_kit_id
    LEFT JOIN inventory_part kp ON kp.id = k.part_id
    LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
    WHERE i.part_id = %s AND i.lot_id IS NULL AND i.serial_id IS NULL AND (i.from_kit_id IS NOT NULL OR i.identity = '-') AND i.tube_id IS NULL
      AND b.real AND b.amount > 0"""


def _possible(part_id: int) -> tuple[Possible, ...]:
    found = (Possible(row[0], _kit(row[1], row[2]), *row[3:]) for row in rows(_POSSIBLE, [part_id]))
    return tuple(sorted(found, key=lambda row: (row.place, row.spot, row.item_id)))


_ACTS = """
    SELECT a.id, a.kind, a.subject, a.occurred_at, a.recorded_at, p.username, a.reason
    FROM inventory_act a JOIN inventory_person p ON p.id = a.actor_id WHERE a.id IN ({})"""


def _said(removed: Sequence[_Row], last: Sequence[_Row], standings: Iterable[_Standing]) -> list[Moved]:
    """The movements with their acts and places, in the order given; every spot is known from the balances."""
    moved = [*removed, *last]
    acts: dict[int, tuple[Any, ...]] = {
        row[0]: (*row[:3], moment(row[3]), moment(row[4]), *row[5:])
        for row in _read(_ACTS, [*{one.act for one in moved}])
    }
    spots = {row.spot: (row.place_code, row.spot_name) for row in standings}
    said: list[list[Any]] = [[*acts[row.act], *spots[row.from_spot], *spots[row.to_spot], row.amount] for row in moved]
    return [Moved(*values) for values in said]
