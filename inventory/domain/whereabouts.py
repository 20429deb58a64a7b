"""Where the pieces of one lot are, and the sum that must equal what was received.

Pieces of a lot that came inside closed kits are counted where the boxes are (boxes × pieces in each) and move to the loose
pieces when a box is opened. Movements that were taken back, and the corrections that took them back, are left out by the
caller; both together move nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime

from inventory.domain.items import Base
from inventory.domain.places import PlaceKind

#: Where pieces go that are still to be used: there the ones that never were in an engine go first.
_TO_BE_USED = frozenset({PlaceKind.ENGINE, PlaceKind.SHELF, PlaceKind.CART, PlaceKind.BENCH})


@dataclass(frozen=True, slots=True)
class Thing:
    """An item that is, or holds, pieces of the lot.

    factor        pieces of the lot in one of it: 1 for the lot itself, pieces in a box for a closed kit
    kit           True for a closed kit
    out_of_kit    it came out of an opened kit
    kit_told      that kit is on record as holding the lot, so its pieces were counted inside it before
    """

    factor: int = 1
    kit: bool = False
    out_of_kit: bool = False
    kit_told: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One movement of an act: so much of an item from one spot to another; in the order in which it happened.

    never_in   it leaves an engine in which it never was: something else was fitted than had been recorded
    """

    item: int
    amount: int
    from_spot: int
    to_spot: int
    act: int
    never_in: bool = False


@dataclass(frozen=True, slots=True)
class Flows:
    """Gross flows of a lot, in pieces, between the real places and the books' own; see `Conservation` for the words."""

    received_loose: int = 0
    received_in_kits: int = 0
    told_by_opening: int = 0
    found: int = 0
    brought: int = 0
    counted_over: int = 0
    scrapped: int = 0
    returned: int = 0
    counted_short: int = 0
    given_to_owner: int = 0
    sold: int = 0
    used_here: int = 0
    opened: int = 0
    missing_from_boxes: int = 0


@dataclass(frozen=True, slots=True)
class Conservation:
    """What came and where it is, in pieces (closed tubes, boxes): `came` must equal `accounted`.

    received_loose, received_in_kits   by the receipts; told_by_opening: inside kits whose box did not say so
    found             was in an engine before our records; brought: by an owner; counted_over
    in_engines        fitted now
    removed           was in an engine, stands somewhere else now
    loose             never was in an engine, stands on a shelf, cart, bench, van, in quarantine, at outside work
    in_closed_kits    inside boxes that nobody opened
    scrapped, returned (to the supplier), counted_short, given_to_owner; sold at the counter and not brought back; used_here in the workshop
    opened            closed tubes that were opened, and what was put into kits beyond what they are said to hold
    lot_not_read      came out of boxes of this lot without a readable bag: they are somewhere as "lot unknown"
    read_otherwise    came out of boxes of this lot, but the bag was read as another lot
    """

    received_loose: int
    received_in_kits: int
    told_by_opening: int
    found: int
    brought: int
    counted_over: int
    in_engines: int
    removed: int
    loose: int
    in_closed_kits: int
    scrapped: int
    returned: int
    counted_short: int
    given_to_owner: int
    sold: int
    used_here: int
    opened: int
    lot_not_read: int
    read_otherwise: int

    @property
    def received(self) -> int:
        """All pieces received, loose and in kits."""
        return self.received_loose + self.received_in_kits + self.told_by_opening

    @property
    def came(self) -> int:
        """All pieces that ever came."""
        return self.received + self.found + self.brought + self.counted_over

    @property
    def accounted(self) -> int:
        """All pieces whose whereabouts are known."""
        everything: int = sum(getattr(self, field.name) for field in fields(self))
        return everything - self.came

    @property
    def difference(self) -> int:
        """Pieces that came and are not accounted for; 0 when the books are right."""
        return self.came - self.accounted


@dataclass(frozen=True, slots=True)
class Standings:
    """What stands in real places now, in pieces: by the balances, not by the movements, so that a damaged one shows."""

    in_engines: int = 0
    removed: int = 0
    loose: int = 0
    in_closed_kits: int = 0


def conserve(gross: Flows, now: Standings, not_read: int, otherwise: int) -> Conservation:
    """The sum of a lot.

    not_read, otherwise   pieces of the part that came out of this lot's boxes with no readable bag, or read as another lot:
                          they explain pieces missing from the boxes, never more than are missing
    """
    lot_not_read = min(max(gross.missing_from_boxes, 0), not_read)
    read_otherwise = min(max(gross.missing_from_boxes - lot_not_read, 0), otherwise)
    return Conservation(
        received_loose=gross.received_loose,
        received_in_kits=gross.received_in_kits,
        told_by_opening=gross.told_by_opening,
        found=gross.found,
        brought=gross.brought,
        counted_over=gross.counted_over,
        in_engines=now.in_engines,
        removed=now.removed,
        loose=now.loose,
        in_closed_kits=now.in_closed_kits,
        scrapped=gross.scrapped,
        returned=gross.returned,
        counted_short=gross.counted_short,
        given_to_owner=gross.given_to_owner,
        sold=gross.sold,
        used_here=gross.used_here,
        opened=gross.opened,
        lot_not_read=lot_not_read,
        read_otherwise=read_otherwise,
    )


def flows(steps: Iterable[Step], things: Mapping[int, Thing], kinds: Mapping[int, PlaceKind]) -> Flows:
    """Sum the movements of a lot; `kinds` says what kind of place each spot is in."""
    out: dict[tuple[int, PlaceKind], int] = defaultdict(int)
    into: dict[tuple[int, PlaceKind], int] = defaultdict(int)
    steps = list(steps)
    packing = {step.act for step in steps if _packed(step, things, kinds)}
    packed = 0
    for step in steps:
        if step.act in packing:
            pieces = step.amount * things[step.item].factor
            packed += pieces if kinds[step.to_spot] is PlaceKind.CONVERSION else -pieces
            continue
        out[step.item, kinds[step.from_spot]] += step.amount * things[step.item].factor
        into[step.item, kinds[step.to_spot]] += step.amount * things[step.item].factor

    def total(sums: Mapping[tuple[int, PlaceKind], int], kind: PlaceKind, kit: bool | None = None) -> int:
        return sum(amount for (item, of), amount in sums.items() if of is kind and kit in (None, things[item].kit))

    told = boxes = 0
    opened = packed
    for (item, kind), amount in out.items():
        thing = things[item]
        if kind is not PlaceKind.CONVERSION:
            continue
        if not thing.out_of_kit:
            opened -= amount
        elif thing.kit_told:
            boxes -= amount
        else:
            told += amount
    opened += total(into, PlaceKind.CONVERSION, kit=False)
    boxes += total(into, PlaceKind.CONVERSION, kit=True)
    return Flows(
        received_loose=total(out, PlaceKind.SUPPLIER, kit=False),
        received_in_kits=total(out, PlaceKind.SUPPLIER, kit=True),
        told_by_opening=told,
        found=total(out, PlaceKind.BEFORE_RECORDS) - total(into, PlaceKind.BEFORE_RECORDS),
        brought=total(out, PlaceKind.OWNER),
        counted_over=total(out, PlaceKind.COUNT_DIFFERENCE),
        scrapped=total(into, PlaceKind.SCRAP) - total(out, PlaceKind.SCRAP),
        returned=total(into, PlaceKind.SUPPLIER),
        counted_short=total(into, PlaceKind.COUNT_DIFFERENCE),
        given_to_owner=total(into, PlaceKind.OWNER),
        sold=total(into, PlaceKind.SOLD) - total(out, PlaceKind.SOLD),
        used_here=total(into, PlaceKind.WORKSHOP) - total(out, PlaceKind.WORKSHOP),
        opened=opened,
        missing_from_boxes=boxes,
    )


def _packed(step: Step, things: Mapping[int, Thing], kinds: Mapping[int, PlaceKind]) -> bool:
    """A closed kit that came out of conversion and out of no other kit: it was made up here, of what its act put in."""
    thing = things[step.item]
    return thing.kit and not thing.out_of_kit and kinds[step.from_spot] is PlaceKind.CONVERSION


def used_at(steps: Iterable[Step], kinds: Mapping[int, PlaceKind]) -> dict[tuple[int, int], int]:
    """How much of what stands at each (item, spot) has been in an engine.

    Pieces of one lot cannot be told apart, so where both stand at one spot a rule decides which of them left: to an engine, a
    shelf, a cart or a bench the unused go first; to anywhere else (quarantine, the van, scrap, the owner, …) the used.
    """
    unused: dict[tuple[int, int], int] = defaultdict(int)
    used: dict[tuple[int, int], int] = defaultdict(int)
    for step in steps:
        source, target = (step.item, step.from_spot), (step.item, step.to_spot)
        if step.never_in:
            used[source] -= step.amount
            unused[target] += step.amount
            continue
        if kinds[step.from_spot] is PlaceKind.ENGINE:
            taken = min(step.amount, used[source])
        elif kinds[step.to_spot] in _TO_BE_USED:
            taken = min(used[source], max(0, step.amount - max(0, unused[source])))
        else:
            taken = min(step.amount, used[source])
        used[source] -= taken
        unused[source] -= step.amount - taken
        if kinds[step.to_spot] is PlaceKind.ENGINE:
            used[target] += step.amount
        else:
            used[target] += taken
            unused[target] += step.amount - taken
    return {pair: amount for pair, amount in used.items() if amount}


@dataclass(frozen=True, slots=True)
class AtPlace:
    """Pieces at a spot of a real place that is no engine.

    loose   outside kits, `used` of them have been in an engine; in_kits: inside `boxes` closed kits; held: promised to jobs
    """

    place: str
    kind: str
    site: str
    spot: str
    loose: int
    used: int
    in_kits: int
    boxes: int
    held: int


@dataclass(frozen=True, slots=True)
class InEngine:
    """Pieces fitted now at a spot of an engine; `kit` is the opened kit they came from (part and lot), or empty."""

    place_id: int
    place: str
    spot: str
    amount: int
    kit: str


@dataclass(frozen=True, slots=True)
class Moved:
    """One movement of the lot with its act: from where to where, when, who, why."""

    act_id: int
    kind: str
    subject: str
    occurred_at: datetime
    recorded_at: datetime
    by: str
    reason: str
    from_place: str
    from_spot: str
    to_place: str
    to_spot: str
    amount: int


@dataclass(frozen=True, slots=True)
class KitLot:
    """A lot of kits that holds this lot: `pieces` in each box, how many boxes are closed and how many were opened."""

    part: str
    lot: str
    pieces: int
    closed: int
    opened: int


@dataclass(frozen=True, slots=True)
class OpenedTube:
    """What stands somewhere out of an opened tube of the lot, in microlitres: what is left of it, and the beads in engines."""

    number: str
    place_id: int
    place: str
    kind: str
    spot: str
    amount: int

    @property
    def base(self) -> str:
        """Base unit of the amount: an opened tube is poured from, whatever its lot is counted in."""
        return Base.MICROLITRE.value


@dataclass(frozen=True, slots=True)
class Possible:
    """Pieces of the part whose lot nobody knows: out of a kit whose bag could not be read, or bought without one. They could be of any
    lot, so of this one.

    item_id, kit (part and lot it came from; "" for none), place and spot, kind of the place, amount
    """

    item_id: int
    kit: str
    place_id: int
    place: str
    kind: str
    spot: str
    amount: int


@dataclass(frozen=True, slots=True)
class OutOfKit:
    """What came out of an opened box of a lot of kits, where it is now; it may be of another part than the lot that was asked about."""

    part: str
    lot: str
    item_id: int
    place_id: int
    place: str
    kind: str
    spot: str
    amount: int
    base: str


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """All about one lot; amounts in the part's base unit. `sum.difference` is 0, or `last` names the last movements."""

    lot_id: int
    lot: str
    part: str
    base: str
    received_on: date | None
    expires_on: date | None
    stopped: bool
    sum: Conservation
    places: tuple[AtPlace, ...]
    engines: tuple[InEngine, ...]
    removed: tuple[Moved, ...]
    kits: tuple[KitLot, ...]
    tubes: tuple[OpenedTube, ...]
    possible: tuple[Possible, ...]
    out_of_kits: tuple[OutOfKit, ...]
    last: tuple[Moved, ...]
