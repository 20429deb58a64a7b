"""Breaking a matched set: the whole leaves the books, the good members go to quarantine, the damaged one to scrap, for good."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.domain.stores import check_at_hand, whole_members
from inventory.models import Act, Balance, Item, Part, Person, Place, Serial, SetBreak
from inventory.queries.catalogue import no_such_part
from inventory.services import lookup, things
from inventory.services.holding import room_for
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run


def break_set(
    *,
    actor: Person,
    stamp: Stamp,
    part: str,
    serial: str,
    damaged: str,
    reason: str,
    orphan_place: str,
    photo_ref: str = "",
    subject: str = "",
) -> Done:
    """Record that a matched set was broken: on a shelf, a cart, a bench, in the van or in quarantine, never in an engine.

    part, serial   number of the part and of the set
    damaged        "liner", "piston" or "pin": goes to scrap; the others go to `orphan_place`, code of a quarantine place
    reason, photo_ref   why, and where its photo is kept; subject: the job it happened on

    Outcome: {"part", "serial", "place", "spot", "damaged", "reason", "photo", "orphans": [{item, member, place}], "shorts": […]}.
    Raises DomainError "reason-missing", "member-unknown", "not-found", "not-a-set", "set-broken", "not-there", "wrong-place".
    """
    request = {
        "part": part,
        "serial": serial,
        "damaged": damaged,
        "reason": reason,
        "orphan_place": orphan_place,
        "photo_ref": photo_ref,
        "subject": subject,
    }

    def work(act: Act) -> Body:
        aside = things.place_of(act)
        lookup.need_reason(reason, f"How was set {serial} broken?")
        good = whole_members(damaged)
        if aside.kind != PlaceKind.QUARANTINE:
            raise DomainError(
                "wrong-place",
                f"{aside.code} is a {aside.kind}: what is left of a set goes to quarantine.",
                place=aside.code,
            )
        whole = _whole(part, serial)
        first = _where(whole)
        lookup.lock([(whole, first.spot.place)])
        row = _where(whole)
        check_at_hand(lookup.kind(row.spot.place), row.spot.place.code, "broken")
        found = whole.serial
        if found is None:
            raise RuntimeError(f"item {whole.pk} is a set without a serial")
        shorts = room_for(act, {(whole.pk, row.spot_id): 1}, f"set {serial} was broken: {reason}")
        SetBreak.objects.create(serial=found, act=act, damaged=damaged, why=reason)
        orphans = _move(act, whole, found, row, aside, damaged, [member.value for member in good])
        return {
            "part": part,
            "serial": found.number,
            "place": row.spot.place.code,
            "spot": row.spot.name,
            "damaged": damaged,
            "reason": reason,
            "photo": photo_ref,
            "orphans": orphans,
            "shorts": lookup.said(shorts),
        }

    return run(
        "break set", work, actor=actor, stamp=stamp, request=request, place=orphan_place, subject=subject, reason=reason
    )


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
            f"{lookup.label(whole)} was broken on {broken.act.occurred_at.date()} ({broken.damaged}): it stays broken.",
            item=lookup.label(whole),
            damaged=broken.damaged,
            on=broken.act.occurred_at.date().isoformat(),
        )
    row = lookup.standing(whole)
    if row is None:
        raise DomainError("not-there", f"{lookup.label(whole)} is not in the shop.", item=lookup.label(whole))
    return row


def _move(
    act: Act, whole: Item, serial: Serial, row: Balance, aside: Place, damaged: str, good: list[str]
) -> list[Body]:
    conversion = things.books_only(PlaceKind.CONVERSION)
    scrap = things.books_only(PlaceKind.SCRAP)
    beside = things.spot(aside)
    moves = [Move(whole, 1, row.spot, conversion)]
    moves.append(Move(things.item(whole.part, serial=serial, member=damaged), 1, conversion, scrap))
    orphans = []
    for member in good:
        half = things.item(whole.part, serial=serial, member=member)
        moves.append(Move(half, 1, conversion, beside))
        orphans.append({"item": half.pk, "member": member, "place": aside.code})
    post(act, moves)
    return orphans
