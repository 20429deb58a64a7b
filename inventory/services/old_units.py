"""Old units: looked at, tagged to a job, kept in a crate, sent back to their supplier."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Base, Tracked
from inventory.domain.old_units import Grade, check_places, limit_day
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.stores import check_at_hand
from inventory.models import Act, Deposit, Item, OldUnit, OldUnitSent, OldUnitTag, Part, Person, Spot, Supplier
from inventory.queries.catalogue import no_such_supplier
from inventory.queries.days import shop_day
from inventory.queries.old_units import send_back_days
from inventory.services import lookup, things
from inventory.services.labelled import serial_named
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run

MOST_UNITS = 500


def record_old_unit(
    *,
    actor: Person,
    stamp: Stamp,
    to_place: str,
    to_spot: str = NO_SPOT,
    item_id: int | None = None,
    place: str = "",
    spot: str = NO_SPOT,
    part: str = "",
    serial: str = "",
    grade: str = Grade.UNKNOWN,
    condition: str = "",
    tag: str = "",
    subject: str = "",
    supplier: str = "",
    send_back_by: date | None = None,
    deposits: Sequence[int] = (),
) -> Done:
    """Take in one old unit: what lies somewhere already (`item_id`, `place`, `spot`), or what was brought (`part`, its serial where the
    part has one).

    to_place      a crate of old units, or quarantine
    tag, subject  its tag and the job it is tagged to; without a tag it stays on the open list until it is answered
    supplier      where it goes; send_back_by: until when, else by the supplier's terms for the part, else by the supplier's
    deposits      ids of deposits of this part that hang on it

    A thing without a serial becomes an item of its own, and none of them is ever stock again. Outcome: {"old_unit", "item", "part",
    "serial", "place", "spot", "grade", "tag", "job", "supplier", "send_back_by", "deposits"}.
    Raises DomainError "not-found", "wrong-place", "not-there", "serial-not-kept", "serial-elsewhere", "nothing-given",
    "part-unusable", "old-unit-known", "old-unit-tagged", "deposit-tied", "wrong-part".
    """
    request = {
        "to_place": to_place, "to_spot": to_spot, "item": item_id, "place": place, "spot": spot, "part": part, "serial": serial,
        "grade": grade, "condition": condition, "tag": tag, "subject": subject, "supplier": supplier,
        "send_back_by": send_back_by, "deposits": list(deposits),
    }  # fmt: skip

    def work(act: Act) -> Body:
        target = things.place_of(act)
        if tag and not subject:
            raise DomainError("nothing-given", f"Of which job is tag {tag}?", tag=tag)
        goes_to = _supplier(supplier)
        rows = _deposits(deposits)
        _free_tag(tag)
        kept = things.spot(target, to_spot)
        if item_id is not None:
            own = _from_the_books(act, item_id, place, spot, kept)
        else:
            own = _brought(act, part, serial, kept)
        limit = send_back_by or limit_day(shop_day(act.occurred_at), send_back_days(goes_to, own.part))
        unit = OldUnit.objects.create(
            act=act, item=own, grade=Grade(grade), condition=condition, supplier=goes_to, send_back_by=limit
        )
        _tie(rows, unit, own.part)
        if tag:
            OldUnitTag.objects.create(unit=unit, act=act, tag=tag, job=subject)
        return {
            "old_unit": unit.pk,
            "item": own.pk,
            "part": own.part.number,
            "serial": own.serial_number,
            "place": target.code,
            "spot": kept.name,
            "grade": unit.grade,
            "tag": tag,
            "job": subject,
            "supplier": supplier,
            "send_back_by": limit,
            "deposits": [row.pk for row in rows],
        }

    return run("take in old unit", work, actor=actor, stamp=stamp, request=request, place=to_place, subject=subject)


def answer_old_unit(
    *, actor: Person, stamp: Stamp, unit: int, tag: str, subject: str, reason: str, deposits: Sequence[int] = ()
) -> Done:
    """Say whose an old unit is: its tag and its job; also in place of a tag that was wrong. `deposits`: more of them that hang on it.

    Outcome: {"old_unit", "tag", "job", "before": the tag until now, "deposits", "reason"}.
    Raises DomainError "not-found", "reason-missing", "nothing-given", "old-unit-tagged", "deposit-tied", "wrong-part".
    """
    request = {"unit": unit, "tag": tag, "subject": subject, "reason": reason, "deposits": list(deposits)}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"How is it known whose old unit {unit} is?")
        if not (tag.strip() and subject.strip()):
            raise DomainError("nothing-given", "An old unit is answered for by a tag and a job.")
        (found,) = _units([unit])
        rows = _deposits(deposits)
        _free_tag(tag)
        before = found.tags.order_by("-pk").first()
        OldUnitTag.objects.create(unit=found, act=act, tag=tag, job=subject)
        _tie(rows, found, found.item.part)
        return {
            "old_unit": unit,
            "tag": tag,
            "job": subject,
            "before": before.tag if before else "",
            "deposits": [row.pk for row in rows],
            "reason": reason,
        }

    return run("answer for old unit", work, actor=actor, stamp=stamp, request=request, subject=subject, reason=reason)


def send_back(*, actor: Person, stamp: Stamp, supplier: str, units: Sequence[int], note: str = "") -> Done:
    """Send old units back to a supplier; all of them or none. Taken back by a correction of the act.

    Outcome: {"supplier", "note", "units": [{old_unit, tag, job, part, item, from, late}]}; late: after its limit.
    Raises ManyErrors naming every one: "tag-missing", "old-unit-ended", "not-there", "wrong-place"; DomainError "not-found",
    "nothing-given", "too-many-lines".
    """
    request = {"supplier": supplier, "units": list(units), "note": note}

    def work(act: Act) -> Body:
        if not units:
            raise DomainError("nothing-given", "Nothing was given to send back.")
        if len(units) > MOST_UNITS:
            raise DomainError("too-many-lines", f"{len(units)} old units; at most {MOST_UNITS}.", lines=len(units))
        to = _supplier(supplier)
        if to is None:
            raise no_such_supplier(supplier)
        found = _units(list(dict.fromkeys(units)))
        first = {one.pk: lookup.standing(one.item) for one in found}
        lookup.lock((one.item, row.spot.place) for one in found if (row := first[one.pk]) is not None)
        out = things.books_only(PlaceKind.SUPPLIER)
        moves, said, errors = [], [], []
        for number, one in enumerate(found, 1):
            try:
                here, tag = _ready(one)
            except DomainError as error:
                errors.append((number, error))
                continue
            moves.append(Move(one.item, 1, here, out))
            said.append(_sent(act, one, tag, here))
        if errors:
            raise ManyErrors(tuple(errors))
        post(act, moves)
        OldUnitSent.objects.bulk_create([OldUnitSent(unit=one, act=act, supplier=to) for one in found])
        return {"supplier": to.code, "note": note, "units": said}

    return run("send old units back", work, actor=actor, stamp=stamp, request=request, subject=supplier, reason=note)


def _ready(one: OldUnit) -> tuple[Spot, OldUnitTag]:
    """Where it lies, and its tag; what keeps it from being sent back is raised."""
    tag = one.tags.order_by("-pk").first()
    if tag is None:
        raise DomainError(
            "tag-missing",
            f"Old unit {one.pk} ({one.item.called}) has no tag: nobody would know whose deposit comes back.",
            ways_out=("Say whose it is first.",),
            old_unit=one.pk,
        )
    sent = one.sent.filter(act__corrected_by__isnull=True).select_related("act").first()
    if sent is not None:
        day = shop_day(sent.act.occurred_at)
        raise DomainError("old-unit-ended", f"{tag.tag} was sent back on {day}.", old_unit=one.pk, on=day.isoformat())
    row = lookup.standing(one.item)
    if row is None:
        raise DomainError("not-there", f"{tag.tag} is nowhere in the shop.", old_unit=one.pk, item=one.item.called)
    check_at_hand(lookup.kind(row.spot.place), row.spot.place.code, "sent back")
    return row.spot, tag


def _sent(act: Act, one: OldUnit, tag: OldUnitTag, here: Spot) -> Body:
    return {
        "old_unit": one.pk,
        "tag": tag.tag,
        "job": tag.job,
        "part": one.item.part.number,
        "item": one.item_id,
        "from": {"place": here.place.code, "spot": here.name},
        "late": one.send_back_by is not None and shop_day(act.occurred_at) > one.send_back_by,
    }


def _units(ids: Sequence[int]) -> list[OldUnit]:
    """Old units that count, locked, in the order asked; DomainError "not-found"."""
    locks.row(OldUnit._meta.db_table, ids)
    rows = OldUnit.objects.filter(pk__in=ids, act__corrected_by__isnull=True)
    found = {row.pk: row for row in rows.select_related("item__part", "item__lot", "item__serial")}
    for one in ids:
        if one not in found:
            raise DomainError("not-found", f"There is no old unit {one}.", old_unit=one)
    return [found[one] for one in ids]


def _supplier(code: str) -> Supplier | None:
    if not code:
        return None
    found = Supplier.objects.filter(code=code).first()
    if found is None:
        raise no_such_supplier(code)
    return found


def _free_tag(tag: str) -> None:
    """DomainError "old-unit-tagged" where another old unit wears, or wore, a tag with this text."""
    if not tag:
        return
    locks.name("old unit tag", tag)
    worn = OldUnitTag.objects.filter(tag=tag).first()
    if worn is not None:
        raise DomainError(
            "old-unit-tagged",
            f"Tag {tag} was given to old unit {worn.unit_id}, of job {worn.job}.",
            ways_out=("Give it a tag of its own.",),
            tag=tag,
            old_unit=worn.unit_id,
            job=worn.job,
        )


def _deposits(ids: Sequence[int]) -> list[Deposit]:
    locks.row(Deposit._meta.db_table, ids)
    found = {row.pk: row for row in Deposit.objects.filter(pk__in=ids).select_related("unit__act", "part")}
    for one in ids:
        if one not in found:
            raise DomainError("not-found", f"There is no deposit {one}.", deposit=one)
    return [found[one] for one in dict.fromkeys(ids)]


def _tie(rows: Sequence[Deposit], unit: OldUnit, part: Part) -> None:
    """The deposits hang on this unit from now on; one whose unit was taken back is free again."""
    for row in rows:
        if row.part_id != part.pk:
            raise DomainError(
                "wrong-part",
                f"Deposit {row.pk} is for {row.part.number}, not for {part.number}.",
                deposit=row.pk,
                part=row.part.number,
            )
        held_by = row.unit
        if held_by is not None and held_by.pk != unit.pk and getattr(held_by.act, "corrected_by", None) is None:
            raise DomainError(
                "deposit-tied", f"Deposit {row.pk} hangs on old unit {held_by.pk}.", deposit=row.pk, old_unit=held_by.pk
            )
    Deposit.objects.filter(pk__in=[row.pk for row in rows]).update(unit=unit)


def _from_the_books(act: Act, item_id: int, place: str, spot: str, kept: Spot) -> Item:
    """What lies somewhere already goes to where old units are kept; the item that it is from now on."""
    item, lies = lookup.item(item_id), things.place(place)
    check_places(item.called, lookup.kind(lies), lookup.kind(kept.place))
    if item.base != Base.PIECE:
        raise DomainError("part-unusable", f"{item.called} is poured: it is no unit.", part=item.part.number)
    lookup.lock([(item, lies)])
    if item.single:
        lookup.refuse_old_unit(item)  # one that was sent back may come again
    here = things.spot(lies, spot)
    row = lookup.balances([(item.pk, here.pk)]).get((item.pk, here.pk))
    if row is None or row.amount - row.held < 1:
        raise lookup.not_free(item, here, 1, row)
    if item.single:
        post(act, [Move(item, 1, here, kept)] if here != kept else [])
        return item
    own = things.item(item.part, lot=item.lot, found=f"old units, act {act.pk}")
    conversion = things.books_only(PlaceKind.CONVERSION)
    post(act, [Move(item, 1, here, conversion), Move(own, 1, conversion, kept)])
    return own


def _brought(act: Act, number: str, serial: str, kept: Spot) -> Item:
    """What a customer brought without its engine."""
    if not number:
        raise DomainError("nothing-given", "An old unit is a thing that lies here, or a part that was brought.")
    part = things.parts_by_number([number])[number]
    check_places(number, None, lookup.kind(kept.place))
    if part.base != Base.PIECE:
        raise DomainError("part-unusable", f"{number} is poured: it is no unit.", part=number)
    if serial and part.tracked_by != Tracked.SERIAL:
        raise DomainError("serial-not-kept", f"{number} has no serial numbers; {serial} was given.", part=number)
    if serial:
        row, _ = serial_named(part, serial)
        own = things.item(part, serial=row)
    else:
        own = things.item(part, found=f"old units, act {act.pk}")
    post(act, [Move(own, 1, things.books_only(PlaceKind.OWNER), kept)])
    return own
