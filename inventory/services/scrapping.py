"""The movements of a scrapping, for every act that scraps. Private to services; the caller has the transaction and the locks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.breaking import ask_for_photo
from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.domain.stores import WhoPays
from inventory.models import Act, Item, Scrap, Short, Spot
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.holding import lost_on_carts, room_for
from inventory.services.post import Move, post
from inventory.services.rows import insert


@dataclass(frozen=True, slots=True)
class Scrapped:
    """This whole positive amount of an item at a spot (with its place) goes to scrap."""

    item: Item
    amount: int
    spot: Spot
    who_pays: WhoPays
    photo_ref: str = ""
    no_photo: str = ""
    destroyed: bool = False


def pays(who: str) -> WhoPays:
    """Who pays, from text; DomainError "who-pays-unknown"."""
    if who not in set(WhoPays):
        raise DomainError(
            "who-pays-unknown", f"It is paid by job, shop, supplier or maker, not by {who!r}.", who_pays=who
        )
    return WhoPays(who)


def scrap_moves(act: Act, lines: Sequence[Scrapped], reason: str) -> list[Short]:
    """The movements to scrap, and who pays for what, within an act that has its locks; holds that no longer fit end first, and what was picked
    and lies on a cart comes up short. Private
    to services.

    DomainError "not-there" with everybody it is held for; "photo-asked" for a whole matched set of which there is no photo, and no
    word why.
    """
    leaving = lookup.sums(((line.item.pk, line.spot.pk), line.amount) for line in lines)
    rows = lookup.balances(leaving)
    for line in lines:
        pair = (line.item.pk, line.spot.pk)
        row = rows.get(pair)
        if row is None or row.amount < leaving[pair]:
            raise lookup.not_free(line.item, line.spot, leaving[pair], row)
        if line.item.part.tracked_by == Tracked.SET and line.item.member == "":
            ask_for_photo(lookup.label(line.item), line.photo_ref, line.no_photo)
    shorts = room_for(act, leaving, f"scrapped: {reason}")
    shorts += lost_on_carts(act, [(line.item.pk, line.amount, line.spot) for line in lines], f"scrapped: {reason}")
    target = things.books_only(PlaceKind.SCRAP)
    post(act, [Move(line.item, line.amount, line.spot, target) for line in lines])
    insert(
        Scrap._meta.db_table,
        ("act_id", "item_id", "spot_id", "amount", "who_pays", "photo_ref", "no_photo", "destroyed"),
        [
            (
                act.pk,
                one.item.pk,
                one.spot.pk,
                one.amount,
                one.who_pays.value,
                one.photo_ref,
                one.no_photo,
                one.destroyed,
            )
            for one in lines
        ],
    )
    note_gone(act, [(line.item.pk, line.amount, line.spot.place) for line in lines])
    return shorts
