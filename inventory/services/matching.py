"""The books of a set that is matched again: its members out of quarantine, the new set in. Private to services.

What was measured is judged by who calls; here is only what may be a member, and the movements.
"""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.corrections import CORRECT_FITTING
from inventory.domain.errors import DomainError
from inventory.domain.items import Member, Tracked
from inventory.domain.matching import Candidate, check_members
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Item, MatchedSet, Movement, Part, Person, SetMatch, SetMatchMember
from inventory.services import lookup, things
from inventory.services.labelled import serial_named
from inventory.services.post import Move, post
from inventory.services.receive import SetLabel
from inventory.services.run import Body


def set_part(number: str) -> Part:
    """A part that is a matched set; DomainError "not-found", "not-a-set"."""
    part = things.parts_by_number([number])[number]
    if part.tracked_by != Tracked.SET:
        raise DomainError("not-a-set", f"{number} is not a matched set.", part=number)
    return part


def members(part: Part, ids: Mapping[Member, int]) -> dict[Member, Balance]:
    """Where each member lies, locked: two people who want one orphan meet here. Raises what `check_members` does, "not-found",
    and "old-unit-known"."""
    found = lookup.items(ids.values())
    for item_id in ids.values():
        if item_id not in found:
            raise DomainError("not-found", f"There is no item {item_id}.", item=item_id)
    if len(set(ids.values())) < len(ids):
        raise DomainError("match-member-wrong", "One thing was named as two members.", items=sorted(ids.values()))
    first = {item_id: lookup.standing(item) for item_id, item in found.items()}
    lookup.lock((found[item_id], row.spot.place) for item_id, row in first.items() if row is not None)
    rows = {item_id: _in_quarantine(item) for item_id, item in found.items()}
    for item in found.values():
        lookup.refuse_old_unit(item)
    check_members([_candidate(part, member, found[item_id], rows[item_id]) for member, item_id in ids.items()])
    return {member: row for member, item_id in ids.items() if (row := rows[item_id]) is not None}


def _in_quarantine(item: Item) -> Balance | None:
    row = lookup.standing(item)
    return row if row is not None and row.spot.place.kind == PlaceKind.QUARANTINE else None


def _candidate(part: Part, wanted: Member, item: Item, row: Balance | None) -> Candidate:
    return Candidate(
        wanted=wanted,
        label=lookup.label(item),
        is_member=Member(item.member),
        same_part=item.part_id == part.pk,
        tracked=Tracked(item.part.tracked_by),
        place=row.spot.place.code if row is not None else "",
        was_in_engine=_was_in_engine(item),
        stopped=any(lookup.is_stopped(one) for one in _as_known_before(item)),
    )


def _as_known_before(item: Item) -> list[Item]:
    """The thing, and the whole set that it came out of."""
    if not item.member:
        return [item]
    return [item, *Item.objects.filter(serial=item.serial_id, member=Member.WHOLE.value)]


def _was_in_engine(item: Item) -> bool:
    """Whether the thing, or the set with its serial, ever stood in an engine by our records."""
    rows = Movement.objects.filter(
        item__in=_as_known_before(item), act__corrected_by__isnull=True, act__corrects__isnull=True
    )
    engine = PlaceKind.ENGINE.value
    never = rows.filter(from_spot__place__kind=engine, act__kind=CORRECT_FITTING).count()
    left = rows.filter(from_spot__place__kind=engine).exclude(act__kind=CORRECT_FITTING).exists()
    return left or rows.filter(to_spot__place__kind=engine).count() > never


def make_set(
    act: Act, part: Part, number: str, rows: Mapping[Member, Balance], label: SetLabel, signed_by: Person
) -> Body:
    """The new set in the quarantine place of its members, under its new serial. `rows`: of `members`.

    Body: {"item", "part", "serial", "place", "spot", "members": [{member, item, part, serial}]}. Raises "serial-known".
    """
    serial, made = serial_named(part, number)
    if not made:
        raise DomainError(
            "serial-known",
            f"{serial.number} is a serial of {part.number} already: a set that is matched again gets a new one.",
            part=part.number,
            serial=number,
        )
    MatchedSet.objects.create(serial=serial, **label.kept())
    whole = things.item(part, serial=serial)
    match = SetMatch.objects.create(serial=serial, act=act, signed_by=signed_by)
    conversion, aside = things.books_only(PlaceKind.CONVERSION), rows[Member.LINER].spot
    items = lookup.items(row.item_id for row in rows.values())
    post(
        act,
        [
            *(Move(items[row.item_id], 1, row.spot, conversion) for row in rows.values()),
            Move(whole, 1, conversion, aside),
        ],
    )
    SetMatchMember.objects.bulk_create(
        [SetMatchMember(match=match, member=member.value, item_id=row.item_id) for member, row in rows.items()]
    )
    return {
        "item": whole.pk,
        "part": part.number,
        "serial": serial.number,
        "place": aside.place.code,
        "spot": aside.name,
        "members": [_said(member, items[row.item_id]) for member, row in rows.items()],
    }


def _said(member: Member, item: Item) -> Body:
    serial = item.serial_number
    return {"member": member.value, "item": item.pk, "part": item.part.number, "serial": serial}
