"""Making up closed kits from loose stock: what goes in is converted into boxes, in one act, and the boxes know their inner lots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.assembling import Limb, box_expiry, check_limbs
from inventory.domain.errors import DomainError
from inventory.domain.items import Tracked
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.spelling import label_key
from inventory.models import Act, InnerLot, Item, KitAssembly, KitRevision, Lot, Part, Person, Place, Spot
from inventory.queries.days import shop_day
from inventory.queries.kits import depth_of, kits_inside, revision_of
from inventory.queries.stock import stopped_items
from inventory.queries.withdrawn import withdrawn_parts
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run


@dataclass(frozen=True, slots=True)
class LimbIn:
    """So many pieces of an item (whole base units, or text with a unit) go into every box, from a spot of a shelf."""

    item_id: int
    each: str | int
    place: str
    spot: str = NO_SPOT


@dataclass(frozen=True, slots=True)
class _Taken:
    item: Item
    each: int
    spot: Spot
    limb: Limb


def assemble_kit(
    *,
    actor: Person,
    stamp: Stamp,
    kit: str,
    lot: str,
    contents: Sequence[LimbIn],
    place: str,
    spot: str = NO_SPOT,
    boxes: int = 1,
    another_lot: bool = False,
    reason: str = "",
) -> Done:
    """Make up closed boxes of a kit, all alike, by its newest contents.

    lot       code of the boxes' own lot, a new one (another_lot: also beside one that differs in spelling alone): what is in them is recorded under it, as on the inner bags of a delivered kit
    contents  what goes into each box; place, spot: the shelf where the boxes are laid, at the site where the contents lie
    What is held for a job is not taken. A stop of a lot inside blocks the boxes. Taken back by a correction while they are closed.
    Outcome: {"kit", "revision", "lot", "item", "boxes", "place", "spot", "expires_on", "expiry_rule", "inside": [{part, item, lot, each,
    amount}]}.
    Raises DomainError "not-found", "nothing-given", "not-a-kit", "kit-unusable", "lot-missing", "lot-known", "amount-not-positive",
    "amount-too-large", "part-withdrawn", "wrong-place", "counted-twice", "not-there"; those of `check_limbs`; those of amounts.
    """
    request = {
        "kit": kit, "lot": lot, "contents": [asdict(one) for one in contents], "place": place, "spot": spot,
        "boxes": boxes, "reason": reason, "another_lot": another_lot,
    }  # fmt: skip

    def work(act: Act) -> Body:
        laid = things.place_of(act)
        part, revision = _kit(kit, lot, another_lot)
        if not contents:
            raise DomainError("nothing-given", f"What goes into {kit}?", kit=kit)
        _check_boxes(boxes)
        given = _given(contents, laid)
        lookup.lock((one.item, one.spot.place) for one in given)
        stopped = stopped_items([one.item.pk for one in given])
        taken = [_taken(one, one.item.pk in stopped) for one in given]
        wanted = {line.part.number: line.amount for line in revision.contents.select_related("part").order_by("pk")}
        check_limbs(kit, wanted, [one.limb for one in taken], shop_day(act.occurred_at))
        _check_free(taken, boxes)
        made = _lot(act, part, revision, lot, taken, boxes)
        box, target = things.item(part, lot=made), things.spot(laid, spot)
        conversion = things.books_only(PlaceKind.CONVERSION)
        moves = [Move(one.item, one.each * boxes, one.spot, conversion) for one in taken]
        post(act, [*moves, Move(box, boxes, conversion, target)])
        return {
            "kit": kit,
            "revision": revision.revision,
            "lot": made.code,
            "item": box.pk,
            "boxes": boxes,
            "place": laid.code,
            "spot": spot,
            "expires_on": made.expires_on,
            "expiry_rule": made.expiry_rule,
            "inside": [_said(one, boxes) for one in taken],
        }

    return run(
        "assemble kit", work, actor=actor, stamp=stamp, request=request, place=place, subject=kit[:80], reason=reason
    )


def _kit(number: str, lot: str, another: bool) -> tuple[Part, KitRevision]:
    """The kit and its newest contents; its lot's code is locked and new."""
    part = things.parts_by_number([number])[number]
    revision = KitRevision.objects.filter(kit=part).order_by("-revision").first()
    if revision is None:
        raise DomainError("not-a-kit", f"What {number} holds is not on record.", part=number)
    if part.tracked_by != Tracked.LOT:
        raise DomainError(
            "kit-unusable", f"Boxes of {number} have no lot: what is in them could not be recorded.", kit=number
        )
    if withdrawn_parts({part.pk}):
        raise DomainError("part-withdrawn", f"{number} is withdrawn: no boxes of it are made up.", part=number)
    things.check_tracked(part, lot=lot.strip(), serial="")
    locks.name("lot", f"{part.pk} {label_key(lot)}")
    known = set(Lot.objects.filter(part=part, compare_key=label_key(lot)).values_list("code", flat=True))
    if lot in known or (known and not another):
        raise DomainError(
            "lot-known",
            f"{number} has a lot {', '.join(sorted(known))} already: these boxes get a code of their own.",
            ways_out=("If it is another lot, say so (another_lot); both are then kept and shown together.",),
            part=number,
            lot=lot,
            known=sorted(known),
        )
    return part, revision


def _check_boxes(boxes: int) -> None:
    if boxes < 1:
        raise DomainError("amount-not-positive", f"{boxes} boxes: at least one is made up.", boxes=boxes)
    if boxes > MOST_BOXES:
        raise DomainError("amount-too-large", f"{boxes} boxes are more than are made up at once.", boxes=boxes)


MOST_BOXES = 1000


@dataclass(frozen=True, slots=True)
class _Given:
    item: Item
    each: int
    spot: Spot


def _given(contents: Sequence[LimbIn], laid: Place) -> list[_Given]:
    """The limbs as they are known, each at a shelf of the site; "wrong-place", "not-found", "counted-twice", those of amounts."""
    if laid.kind != PlaceKind.SHELF:
        raise DomainError(
            "wrong-place", f"{laid.code} is {a(laid.kind)}: kits are made up on a shelf.", place=laid.code
        )
    places = {code: things.place(code) for code in dict.fromkeys(one.place for one in contents)}
    found: dict[tuple[int, int], _Given] = {}
    for one in contents:
        lies = places[one.place]
        if lies.kind != PlaceKind.SHELF or lies.site_id != laid.site_id:
            raise DomainError(
                "wrong-place",
                f"{lies.code} is no shelf of the site of {laid.code}: a kit is made up of what lies there.",
                ways_out=("Transfer it first.",),
                place=lies.code,
            )
        item = lookup.item(one.item_id)
        each, _ = lookup.amount(item, one.each)
        spot = things.spot(lies, one.spot)
        if (item.pk, spot.pk) in found:
            raise DomainError("counted-twice", f"{lookup.label(item)} at {lies.code} stands twice.", item=item.pk)
        found[item.pk, spot.pk] = _Given(item, each, spot)
    return list(found.values())


def _taken(given: _Given, stopped: bool) -> _Taken:
    item = given.item
    held = revision_of(item) if item.part.kit_revisions.exists() else None
    limb = Limb(
        label=lookup.label(item),
        part=item.part.number,
        each=given.each,
        tracked=Tracked(item.part.tracked_by),
        lot_known=item.lot is not None,
        half=item.member != "",
        opened=item.tube is not None,
        stopped=stopped,
        expires_on=item.lot.expires_on if item.lot else None,
        kits={item.part.number, *kits_inside(held)} if held else (),
        depth=depth_of(held) if held else 0,
    )
    return _Taken(item, given.each, given.spot, limb)


def _check_free(taken: Sequence[_Taken], boxes: int) -> None:
    """DomainError "not-there" with everybody it is held for: what is promised is not packed."""
    rows = lookup.balances((one.item.pk, one.spot.pk) for one in taken)
    for one in taken:
        row = rows.get((one.item.pk, one.spot.pk))
        if row is None or row.amount - row.held < one.each * boxes:
            raise lookup.not_free(one.item, one.spot, one.each * boxes, row)


def _lot(act: Act, part: Part, revision: KitRevision, code: str, taken: Sequence[_Taken], boxes: int) -> Lot:
    """The boxes' own lot, with what is in each of them."""
    expires_on, rule = box_expiry([one.limb for one in taken])
    made = Lot.objects.create(
        part=part,
        code=code,
        compare_key=label_key(code),
        made_on=shop_day(act.occurred_at),
        expires_on=expires_on,
        expiry_rule=rule[:200],
        kit_revision=revision,
    )
    each = lookup.sums(((one.item.lot_id, 0), one.each) for one in taken if one.item.lot_id is not None)
    InnerLot.objects.bulk_create(
        [InnerLot(kit_lot=made, lot_id=lot, amount=amount) for (lot, _), amount in each.items()]
    )
    KitAssembly.objects.create(act=act, lot=made, boxes=boxes)
    return made


def _said(one: _Taken, boxes: int) -> Body:
    return {
        "part": one.item.part.number,
        "item": one.item.pk,
        "lot": one.item.lot_code,
        "each": one.each,
        "amount": one.each * boxes,
    }
