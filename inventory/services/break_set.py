"""Breaking a matched set: the whole leaves the books for good. The good members go to quarantine, the damaged one to scrap; one
that was not in the box is counted missing, and comes back by a count when it is found."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory.domain.articles import a
from inventory.domain.breaking import MEMBERS, ask_for_photo, good_members
from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.domain.stores import check_at_hand
from inventory.models import Act, Balance, Item, Part, Person, Place, Serial, SetBreak, Spot
from inventory.queries.catalogue import no_such_part
from inventory.queries.days import shop_day
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.holding import lost_on_carts, room_for
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run


def break_set(
    *,
    actor: Person,
    stamp: Stamp,
    part: str,
    serial: str,
    damaged: str = "",
    missing: Sequence[str] = (),
    reason: str,
    orphan_place: str,
    photo_ref: str = "",
    no_photo: str = "",
    subject: str = "",
) -> Done:
    """Record that a matched set was broken, or that half of it is missing: wherever it lies at hand, never in an engine.

    part, serial   number of the part and of the set
    damaged        "liner", "piston" or "pin": goes to scrap
    missing        members that are not there: missing, until a count in quarantine finds them
    orphan_place   code of the quarantine place for the others
    reason         why; subject: the job it happened on
    photo_ref, no_photo   where the photo of the damage is kept, or why there is none: one of them, where something is damaged

    Outcome: {"part", "serial", "place", "spot", "damaged", "missing": [{item, member, place: ""}], "reason", "photo", "no_photo",
    "orphans": [{item, member, place}], "shorts": […]}.
    Raises DomainError "reason-missing", "member-unknown", "nothing-given", "photo-asked", "not-found", "not-a-set", "set-broken",
    "not-there", "wrong-place".
    """
    request = {
        "part": part, "serial": serial, "damaged": damaged, "missing": list(missing), "reason": reason,
        "orphan_place": orphan_place, "photo_ref": photo_ref, "no_photo": no_photo, "subject": subject,
    }  # fmt: skip

    def work(act: Act) -> Body:
        aside = things.place_of(act)
        lookup.need_reason(reason, f"How was set {serial} broken?")
        good = good_members(damaged, missing)
        lacking = [member.value for member in MEMBERS if member in missing]
        if damaged:
            ask_for_photo(f"the {damaged} of set {serial}", photo_ref, no_photo)
        beside = _beside(aside)
        whole, its, row = _locked(part, serial)
        words = f"set {serial} was broken: {reason}"
        shorts = room_for(act, {(whole.pk, row.spot_id): 1}, words)
        shorts += lost_on_carts(act, [(whole.pk, 1, row.spot)], words)
        SetBreak.objects.create(
            serial=its, act=act, damaged=damaged, missing=" ".join(lacking), why=reason,
            photo_ref=photo_ref, no_photo=no_photo,
        )  # fmt: skip
        targets = {member.value: beside for member in good}
        targets |= dict.fromkeys(lacking, things.books_only(PlaceKind.COUNT_DIFFERENCE))
        targets |= {damaged: things.books_only(PlaceKind.SCRAP)} if damaged else {}
        halves = _move(act, whole, row, targets)
        return {
            "part": part,
            "serial": its.number,
            "place": row.spot.place.code,
            "spot": row.spot.name,
            "damaged": damaged,
            "missing": [_said(halves[member], "") for member in lacking],
            "reason": reason,
            "photo": photo_ref,
            "no_photo": no_photo,
            "orphans": [_said(halves[member.value], aside.code) for member in good],
            "shorts": lookup.said(shorts),
        }

    return run(
        "break set", work, actor=actor, stamp=stamp, request=request, place=orphan_place, subject=subject, reason=reason
    )


def _beside(aside: Place) -> Spot:
    """Where the good members go; DomainError "wrong-place"."""
    if aside.kind != PlaceKind.QUARANTINE:
        raise DomainError(
            "wrong-place",
            f"{aside.code} is {a(aside.kind)}: what is left of a set goes to quarantine.",
            place=aside.code,
        )
    return things.spot(aside)


def _locked(part: str, serial: str) -> tuple[Item, Serial, Balance]:
    """The whole set and where it stands, read again under its lock."""
    whole = _whole(part, serial)
    lookup.lock([(whole, _where(whole).spot.place)])
    row = _where(whole)
    check_at_hand(lookup.kind(row.spot.place), row.spot.place.code, "broken")
    if whole.serial is None:
        raise RuntimeError(f"item {whole.pk} is a set without a serial")
    return whole, whole.serial, row


def _whole(part: str, serial: str) -> Item:
    found = Part.objects.filter(number=part).first()
    if found is None:
        raise no_such_part(part)
    if found.tracked_by != Tracked.SET:
        raise DomainError("not-a-set", f"{part} is not a matched set.", part=part)
    number = Serial.objects.filter(part=found, number=serial).first()
    whole = (
        Item.objects.filter(serial=number, member="").select_related("part", "serial").order_by("pk").first()
        if number
        else None
    )
    if whole is None:
        raise DomainError("not-found", f"There is no set {serial} of {part}.", part=part, serial=serial)
    return whole


def _where(whole: Item) -> Balance:
    """Where the set stands; DomainError "set-broken" or "not-there"."""
    serial = whole.serial
    broken = SetBreak.objects.filter(serial=serial).select_related("act").first()
    if broken is not None:
        raise DomainError(
            "set-broken",
            f"{lookup.label(whole)} was broken on {shop_day(broken.act.occurred_at)} ({broken.said}): it stays broken.",
            item=lookup.label(whole),
            damaged=broken.damaged,
            on=shop_day(broken.act.occurred_at).isoformat(),
        )
    row = lookup.standing(whole)
    if row is None:
        raise DomainError("not-there", f"{lookup.label(whole)} is not in the shop.", item=lookup.label(whole))
    return row


def _move(act: Act, whole: Item, row: Balance, targets: Mapping[str, Spot]) -> dict[str, Item]:
    """The set goes into conversion, its members come out of it; each member's item."""
    conversion = things.books_only(PlaceKind.CONVERSION)
    halves = {member: things.item(whole.part, serial=whole.serial, member=member) for member in targets}
    moves = [Move(whole, 1, row.spot, conversion)]
    moves += [Move(halves[member], 1, conversion, spot) for member, spot in targets.items()]
    post(act, moves)
    note_gone(act, [(whole.pk, 1, row.spot.place)])
    return halves


def _said(half: Item, place: str) -> Body:
    return {"item": half.pk, "member": half.member, "place": place}
