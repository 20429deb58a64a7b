"""Finding or making the items and spots that movements point at. Private to services."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.items import Base, Tracked, identity
from inventory.domain.places import NO_SPOT, PlaceKind, is_real
from inventory.domain.quantities import MAX_BASE_AMOUNT, check_counted_as, parse_quantity, to_base
from inventory.domain.units import Dimension
from inventory.models import Act, Item, Lot, Part, Place, Serial, Site, Spot, Tube
from inventory.queries.catalogue import no_such_parts, no_such_place
from inventory.queries.prepared import Prepared


def spots(place: Place, names: Iterable[str]) -> dict[str, Spot]:
    """The named spots of a place, made where missing; each comes with its place."""
    wanted = set(names)
    if wanted == {NO_SPOT} and (plain := _SPOT(place.pk, NO_SPOT)):
        plain[0].place = place
        return {NO_SPOT: plain[0]}
    found = {spot.name: spot for spot in Spot.objects.filter(place=place, name__in=wanted)}
    missing = sorted(wanted - found.keys())
    if missing:
        Spot.objects.bulk_create([Spot(place=place, name=name) for name in missing], ignore_conflicts=True)
        found = {spot.name: spot for spot in Spot.objects.filter(place=place, name__in=wanted)}
    for spot in found.values():
        spot.place = place
    return found


def spot(place: Place, name: str = NO_SPOT) -> Spot:
    """One spot of a place, made where missing."""
    return spots(place, [name])[name]


_SPOT = Prepared(lambda place, name: Spot.objects.filter(place=place, name=name), 0, "name")


def place(code: str) -> Place:
    """A real place by its code, never one of the books' own; DomainError "not-found"."""
    found = Place.objects.filter(code=code, real=True).first()
    if found is None:
        raise no_such_place(code)
    return found


def place_of(act: Act) -> Place:
    """The place that an act was given by its code."""
    if act.place is None:
        raise RuntimeError(f"act {act.kind} has no place")
    return act.place


def books_only(kind: PlaceKind) -> Spot:
    """The spot of one of the books' own places (each stands once)."""
    found, _ = Place.objects.get_or_create(
        code=f"({kind.value})", defaults={"kind": kind.value, "real": False, "name": kind.value}
    )
    return spot(found)


def make_place(code: str, kind: PlaceKind, *, site: Site | None, name: str = "", walk_order: int = 0) -> Place:
    """A new place with its spot "-"; an existing one of the same kind and site is returned as it is."""
    made, _ = Place.objects.get_or_create(
        code=code,
        defaults={"kind": kind.value, "real": is_real(kind), "site": site, "name": name, "walk_order": walk_order},
    )
    if made.kind != kind.value:
        raise DomainError("place-exists", f"{code} exists and is {a(made.kind)}.", place=code, kind=made.kind)
    spot(made)
    return made


def item(
    part: Part,
    *,
    lot: Lot | None = None,
    serial: Serial | None = None,
    member: str = "",
    tube: Tube | None = None,
    from_kit: Item | None = None,
    found: str = "",
) -> Item:
    """The item of one combination, made where missing; comes with its part.

    found   where a part of unknown history was found: such an item is like no other, and never becomes stock
    """
    text = identity(
        lot=lot.code if lot else "",
        serial=serial.number if serial else "",
        member=member,
        tube=tube.number if tube else "",
        kit_item=from_kit.pk if from_kit else None,
        found=found,
    )
    known = _ITEM(part.pk, text)
    if known:
        known[0].part = part
        return known[0]
    made, _ = Item.objects.get_or_create(
        part=part,
        identity=text,
        defaults={
            "lot": lot,
            "serial": serial,
            "member": member,
            "tube": tube,
            "from_kit": from_kit,
            "base": "microlitre" if tube else part.base,
            "single": serial is not None,
        },
    )
    made.part = part
    return made


_ITEM = Prepared(lambda part, text: Item.objects.filter(part=part, identity=text), -1, "text")


def parts_by_number(numbers: Iterable[str]) -> dict[str, Part]:
    """Parts by their printed numbers; DomainError "not-found" names every unknown one."""
    wanted = set(numbers)
    found: Mapping[str, Part] = {part.number: part for part in Part.objects.filter(number__in=wanted)}
    unknown = sorted(wanted - found.keys())
    if unknown:
        told = no_such_parts(unknown)
        raise DomainError("not-found", " ".join(one.message for one in told.values()), parts=unknown)
    return dict(found)


def check_tracked(part: Part, *, lot: str, serial: str) -> None:
    """A part tracked by lot needs a lot code, one with a serial needs its serial, and not the other way round."""
    wants_serial = part.tracked_by in (Tracked.SERIAL, Tracked.SET)
    if wants_serial and not serial:
        raise DomainError(
            "serial-missing", f"{part.number} is told apart by serial number; none was given.", part=part.number
        )
    if serial and not wants_serial:
        raise DomainError(
            "serial-not-kept",
            f"{part.number} has no serial numbers; {serial} was given.",
            part=part.number,
            serial=serial,
        )
    if part.tracked_by == Tracked.LOT and not lot:
        raise DomainError(
            "lot-missing",
            f"{part.number} is traced by lot; no lot was given.",
            ways_out=("Read the lot on the bag or the label.",),
            part=part.number,
        )


#: What an amount of each base unit measures.
DIMENSIONS = {
    Base.PIECE: Dimension.COUNT,
    Base.MICROLITRE: Dimension.VOLUME,
    Base.MILLIGRAM: Dimension.MASS,
    Base.NANOMETRE: Dimension.LENGTH,
}


def amount(part: Part, given: str | int) -> tuple[int, str]:
    """Whole base units of a part, above zero, and the amount as typed.

    given   text with a unit ("4 EA", "12 mL"), or a whole number of base units
    Raises DomainError: those of `quantities`, "amount-not-positive", "amount-too-large".
    """
    if isinstance(given, str):
        quantity = parse_quantity(given)
        if part.base == Base.PIECE and quantity.unit.dimension is Dimension.COUNT:
            check_counted_as(quantity, part.unit)
        number, typed = to_base(quantity, DIMENSIONS[Base(part.base)]).amount, given
    else:
        number, typed = given, f"{given} {part.base}"
    if number <= 0:
        raise DomainError(
            "amount-not-positive", f"{typed} of {part.number}: an amount above zero is needed.", typed=typed
        )
    if number > MAX_BASE_AMOUNT:
        raise DomainError("amount-too-large", f"{typed} of {part.number} is more than any shelf holds.", typed=typed)
    return number, typed
