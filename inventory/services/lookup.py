"""What the stores' acts look up and say in the same way. Private to services: reads, no decisions of their own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import Exists, OuterRef

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.items import Base, Tracked, was_found
from inventory.domain.places import PlaceKind
from inventory.domain.quantities import MAX_BASE_AMOUNT, check_counted_as, parse_quantity, to_base
from inventory.domain.stores import Carried
from inventory.domain.units import Dimension
from inventory.models import Balance, Item, OldUnit, OldUnitSent, Place, Short, Spot
from inventory.queries.kept import KEPT_WAY_OUT, kept_at, kept_until, kept_words
from inventory.queries.stock import stopped_items
from inventory.services.holding import holds_on
from inventory.services.run import Body
from inventory.services.things import DIMENSIONS

Pair = tuple[int, int]


def items(ids: Iterable[int]) -> dict[int, Item]:
    """Items by id, each with part, lot, serial, tube and kit; unknown ids are left out."""
    found = Item.objects.filter(pk__in=set(ids)).select_related("part", "lot", "serial", "tube", "from_kit__lot")
    return {row.pk: row for row in found}


def item(item_id: int) -> Item:
    """One item with what belongs to it; DomainError "not-found"."""
    found = items([item_id]).get(item_id)
    if found is None:
        raise DomainError("not-found", f"There is no item {item_id}.", item=item_id)
    return found


def label(of: Item) -> str:
    """The item as a person is told."""
    return of.called


def carried(of: Item) -> Carried:
    """The item as the rules of carrying see it."""
    lot_unknown = of.part.tracked_by == Tracked.LOT and of.lot_id is None
    return Carried(label(of), orphan=of.member != "", lot_unknown=lot_unknown, found=was_found(of.identity))


def kind(of: Place) -> PlaceKind:
    """The kind of a place as the enum."""
    return PlaceKind(of.kind)


def need_reason(reason: str, question: str) -> None:
    """DomainError "reason-missing" with the question that wants an answer."""
    if not reason.strip():
        raise DomainError("reason-missing", question)


def amount(of: Item, given: str | int, *, zero: bool = False) -> tuple[int, str]:
    """Whole base units of an item (an opened tube is counted in µL whatever its part is) and the amount as typed.

    Raises DomainError: those of `quantities`, "amount-not-positive" ("amount-negative" where zero is allowed),
    "amount-too-large".
    """
    base = Base(of.base)
    if isinstance(given, str):
        quantity = parse_quantity(given)
        if base is Base.PIECE and quantity.unit.dimension is Dimension.COUNT:
            check_counted_as(quantity, of.part.unit)
        number, typed = to_base(quantity, DIMENSIONS[base]).amount, given
    else:
        number, typed = given, f"{given} {base}"
    if zero and number < 0:
        raise DomainError("amount-negative", f"{typed} of {label(of)} is less than nothing.", typed=typed)
    if not zero and number <= 0:
        raise DomainError(
            "amount-not-positive", f"{typed} of {label(of)}: an amount above zero is needed.", typed=typed
        )
    if number > MAX_BASE_AMOUNT:
        raise DomainError("amount-too-large", f"{typed} of {label(of)} is more than any shelf holds.", typed=typed)
    if of.single and number > 1:
        raise DomainError("serial-is-one", f"{label(of)} is one thing; {typed} were given.", item=label(of))
    return number, typed


def lock(rows: Iterable[tuple[Item, Place]]) -> None:
    """The part-at-site rows of what gets scarcer; single things, and things where no site is, by their own row."""
    taken = list(rows)
    pairs = [(of.part_id, place.site_id) for of, place in taken if place.site_id is not None]
    locks.scarcer(pairs, [of.pk for of, place in taken if of.single or place.site_id is None])


def balances(pairs: Iterable[Pair]) -> dict[Pair, Balance]:
    """Balances by (item id, spot id), locked, one query; what never stood there is left out."""
    return {(row.item_id, row.spot_id): row for row in locks.balances(pairs)}


def standing(of: Item) -> Balance | None:
    """Where a single thing (or an opened tube) stands in the real world, with spot and place; None if nowhere."""
    return Balance.objects.filter(item=of, real=True, amount__gt=0).select_related("spot__place").order_by("pk").first()


def not_free(of: Item, spot: Spot, asked: int, row: Balance | None) -> DomainError:
    """The refusal of taking what is not there or promised, with everybody it is promised to."""
    there, held = (row.amount, row.held) if row else (0, 0)
    holders = [
        {"hold": one.pk, "for": one.to_spot.place.code, "amount": one.amount, "needed_on": one.day.isoformat()}
        for one in (holds_on(of.pk, spot.pk) if held else [])
    ]
    where = spot.place.code if spot.name == "-" else f"{spot.place.code}, {spot.name}"
    promised = "; held for " + ", ".join(f"{one['for']}: {one['amount']}" for one in holders) if holders else ""
    kept = kept_at(of.pk, spot.pk) if held else None
    until = kept_until(kept) if kept else None
    promised += f"; {kept_words(kept, until)}" if kept else ""
    return DomainError(
        "not-there",
        f"{where} has {there} of {label(of)}{promised}; {asked} were asked for.",
        ways_out=(*(["Release the hold first."] if holders else []), *([KEPT_WAY_OUT] if kept else [])),
        place=spot.place.code,
        spot=spot.name,
        part=of.part.number,
        item=of.called,
        there=there,
        held=held,
        asked=asked,
        holders=holders,
        kept=kept.amount if kept else 0,
        kept_until=until.isoformat() if until else None,
    )


def check_free(of: Item, spot: Spot, amount: int, row: Balance | None) -> None:
    """That so much of it is free there; `row`: its balance, locked. DomainError "not-there", "not-whole" (an opened tube)."""
    if row is None or row.amount - row.held < amount:
        raise not_free(of, spot, amount, row)
    if of.tube_id is not None and amount != row.amount:
        raise DomainError(
            "not-whole",
            f"{label(of)} is one opened tube with {row.amount} µL: it is carried whole.",
            item=label(of),
            there=row.amount,
            asked=amount,
        )


def is_stopped(of: Item) -> bool:
    """True if the item, its lot, or a lot inside the closed kit is stopped."""
    return of.pk in stopped_items([of.pk])


def refuse_stopped(of: Item, what: str) -> None:
    """DomainError "stopped" if the item may not be used; `what` says what was tried."""
    if is_stopped(of):
        raise DomainError("stopped", f"{label(of)} is stopped: it is not {what} until it is freed.", item=label(of))


def refuse_old_unit(of: Item) -> None:
    """DomainError "old-unit-known" for a thing that is kept as an old unit and was not sent back: it is never stock."""
    rows = OldUnit.objects.filter(item=of, act__corrected_by__isnull=True)
    sent = OldUnitSent.objects.filter(unit=OuterRef("pk"), act__corrected_by__isnull=True)
    kept = rows.filter(~Exists(sent)).values_list("pk", flat=True).first()
    if kept is not None:
        raise DomainError(
            "old-unit-known",
            f"{label(of)} is old unit {kept}: it goes back to its supplier, and is never stock.",
            ways_out=("Send it back.", "Take its record as an old unit back, if it is none."),
            old_unit=kept,
            item=label(of),
        )


def said(shorts: Sequence[Short]) -> list[Body]:
    """Shorts by name, as an outcome carries them: which hold, for which cart, how much, needed when, why."""
    return [
        {
            "short": short.pk,
            "hold": short.hold_id,
            "for": short.hold.to_spot.place.code if short.hold else "",
            "part": short.hold.item.part.number if short.hold else "",
            "amount": short.amount,
            "needed_on": short.hold.day if short.hold else None,
            "why": short.why,
        }
        for short in shorts
    ]


def sums(pairs: Iterable[tuple[Pair, int]]) -> dict[Pair, int]:
    """Amounts added up by (item id, spot id)."""
    total: dict[Pair, int] = defaultdict(int)
    for pair, number in pairs:
        total[pair] += number
    return dict(total)
