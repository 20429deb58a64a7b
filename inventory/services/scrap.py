"""Scrapping, with a reason and who pays. A half of a matched set is scrapped only once the set was broken."""

from __future__ import annotations

from inventory.domain.places import NO_SPOT
from inventory.domain.stores import check_at_hand
from inventory.models import Act, Person
from inventory.services import lookup, things
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.scrapping import Scrapped, pays, scrap_moves


def scrap(
    *,
    actor: Person,
    stamp: Stamp,
    place: str,
    spot: str = NO_SPOT,
    item_id: int,
    amount: str | int,
    reason: str,
    who_pays: str,
    subject: str = "",
    photo_ref: str = "",
    no_photo: str = "",
    destroyed: bool = False,
) -> Done:
    """Scrap something that lies on a shelf, a cart, a bench, in quarantine or in a crate of old units.

    amount     text with a unit or whole base units (an opened tube is counted in µL)
    who_pays   "job", "shop", "supplier" or "maker"; subject: the job it was for
    photo_ref  where the photo is kept; no_photo: why there is none. Of a whole matched set one of them is asked for
    destroyed  made unusable (rings, bolts)

    Holds that no longer fit end, latest fit date first, with named shorts. Outcome: {"part", "item", "identity", "amount", "base",
    "typed", "place", "spot", "reason", "who_pays", "photo", "no_photo", "destroyed", "shorts"}.
    Raises DomainError "not-found", "reason-missing", "who-pays-unknown", "wrong-place", "not-there", "photo-asked", those of amounts.
    """
    request = {
        "place": place,
        "spot": spot,
        "item": item_id,
        "amount": amount,
        "reason": reason,
        "who_pays": who_pays,
        "subject": subject,
        "photo_ref": photo_ref,
        "no_photo": no_photo,
        "destroyed": destroyed,
    }

    def work(act: Act) -> Body:
        item, lies = lookup.item(item_id), things.place_of(act)
        lookup.need_reason(reason, f"Why is {lookup.label(item)} scrapped?")
        payer = pays(who_pays)
        check_at_hand(lookup.kind(lies), lies.code, "scrapped")
        number, typed = lookup.amount(item, amount)
        lookup.lock([(item, lies)])
        where = things.spot(lies, spot)
        shorts = scrap_moves(act, [Scrapped(item, number, where, payer, photo_ref, no_photo, destroyed)], reason)
        return {
            "part": item.part.number,
            "item": item.pk,
            "identity": item.identity,
            "amount": number,
            "base": item.base,
            "typed": typed,
            "place": lies.code,
            "spot": where.name,
            "reason": reason,
            "who_pays": payer.value,
            "photo": photo_ref,
            "no_photo": no_photo,
            "destroyed": destroyed,
            "shorts": lookup.said(shorts),
        }

    return run("scrap", work, actor=actor, stamp=stamp, request=request, place=place, subject=subject, reason=reason)
