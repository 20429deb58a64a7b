"""What is on the shelves of a withdrawn number goes to quarantine, all of it at once."""

from __future__ import annotations

from django.db.models import Q

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Person, Place
from inventory.queries.joins import records_of
from inventory.queries.stopped import places_of
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.withdrawing import end_holds_of, why_withdrawn


def withdraw_stock(*, actor: Person, stamp: Stamp, part: str, place: str, reason: str = "") -> Done:
    """Everything of a withdrawn number (all records of it) that stands on shelves goes to the quarantine `place`.

    Where the quarantine belongs to a site, it is the shelves of that site: one act for each site. Holds that are still open on it
    end "made impossible" with a named short. What lies on carts, benches, in the van and at other sites stays there, blocked, and is
    named. Without a `reason` the notice is the reason.
    Outcome: {"part", "place", "replacement", "moved": [{item, part, identity, amount, base, place, spot}], "shorts",
    "elsewhere": see `places_of`}.
    Raises DomainError "not-found", "wrong-place", "not-withdrawn", "nothing-there".
    """
    request = {"part": part, "place": place, "reason": reason}

    def work(act: Act) -> Body:
        aside = things.place_of(act)
        if aside.kind != PlaceKind.QUARANTINE:
            raise DomainError("wrong-place", f"{place} is {a(aside.kind)}: it goes to quarantine.", place=place)
        row = things.parts_by_number([part])[part]
        notice = withdrawn_parts([row.pk]).get(row.pk)
        if notice is None:
            raise DomainError(
                "not-withdrawn",
                f"No notice says that old stock of {part} is withdrawn.",
                ways_out=("Enter what replaces it, with that fate of old stock.", "Stop the lot.", "Transfer it."),
                part=part,
            )
        records = records_of([row.pk])
        shorts = end_holds_of(act, records, why_withdrawn(notice, reason))
        rows = _on_shelves(records, aside)
        if not rows:
            raise DomainError("nothing-there", f"Nothing of {part} stands on these shelves.", part=part, place=place)
        target = things.spot(aside)
        post(act, [Move(one.item, one.amount - one.held, one.spot, target) for one in rows])
        return {
            "part": part,
            "place": place,
            "replacement": notice,
            "moved": [_said(one) for one in rows],
            "shorts": lookup.said(shorts),
            "elsewhere": places_of(Q(item__part__in=records) & ~Q(place=aside)),
        }

    return run("withdraw stock", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _on_shelves(part_ids: set[int], aside: Place) -> list[Balance]:
    rows = Balance.objects.filter(part__in=part_ids, place__kind=PlaceKind.SHELF.value, amount__gt=0)
    if aside.site_id is not None:
        rows = rows.filter(place__site=aside.site_id)
    rows = rows.select_related("item__part", "item__lot", "item__serial", "item__tube", "spot__place")
    return list(rows.order_by("part__number", "item_id", "spot__place__walk_order", "spot_id"))


def _said(row: Balance) -> Body:
    item, spot = row.item, row.spot
    return {
        "item": item.pk,
        "part": item.part.number,
        "identity": item.identity,
        "amount": row.amount,
        "base": item.base,
        "place": spot.place.code,
        "spot": spot.name,
    }
