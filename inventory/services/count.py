"""Counting: what differs from the books is a movement of its own, with a reason; history is never edited."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime

from django.db.models import Sum

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import identity
from inventory.domain.places import NO_SPOT, PlaceKind, said_from, said_to
from inventory.domain.stores import check_at_hand
from inventory.models import Act, Balance, Item, Movement, Person, Place, SetBreak, Short, Spot
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.holding import room_for
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storage_checks import check_storage

MOST_LINES = 2000


@dataclass(frozen=True, slots=True)
class CountLine:
    """What was counted at one spot: an item by its id, or a part with its lot or serial (both empty: told apart by nothing).

    counted  text with a unit ("4 EA", "11.1 mL") or whole base units; zero: nothing was there
    stored_wrongly  what is wrong with how it is stored; empty: it is as the rule of its kind says
    """

    counted: str | int
    item_id: int | None = None
    part: str = ""
    lot: str = ""
    serial: str = ""
    spot: str = NO_SPOT
    stored_wrongly: str = ""


@dataclass(slots=True)
class _Read:
    """A line after its checks; `on_books` is as of the moment of counting."""

    item: Item
    spot: Spot
    counted: int
    typed: str
    on_books: int = 0
    last_seen: str = ""
    wrong: str = ""
    set_aside: bool = False

    @property
    def difference(self) -> int:
        return self.counted - self.on_books


def count(
    *,
    actor: Person,
    stamp: Stamp,
    place: str,
    lines: Sequence[CountLine],
    reason: str = "",
    looked_at: Sequence[str] = (),
    quarantine: str = "",
) -> Done:
    """Compare what was counted at a place with the books as of `stamp.occurred_at`; only what is named is compared.

    A difference is posted as counted short or over and needs a reason. Holds that no longer fit end, latest fit date first, with named
    shorts. A serial that the books have in another place is refused with that place; one that was nowhere is taken back onto
    the books, saying where it was seen last. On a shelf it is looked at how things are stored, too: `looked_at` names the kinds that have
    a rule (`storage.RULES`) and were counted. Sets and gaskets that were found wrong go to `quarantine` until looked at, in the same act.
    Outcome: {"place", "reason", "lines": [{part, item, identity, spot, on_books, counted, difference, base, typed, said, last_seen,
    stored_wrongly, set_aside}], "shorts"}.
    Raises DomainError "nothing-given", "too-many-lines", "wrong-place", "storage-unchecked", "storage-unusable"; ManyErrors by line.
    """
    request = {
        "place": place, "reason": reason, "lines": [asdict(line) for line in lines], "looked_at": sorted(looked_at),
        "quarantine": quarantine,
    }  # fmt: skip

    def work(act: Act) -> Body:
        counted_at = things.place_of(act)
        aside = things.place(quarantine) if quarantine else None
        if not lines:
            raise DomainError("nothing-given", "A count needs at least one line.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        check_at_hand(lookup.kind(counted_at), counted_at.code, "counted")
        items, unknown = _items(lines)
        lookup.lock((item, counted_at) for item in items.values())
        read = _read(lines, items, unknown, counted_at, act.occurred_at, reason)
        shorts = _post(act, read, reason)
        if counted_at.kind == PlaceKind.SHELF:
            shorts += check_storage(act, [one for one in read if one.counted > 0], looked_at, counted_at, aside)
        return {
            "place": place,
            "reason": reason,
            "lines": [_say(one) for one in read],
            "shorts": lookup.said(shorts),
        }

    return run("count", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _items(lines: Sequence[CountLine]) -> tuple[dict[int, Item], dict[int, DomainError]]:
    """The item of each line number, and the refusals of lines whose thing is not known. A bounded number of queries."""
    by_id = lookup.items(line.item_id for line in lines if line.item_id is not None)
    texts = {_key(line) for line in lines if line.item_id is None}
    rows = Item.objects.filter(
        part__number__in={part for part, _ in texts}, identity__in={text for _, text in texts}
    ).select_related("part", "lot", "serial", "tube", "from_kit__lot")
    by_text = {(row.part.number, row.identity): row for row in rows}
    found: dict[int, Item] = {}
    unknown: dict[int, DomainError] = {}
    for number, line in enumerate(lines, 1):
        item = by_text.get(_key(line)) if line.item_id is None else by_id.get(line.item_id)
        if item is not None:
            found[number] = item
            continue
        what = f"item {line.item_id}" if line.item_id is not None else " ".join(_key(line))
        unknown[number] = DomainError(
            "not-found",
            f"The books never had {what}.",
            ways_out=("Look at the label again.", "Receive it if it came in without being booked."),
            item=what,
        )
    return found, unknown


def _key(line: CountLine) -> tuple[str, str]:
    return line.part, identity(lot=line.lot, serial=line.serial)


def _read(
    lines: Sequence[CountLine],
    items: dict[int, Item],
    unknown: dict[int, DomainError],
    place: Place,
    moment: datetime,
    reason: str,
) -> list[_Read]:
    spots = things.spots(place, {line.spot for line in lines})
    on_books = _as_of({(item.pk, spots[lines[number - 1].spot].pk) for number, item in items.items()}, moment)
    read: dict[int, _Read] = {}
    errors: list[tuple[int, DomainError]] = list(unknown.items())
    seen: set[lookup.Pair] = set()
    for number, item in items.items():
        line = lines[number - 1]
        try:
            counted, typed = lookup.amount(item, line.counted, zero=True)
            spot = spots[line.spot]
            if (item.pk, spot.pk) in seen:
                raise DomainError(
                    "counted-twice", f"{lookup.label(item)} at {line.spot} stands twice in this count.", item=item.pk
                )
            seen.add((item.pk, spot.pk))
            there = on_books.get((item.pk, spot.pk), 0)
            read[number] = _Read(item, spot, counted, typed, there, wrong=line.stored_wrongly.strip())
        except DomainError as error:
            errors.append((number, error))
    errors += _refused(read, place, reason)
    if errors:
        raise ManyErrors(tuple(sorted(errors, key=lambda pair: pair[0])))
    _say_where_seen(one for one in read.values() if one.item.single and one.difference > 0)
    return list(read.values())


def _refused(read: dict[int, _Read], place: Place, reason: str) -> list[tuple[int, DomainError]]:
    elsewhere = _elsewhere(one.item for one in read.values())
    broken = _broken(one.item for one in read.values())
    leaving = {(one.item.pk, one.spot.pk) for one in read.values() if one.difference < 0}
    errors: list[tuple[int, DomainError]] = []
    for number, one in read.items():
        stands = elsewhere.get(one.item.pk)
        if stands is not None and (stands.spot_id == one.spot.pk or (one.item.pk, stands.spot_id) in leaving):
            stands = None
        try:
            _check(one, stands, one.item.pk in broken, place, reason)
        except DomainError as error:
            errors.append((number, error))
    return errors


def _check(one: _Read, stands: Balance | None, broken: bool, place: Place, reason: str) -> None:
    if one.difference == 0:
        return
    label = lookup.label(one.item)
    if not reason.strip():
        raise DomainError(
            "reason-missing",
            f"{label}: the books say {one.on_books}, counted were {one.counted}. Why?",
            item=label,
            on_books=one.on_books,
            counted=one.counted,
        )
    if one.difference < 0:
        return
    if broken:
        raise DomainError("set-broken", f"{label} was broken: it cannot be there whole.", item=label)
    if one.item.member and place.kind != PlaceKind.QUARANTINE:
        raise DomainError("set-broken", f"{label} is a half of a broken set: it belongs in quarantine.", item=label)
    if stands is not None:
        where = stands.spot.place
        raise DomainError(
            "serial-elsewhere",
            f"{label} was counted at {place.code}, the books have it at {where.code}.",
            ways_out=(f"Count it missing at {where.code} first, or transfer it.",),
            item=label,
            place=where.code,
            spot=stands.spot.name,
        )


def _as_of(pairs: set[lookup.Pair], moment: datetime) -> dict[lookup.Pair, int]:
    """What the books say was there at a moment: a count that was sent later is compared with what stood there then."""
    answer: dict[lookup.Pair, int] = {}
    for pair, row in lookup.balances(pairs).items():
        answer[pair] = row.amount
        if row.last_at > moment:
            later = Movement.objects.filter(item_id=pair[0], act__occurred_at__gt=moment)
            came = later.filter(to_spot_id=pair[1]).aggregate(total=Sum("amount"))["total"] or 0
            went = later.filter(from_spot_id=pair[1]).aggregate(total=Sum("amount"))["total"] or 0
            answer[pair] = row.amount - came + went
    return answer


def _elsewhere(items: Iterable[Item]) -> dict[int, Balance]:
    """Where single things and opened tubes stand."""
    one_place = [item.pk for item in items if item.single or item.tube_id is not None]
    rows = Balance.objects.filter(item_id__in=one_place, real=True, amount__gt=0)
    return {row.item_id: row for row in rows.select_related("spot__place")}


def _broken(items: Iterable[Item]) -> set[int]:
    """Ids of whole sets among the items that were broken."""
    whole = {item.serial_id: item.pk for item in items if item.serial_id is not None and item.member == ""}
    return {whole[pk] for pk in SetBreak.objects.filter(serial_id__in=whole).values_list("serial_id", flat=True)}


def _say_where_seen(again: Iterable[_Read]) -> None:
    """The last word of the books on things that are found again: counted short at R1 on a day, scrapped, …"""
    found = {one.item.pk: one for one in again}
    rows = Movement.objects.filter(item_id__in=found).select_related("from_spot__place", "to_spot__place", "act")
    for row in rows.order_by("act__occurred_at", "pk"):
        left, came = row.from_spot.place, row.to_spot.place
        back = row.act.corrects_id is not None
        way = said_to(lookup.kind(came), taken_back=back) or f"to {came.code}"
        whence = said_from(lookup.kind(left), taken_back=back) or f"from {left.code}"
        found[row.item_id].last_seen = f"{way}, {whence}, {row.act.occurred_at.date()}"


def _post(act: Act, read: Sequence[_Read], reason: str) -> list[Short]:
    """Shorter first, so that a thing that lies at another spot of the place leaves the one before it comes to the other."""
    difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    fewer = [one for one in read if one.difference < 0]
    more = [one for one in read if one.difference > 0]
    leaving = lookup.sums(((one.item.pk, one.spot.pk), -one.difference) for one in fewer)
    shorts = room_for(act, leaving, f"counted short: {reason}") if leaving else []
    post(act, [Move(one.item, -one.difference, one.spot, difference) for one in fewer])
    post(act, [Move(one.item, one.difference, difference, one.spot) for one in more])
    note_gone(act, [(one.item.pk, -one.difference, one.spot.place) for one in fewer])
    return shorts


def _say(one: _Read) -> Body:
    said = "as the books say"
    if one.difference < 0:
        said = "missing" if one.item.single else "counted short"
    elif one.difference > 0:
        said = "found" if one.item.single else "counted over"
    return {
        "part": one.item.part.number,
        "item": one.item.pk,
        "identity": one.item.identity,
        "spot": one.spot.name,
        "on_books": one.on_books,
        "counted": one.counted,
        "difference": one.difference,
        "base": one.item.base,
        "typed": one.typed,
        "said": said,
        "last_seen": one.last_seen,
        "stored_wrongly": one.wrong,
        "set_aside": one.set_aside,
    }
