"""How counted things are stored: looked at by kind, and what stood wrongly set aside.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.storage import RULES, SET_ASIDE, Checked, check_looked_at
from inventory.models import Act, Item, Place, Short, Spot, StorageCheck
from inventory.services import lookup, things
from inventory.services.holding import room_for
from inventory.services.post import Move, post


class Counted(Protocol):
    """A counted line: its thing, where it lies, how much of it there is now; what is wrong with how it is stored."""

    item: Item
    spot: Spot
    there_now: int
    wrong: str
    set_aside: bool


def check_storage(act: Act, read: Sequence[Counted], looked_at: Sequence[str], aside: Place | None) -> list[Short]:
    """Keep how each counted thing of a kind with a rule is stored; sets and gaskets that stood wrongly go to quarantine, and what of
    them was promised ends with named shorts. Raises DomainError "storage-unchecked", "storage-unusable", "wrong-place"."""
    rows = [one for one in read if one.item.part.kind in RULES or one.wrong]
    check_looked_at([Checked(one.item.part.kind, lookup.label(one.item), one.wrong) for one in rows], looked_at)
    leaving = [one for one in rows if one.wrong and one.item.part.kind in SET_ASIDE and one.there_now > 0]
    for one in leaving:
        one.set_aside = True
    shorts = _set_aside(act, leaving, aside) if leaving else []
    StorageCheck.objects.bulk_create(
        [StorageCheck(act=act, item=one.item, spot=one.spot, wrong=one.wrong, set_aside=one.set_aside) for one in rows]
    )
    return shorts


def _set_aside(act: Act, leaving: Sequence[Counted], aside: Place | None) -> list[Short]:
    if aside is None or aside.kind != PlaceKind.QUARANTINE:
        named = f"{aside.code} is {a(aside.kind)}" if aside is not None else "no quarantine is named"
        raise DomainError(
            "wrong-place",
            f"{lookup.label(leaving[0].item)} was stored wrongly and goes to quarantine until looked at: {named}.",
            ways_out=("Name a quarantine.",),
            place=aside.code if aside is not None else "",
        )
    gone = lookup.sums(((one.item.pk, one.spot.pk), one.there_now) for one in leaving)
    shorts = room_for(act, gone, f"stored wrongly at {leaving[0].spot.place.code}: looked at first")
    target = things.spot(aside)
    post(act, [Move(one.item, one.there_now, one.spot, target) for one in leaving])
    return shorts
