"""Opening closed kits, boxes of sets and tubes: one thing goes into conversion, what it held comes out of it, in one act."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date

from django.db.models import Q

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.spelling import label_key
from inventory.domain.stores import InnerBag, check_at_hand, inner_bags
from inventory.models import (
    Act,
    Item,
    KitContent,
    KitRevision,
    Lot,
    MatchedSet,
    Part,
    Person,
    Place,
    Spot,
)
from inventory.queries.kits import revision_of
from inventory.queries.stock import open_stops, stopped_items
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.holding import room_for
from inventory.services.labelled import lot_named, serial_named
from inventory.services.lot_facts import FROM_KIT
from inventory.services.post import Move, post
from inventory.services.receive import SetLabel
from inventory.services.run import Body, Done, Stamp, run

#: Said of a content whose lot could not be read.
THIS_JOB_ONLY = "this job only"
FREE = "free"
#: Said of a content that is stopped itself, by its lot or by what it came out of.
STOPPED = "stopped"
#: How a lot's expiry came to be known, where the bag itself was not dated.
_FROM_BAG = "printed on the inner bag"
_NEVER_DATED = ("known from a kit's inner bag", "found in an engine")


@dataclass(frozen=True, slots=True)
class Labels:
    """What is read when a box is opened, by part number of the content.

    inner_lots  lot code on the inner bag; "" or absent: not readable (what was recorded at receipt is taken then)
    expiries    expiry printed on the inner bag
    serials     for serials and sets: one number for each thing; set_labels: what their labels say, by serial
    others      parts of which a person says that the lot or serials are others than those on record in another spelling
    """

    inner_lots: Mapping[str, str] = field(default_factory=dict)
    expiries: Mapping[str, date] = field(default_factory=dict)
    serials: Mapping[str, Sequence[str]] = field(default_factory=dict)
    set_labels: Mapping[str, SetLabel] = field(default_factory=dict)
    others: Sequence[str] = ()


def open_kit(
    *,
    actor: Person,
    stamp: Stamp,
    item_id: int,
    place: str,
    spot: str = NO_SPOT,
    amount: int = 1,
    inner_lots: Mapping[str, str] | None = None,
    expiries: Mapping[str, date] | None = None,
    serials: Mapping[str, Sequence[str]] | None = None,
    set_labels: Mapping[str, SetLabel] | None = None,
    others: Sequence[str] = (),
    to_place: str = "",
    to_spot: str = "",
    reason: str = "",
    subject: str = "",
) -> Done:
    """Open boxes of one closed kit (or a box of matched sets) where they stand.

    inner_lots … others  what is read on the labels: see `Labels`
    to_place, to_spot  where the contents are laid, the same by default: a place of the same kind at the same site, or quarantine
    reason             needed where a bag says another lot than was recorded

    The contents are those of the revision that came with the kit's lot (see `revision_of`). A kit inside comes out closed. A traced content without a readable bag has no known lot from now on: on a cart or bench it may be used for that job
    only; on a shelf that is refused. Outcome: {"kit", "item", "amount", "revision", "contents": [{part, item, lot, serial, amount,
    place, spot, expires_on, usable, record_said}], "shorts"}.
    Raises DomainError "not-found", "not-a-kit", "not-in-kit", "wrong-place", "not-there", "inner-lot-differs",
    "inner-lot-missing", "serial-count", "serial-elsewhere", "spelling-ambiguous"; "stopped" unless the contents of a stopped kit are
    laid in quarantine.
    """
    read = Labels(inner_lots or {}, expiries or {}, serials or {}, set_labels or {}, list(others))
    request = {
        "item": item_id, "place": place, "spot": spot,
        "amount": amount,
        "labels": asdict(read),
        "to_place": to_place,
        "to_spot": to_spot,
        "reason": reason,
        "subject": subject,
    }  # fmt: skip

    def work(act: Act) -> Body:
        box = things.place_of(act)
        laid = things.place(to_place) if to_place else box
        kit = lookup.item(item_id)
        boxes, _ = lookup.amount(kit, amount)
        _check_places(kit, box, laid)
        _refuse_stopped_kit(kit, laid)
        revision, contents = _contents(kit, read)
        lookup.lock([(kit, box)])
        from_spot = things.spot(box, spot)
        out_spot = things.spot(laid, to_spot or (spot if laid == box else NO_SPOT))
        _check_there(kit, from_spot, boxes)
        unpacked = _unpack(kit, contents, boxes, read, reason)
        _refuse_unknown_on_shelf(unpacked, laid)
        shorts = room_for(act, {(kit.pk, from_spot.pk): boxes}, f"{kit.called} was opened")
        conversion = things.books_only(PlaceKind.CONVERSION)
        moves = [Move(kit, boxes, from_spot, conversion)]
        moves += [Move(one.item, one.amount, conversion, out_spot) for one in unpacked]
        post(act, moves)
        note_gone(act, [(kit.pk, boxes, box)])
        return {
            "kit": kit.part.number,
            "item": kit.pk,
            "amount": boxes,
            "revision": revision.revision,
            "contents": _said(unpacked, out_spot),
            "shorts": lookup.said(shorts),
        }

    return run("open kit", work, actor=actor, stamp=stamp, request=request, place=place, subject=subject, reason=reason)


@dataclass(frozen=True, slots=True)
class _Unpacked:
    item: Item
    amount: int
    known: bool = True
    record_said: tuple[str, ...] = ()


def _check_places(kit: Item, box: Place, laid: Place) -> None:
    check_at_hand(lookup.kind(box), box.code, "opened")
    if laid.kind != PlaceKind.QUARANTINE and (laid.kind != box.kind or laid.site_id != box.site_id):
        raise DomainError(
            "wrong-place",
            f"{lookup.label(kit)} is opened at {box.code}: its contents are not laid at {laid.code}, {a(laid.kind)}.",
            ways_out=("Lay them where the kit stood, or in quarantine.",),
            place=laid.code,
        )


def _refuse_stopped_kit(kit: Item, laid: Place) -> None:
    """DomainError "stopped": what comes out of a kit that is stopped itself goes to quarantine, whatever it is."""
    around = kit.from_kit
    own = Q(item=kit) | Q(lot=kit.lot_id)
    if around is not None:
        own |= Q(item=around) | Q(lot=around.lot_id)
    if laid.kind != PlaceKind.QUARANTINE and open_stops().filter(own).exists():
        raise DomainError(
            "stopped",
            f"{lookup.label(kit)} is stopped: nothing that comes out of it is used until it is freed.",
            ways_out=("Lay what comes out of it in quarantine.",),
            item=lookup.label(kit),
            place=laid.code,
        )


def _contents(kit: Item, read: Labels) -> tuple[KitRevision, list[KitContent]]:
    revision = revision_of(kit)
    contents = list(revision.contents.select_related("part", "inside").order_by("part__number")) if revision else []
    if revision is None or not contents:
        raise DomainError("not-a-kit", f"What {kit.part.number} holds is not on record.", part=kit.part.number)
    inside = {content.part.number for content in contents}
    unknown = sorted((set(read.inner_lots) | set(read.expiries) | set(read.serials)) - inside)
    if unknown:
        raise DomainError(
            "not-in-kit", f"{', '.join(unknown)} is not in kit {kit.part.number}.", parts=unknown, kit=kit.part.number
        )
    return revision, contents


def _check_there(of: Item, spot: Spot, amount: int) -> None:
    row = lookup.balances([(of.pk, spot.pk)]).get((of.pk, spot.pk))
    if row is None or row.amount < amount:
        raise lookup.not_free(of, spot, amount, row)


def _unpack(kit: Item, contents: Sequence[KitContent], boxes: int, read: Labels, reason: str) -> list[_Unpacked]:
    on_record: dict[int, list[InnerBag]] = {}
    if kit.lot is not None:
        for row in kit.lot.inner_lots.select_related("lot").order_by("lot__code"):
            on_record.setdefault(row.lot.part_id, []).append(InnerBag(row.lot.code, row.amount))
    made: list[_Unpacked] = []
    for content in contents:
        part = content.part
        if part.tracked_by in (Tracked.SERIAL, Tracked.SET):
            made += _serials(part, content.amount * boxes, read)
        elif part.tracked_by == Tracked.LOT:
            code = _as_recorded(read, part.number, on_record.get(part.pk, ()))
            bags = inner_bags(part.number, content.amount, on_record.get(part.pk, ()), code, reason)
            for bag in bags.bags:
                lot = (
                    _lot(kit, content, bag.code, read.expiries.get(part.number), part.number in read.others)
                    if bag.code
                    else None
                )
                item = things.item(part, lot=lot, from_kit=kit)
                made.append(_Unpacked(item, bag.amount * boxes, lot is not None, bags.record_said))
        else:
            made.append(_Unpacked(things.item(part, from_kit=kit), content.amount * boxes))
    return made


def _as_recorded(read: Labels, part: str, bags: Sequence[InnerBag]) -> str:
    """The code that was read, as the kit's record spells it."""
    code = read.inner_lots.get(part, "")
    same = {bag.code for bag in bags if label_key(bag.code) == label_key(code)}
    return same.pop() if code and part not in read.others and len(same) == 1 else code


def _serials(part: Part, amount: int, read: Labels) -> list[_Unpacked]:
    """Each is the item that its serial always is, whatever it came out of: one thing must never have two items."""
    numbers = list(read.serials.get(part.number, ()))
    apart = part.number in read.others
    if (
        len({number if apart else label_key(number) for number in numbers}) != amount
        or len(numbers) != amount
        or not all(number.strip() for number in numbers)
    ):
        raise DomainError(
            "serial-count",
            f"{amount} of {part.number} come out: {amount} different serial numbers are needed, "
            f"{len(set(numbers))} were given.",
            part=part.number,
            needed=amount,
            given=numbers,
        )
    made = []
    for number in numbers:
        serial, new = serial_named(part, number, another=apart, ask=True)
        if new and part.tracked_by == Tracked.SET:
            MatchedSet.objects.create(serial=serial, **read.set_labels.get(number, SetLabel()).kept())
        made.append(_Unpacked(things.item(part, serial=serial), 1))
    return made


def _lot(kit: Item, content: KitContent, code: str, printed: date | None, another: bool) -> Lot:
    """The content's lot. One first seen inside a kit has the expiry on its bag or else the kit's, which is never later."""
    day, rule = (printed, _FROM_BAG) if printed else (_expiry(kit), FROM_KIT)
    lot, new = lot_named(
        content.part,
        code,
        another=another,
        ask=True,
        defaults={"expires_on": day, "expiry_rule": rule, "printed_on": printed, "kit_revision": content.inside},
    )
    if not new and lot.expires_on is None and lot.expiry_rule in _NEVER_DATED and day is not None:
        Lot.objects.filter(pk=lot.pk, expires_on__isnull=True).update(
            expires_on=day, expiry_rule=rule, printed_on=printed
        )
        lot.refresh_from_db()
    return lot


def _expiry(kit: Item) -> date | None:
    while kit.lot is None and kit.from_kit is not None:
        kit = kit.from_kit
    return kit.lot.expires_on if kit.lot else None


def _refuse_unknown_on_shelf(unpacked: Sequence[_Unpacked], laid: Place) -> None:
    """On a shelf anybody could be given it: without its lot a content stays with the job, or apart."""
    if laid.kind != PlaceKind.SHELF:
        return
    missing = sorted({one.item.part.number for one in unpacked if not one.known})
    if missing:
        raise DomainError(
            "inner-lot-missing",
            f"The lot of {', '.join(missing)} is not known: it cannot lie on {laid.code} for any job to take.",
            ways_out=(
                "Read the lots on the inner bags.",
                "Open the kit on the cart or bench of the job that uses it.",
                "Lay the contents in quarantine.",
            ),
            parts=missing,
            place=laid.code,
        )


def _said(unpacked: Sequence[_Unpacked], spot: Spot) -> list[Body]:
    stopped = stopped_items([one.item.pk for one in unpacked])
    return [_say(one, spot, one.item.pk in stopped) for one in unpacked]


def _say(one: _Unpacked, spot: Spot, stopped: bool) -> Body:
    item = one.item
    return {
        "part": item.part.number,
        "item": item.pk,
        "lot": item.lot_code,
        "serial": item.serial_number,
        "amount": one.amount,
        "price_coins": item.part.price_coins,
        "place": spot.place.code,
        "spot": spot.name,
        "expires_on": item.lot.expires_on if item.lot else None,
        "usable": STOPPED if stopped else FREE if one.known else THIS_JOB_ONLY,
        "record_said": list(one.record_said),
    }
