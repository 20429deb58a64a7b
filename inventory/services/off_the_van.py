"""Whose note it is, who may sign, where what comes off the van may lie. Private to services: an open transaction is there."""

from __future__ import annotations

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Item, Person, Place, Site, Spot, TransferNote
from inventory.queries import transfers as read
from inventory.services import lookup, things


def locked(number: int) -> TransferNote:
    """A note that was not taken back, locked, with its lines; DomainError "not-found", "done-already"."""
    locks.name("transfer note", str(number))
    row = read.note(number)
    if hasattr(row.act, "corrected_by"):
        raise DomainError("done-already", f"Note {number} was taken back: nothing rides by it.", note=number)
    return row


def signs_alone(row: TransferNote, actor: Person) -> bool:
    """Whether sender or driver signs, for want of anybody else; DomainError "second-person-needed" where there is somebody."""
    rode = (row.act.actor_id, row.driver_id)
    if actor.pk not in rode:
        return False
    others = read.others_who_sign(row.to_site, rode)
    if others:
        names = ", ".join(str(one) for one in others)
        raise DomainError(
            "second-person-needed",
            f"{actor} sent or drove note {row.pk}: at {row.to_site.code} another person signs for it ({names}).",
            note=row.pk,
            people=[one.username for one in others],
        )
    return True


def aside_at(row: TransferNote, quarantine: str) -> Place | None:
    """The quarantine that was named; DomainError "not-found", "wrong-place"."""
    if not quarantine:
        return None
    found = things.place(quarantine)
    if found.kind != PlaceKind.QUARANTINE:
        raise DomainError("wrong-place", f"{quarantine} is {a(found.kind)}, no quarantine.", place=quarantine)
    check_site(found, row.to_site)
    return found


def put(item: Item, place: Place, spot: str, aside: Place | None, why: str) -> tuple[Spot, str]:
    """Where a thing lies, and why in quarantine; DomainError "wrong-place", "quarantine-needed".

    place   shelf or quarantine; why: why it may not lie on a shelf, "" if it may
    """
    if place.kind == PlaceKind.QUARANTINE:
        return things.spot(place, spot), why
    if place.kind != PlaceKind.SHELF:
        raise DomainError("wrong-place", f"{place.code} is {a(place.kind)}: it goes to a shelf or to quarantine.")
    if not why:
        lookup.refuse_old_unit(item)
        return things.spot(place, spot), ""
    if aside is None:
        raise DomainError(
            "quarantine-needed",
            f"{lookup.label(item)} does not go on {place.code}: {why}.",
            ways_out=("Name a quarantine for it.",),
            item=lookup.label(item),
            why=why,
        )
    return things.spot(aside), why


def check_site(place: Place, site: Site) -> None:
    """DomainError "wrong-place" for a place of another site, or of none."""
    if place.site_id != site.pk:
        raise DomainError("wrong-place", f"{place.code} is not at {site.code}.", place=place.code)
