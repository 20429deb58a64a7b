"""What was counted against the books: judged, booked and kept. Private to services: the caller has the transaction and the locks.

A count by hand and a count by sheet are booked here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind, said_from, said_to
from inventory.models import (
    Act,
    Balance,
    CountedLine,
    CountPosting,
    CountSheet,
    Item,
    Movement,
    Place,
    SetBreak,
    Short,
    Spot,
)
from inventory.queries.count_sheets import sheet_by_number
from inventory.queries.counting import amounts_at, last_moves
from inventory.queries.days import shop_day
from inventory.services import lookup, things
from inventory.services.accepting import note_gone
from inventory.services.holding import lost_on_carts, room_for
from inventory.services.post import Move, post
from inventory.services.run import Body
from inventory.services.storage_checks import check_storage


@dataclass(slots=True)
class Counted:
    """A line with its thing: so much was there at that moment. `on_books` is as of then too, so what was moved since stays out of it.

    there_now  what the books have after the difference was booked
    by         who counted it, the first one first; `first`: what the first of two people counted, `counted` being what the second did
    alone      one person counted it where two are asked, for want of anybody else
    by_two     two people found the same, each on their own
    """

    item: Item
    spot: Spot
    counted: int
    typed: str
    at: datetime
    wrong: str = ""
    reason: str = ""
    on_books: int = 0
    there_now: int = 0
    last_seen: str = ""
    set_aside: bool = False
    last_moves: list[Body] = field(default_factory=list)
    by: Sequence[str] = ()
    first: int | None = None
    alone: bool = False
    by_two: bool = False

    @property
    def difference(self) -> int:
        """More (above nothing) or less than the books said."""
        return self.counted - self.on_books

    @property
    def stock(self) -> tuple[int, str]:
        """(part id, base unit): all the stock that it is of."""
        return self.item.part_id, self.item.base

    @property
    def pair(self) -> lookup.Pair:
        """(item id, spot id)."""
        return self.item.pk, self.spot.pk


def against_books(read: Mapping[int, Counted]) -> list[tuple[int, DomainError]]:
    """Give each line what the books say, and what is wrong with it: a difference without a reason, a thing that stands elsewhere."""
    lookup.balances(one.pair for one in read.values())
    said = amounts_at((*one.pair, one.at) for one in read.values())
    for one in read.values():
        one.on_books = said[(*one.pair, one.at)]
    moves = last_moves({one.pair for one in read.values() if one.difference})
    for one in read.values():
        one.last_moves = moves.get(one.item.pk, []) if one.difference else []
    elsewhere = _elsewhere(one.item for one in read.values())
    broken = _broken(one.item for one in read.values())
    leaving = {one.pair for one in read.values() if one.difference < 0}
    errors: list[tuple[int, DomainError]] = []
    for number, one in read.items():
        stands = elsewhere.get(one.item.pk)
        if stands is not None and (stands.spot_id == one.spot.pk or (one.item.pk, stands.spot_id) in leaving):
            stands = None
        try:
            _check(one, stands, one.item.pk in broken)
        except DomainError as error:
            errors.append((number, error))
    return errors


def book(act: Act, read: Sequence[Counted], why: str, looked_at: Sequence[str], aside: Place | None) -> Body:
    """Book the differences, keep every line, look at how what lies on shelves is stored: {"lines", "shorts"}."""
    _say_where_seen(one for one in read if one.item.single and one.difference > 0)
    shorts = _post(act, read, why)
    now = {(row.item_id, row.spot_id): row.amount for row in lookup.balances(one.pair for one in read).values()}
    for one in read:
        one.there_now = now.get(one.pair, 0)
    stored = [one for one in read if one.counted > 0 and one.spot.place.kind == PlaceKind.SHELF]
    shorts += check_storage(act, stored, looked_at, aside)
    keep(act, read)
    return {"lines": [_say(one) for one in read], "shorts": lookup.said(shorts)}


def keep(act: Act, read: Iterable[Counted]) -> None:
    """Keep what was counted beside the act: it says when a thing was last counted, and how right the books were."""
    CountedLine.objects.bulk_create(
        CountedLine(
            act=act,
            item=one.item,
            spot=one.spot,
            at=one.at,
            on_books=one.on_books,
            counted=one.counted,
            reason=one.reason if one.difference else "",
            by_two=one.by_two,
        )
        for one in read
    )


def refuse(errors: Sequence[tuple[int, DomainError]]) -> None:
    """ManyErrors by line, if there are any."""
    if errors:
        raise ManyErrors(tuple(sorted(errors, key=lambda pair: pair[0])))


def _check(one: Counted, stands: Balance | None, broken: bool) -> None:
    if one.difference == 0:
        return
    label, place = lookup.label(one.item), one.spot.place
    if not one.reason.strip():
        raise DomainError(
            "reason-missing",
            f"{label}: the books say {one.on_books}, counted were {one.counted}. Why?",
            item=label,
            on_books=one.on_books,
            counted=one.counted,
            last_moves=one.last_moves,
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


def _elsewhere(items: Iterable[Item]) -> dict[int, Balance]:
    """Where single things and opened tubes stand."""
    one_place = [item.pk for item in items if item.single or item.tube_id is not None]
    rows = Balance.objects.filter(item_id__in=one_place, real=True, amount__gt=0)
    return {row.item_id: row for row in rows.select_related("spot__place")}


def _broken(items: Iterable[Item]) -> set[int]:
    """Ids of whole sets among the items that were broken."""
    whole = {item.serial_id: item.pk for item in items if item.serial_id is not None and item.member == ""}
    return {whole[pk] for pk in SetBreak.objects.filter(serial_id__in=whole).values_list("serial_id", flat=True)}


def _say_where_seen(again: Iterable[Counted]) -> None:
    """The last word of the books on things that are found again: counted short at R1 on a day, scrapped, …"""
    found = {one.item.pk: one for one in again}
    rows = Movement.objects.filter(item_id__in=found).select_related("from_spot__place", "to_spot__place", "act")
    for row in rows.order_by("act__occurred_at", "pk"):
        left, came = row.from_spot.place, row.to_spot.place
        back = row.act.corrects_id is not None
        way = said_to(lookup.kind(came), taken_back=back) or f"to {came.code}"
        whence = said_from(lookup.kind(left), taken_back=back) or f"from {left.code}"
        found[row.item_id].last_seen = f"{way}, {whence}, {shop_day(row.act.occurred_at)}"


def _post(act: Act, read: Sequence[Counted], why: str) -> list[Short]:
    """Shorter first, so that a thing that lies at another spot of the place leaves the one before it comes to the other."""
    difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    fewer = [one for one in read if one.difference < 0]
    more = [one for one in read if one.difference > 0]
    leaving = lookup.sums((one.pair, -one.difference) for one in fewer)
    shorts = room_for(act, leaving, f"counted short: {why}", kept_too=True) if leaving else []
    shorts += lost_on_carts(act, [(one.item.pk, -one.difference, one.spot) for one in fewer], f"counted short: {why}")
    post(act, [Move(one.item, -one.difference, one.spot, difference) for one in fewer])
    post(act, [Move(one.item, one.difference, difference, one.spot) for one in more])
    note_gone(act, [(one.item.pk, -one.difference, one.spot.place) for one in fewer])
    return shorts


def _say(one: Counted) -> Body:
    said = "as the books say"
    if one.difference < 0:
        said = "missing" if one.item.single else "counted short"
    elif one.difference > 0:
        said = "found" if one.item.single else "counted over"
    return {
        "part": one.item.part.number,
        "item": one.item.pk,
        "identity": one.item.identity,
        "place": one.spot.place.code,
        "spot": one.spot.name,
        "counted_at": one.at,
        "on_books": one.on_books,
        "counted": one.counted,
        "difference": one.difference,
        "reason": one.reason if one.difference else "",
        "base": one.item.base,
        "typed": one.typed,
        "counted_by": list(one.by),
        "alone": one.alone,
        "said": said,
        "last_seen": one.last_seen,
        "last_moves": one.last_moves,
        "stored_wrongly": one.wrong,
        "set_aside": one.set_aside,
    }


def unbooked(number: int) -> CountSheet:
    """The sheet, locked and not booked yet; DomainError "not-found", "sheet-booked"."""
    locks.row(CountSheet._meta.db_table, [number])
    row = sheet_by_number(number)
    posting = CountPosting.objects.filter(sheet=row).select_related("act__actor").first()
    if posting is not None:
        raise DomainError(
            "sheet-booked",
            f"Count sheet {number} was booked by {posting.act.actor.username}: a new one is opened for what is counted again.",
            sheet=number,
            act=posting.act_id,
        )
    return row
