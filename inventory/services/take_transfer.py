"""What came by the van: the receiver signs line by line. What differs from the note is told by name, and nothing of it is lost."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import partial

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.transfers import RIDES_FROM, LineState, open_lines, why_aside
from inventory.models import (
    Act,
    Balance,
    Item,
    Person,
    Place,
    Short,
    Spot,
    TransferNote,
    TransferNoteLine,
    TransferTaken,
    TransferTaking,
)
from inventory.queries import transfers as read
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items
from inventory.services import lookup, things
from inventory.services.holding import room_for
from inventory.services.labelled import Labelled, items_labelled
from inventory.services.off_the_van import aside_at, check_site, locked, put, signs_alone
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import Coming, ask_where_it_lies


@dataclass(frozen=True, slots=True)
class TakeLine:
    """What came of a line of the note; `amount` 0: nothing. More than was sent is told, and comes too."""

    line: int
    amount: str | int
    to_place: str = ""
    to_spot: str = NO_SPOT


@dataclass(frozen=True, slots=True)
class OtherLine:
    """What came and is on no line: another lot or serial (`line`: instead of what), or another part. By its item, or by words."""

    amount: str | int
    to_place: str
    to_spot: str = NO_SPOT
    item_id: int | None = None
    part: str = ""
    lot: str = ""
    serial: str = ""
    line: int | None = None


@dataclass(slots=True)
class Arriving:
    """So much of an item that comes to lie at a spot; `of`: the note's line; `over`: it is not on the note as sent."""

    number: int
    item: Item
    amount: int
    of: TransferNoteLine | None
    over: bool
    to_spot: Spot
    words: str = ""


def take_in(
    *,
    actor: Person,
    stamp: Stamp,
    note: int,
    lines: Sequence[TakeLine],
    others: Sequence[OtherLine] = (),
    quarantine: str = "",
    storage_word: str = "",
) -> Done:
    """The receiver signs for a note, every line of it once. Another person than sender and driver, where the site has one.

    quarantine  where what is stopped or too old by now goes, and what was sent out of quarantine; without it such a line is refused
    What came of a line is put where its line says; what did not stays in transit, unexplained. What came over the note is taken off its bin
    at the other site, where the books have it there (holds that no longer fit end, with named shorts), and is counted over where they have not.
    Outcome: {"note", "alone", "lines": [{line, part, sent, came, in_transit, base}], "put": [{line, part, item, identity, amount, base, over,
    to, words}], "differences": [sentences], "shorts"}.
    Raises DomainError "not-found", "done-already", "second-person-needed", "line-unanswered", "dates-turned"; ManyErrors by line (others count on after the
    lines): "not-found", "wrong-place", "quarantine-needed", "serial-elsewhere", "not-whole", "storage-unsuitable", those of amounts.
    """
    request = {
        "note": note, "lines": [asdict(line) for line in lines], "others": [asdict(line) for line in others],
        "quarantine": quarantine, "storage_word": storage_word,
    }  # fmt: skip

    def work(act: Act) -> Body:
        row = locked(note)
        if TransferTaking.objects.filter(note=row, act__corrected_by__isnull=True).exists():
            raise DomainError("done-already", f"Note {note} was signed for already.", note=note)
        if act.occurred_at < row.act.occurred_at:
            raise DomainError(
                "dates-turned", f"Note {note} left after that moment.", left_at=row.act.occurred_at.isoformat()
            )
        alone = signs_alone(row, actor)
        of = {line.line: line for line in row.lines.all()}
        _check_answered(row, lines, of)
        arriving = _arriving(row, lines, others, of, aside_at(row, quarantine), shop_day(act.occurred_at))
        ask_where_it_lies(
            act, [Coming(one.number, one.item, one.item.part, one.to_spot) for one in arriving], storage_word
        )
        taking = TransferTaking.objects.create(act=act, note=row, alone=alone)
        rows, shorts = _post(act, row, taking, arriving)
        return _outcome(row, alone, rows, shorts)

    return run("take in from another site", work, actor=actor, stamp=stamp, request=request)


def _check_answered(row: TransferNote, lines: Sequence[TakeLine], of: Mapping[int, TransferNoteLine]) -> None:
    """DomainError "line-unanswered" names the lines that were left out or stand twice."""
    given: dict[int, int] = {}
    for one in lines:
        given[one.line] = given.get(one.line, 0) + 1
    states = read.states([line.pk for line in of.values()])
    left = open_lines(given, {number: states[line.pk].in_transit for number, line in of.items()})
    twice = sorted(line for line, times in given.items() if times > 1)
    if left or twice:
        words = [f"{', '.join(map(str, left))} left out"] if left else []
        words += [f"{', '.join(map(str, twice))} twice"] if twice else []
        raise DomainError(
            "line-unanswered",
            f"Lines of note {row.pk}: {'; '.join(words)}.",
            ways_out=("Say of every line what came, 0 where nothing did.",),
            note=row.pk,
            left_out=list(left),
            twice=twice,
        )


@dataclass(frozen=True, slots=True)
class _Bay:
    """What is looked at as things come: the note, its lines and how far they are, what is stopped, the day."""

    row: TransferNote
    of: Mapping[int, TransferNoteLine]
    states: Mapping[int, LineState]
    stopped: Collection[int]
    aside: Place | None
    day: date

    def line(self, number: int) -> TransferNoteLine:
        """A line by its number; DomainError "not-found"."""
        if number not in self.of:
            raise DomainError("not-found", f"Note {self.row.pk} has no line {number}.", note=self.row.pk, line=number)
        return self.of[number]

    def lay(self, item: Item, place: str, spot: str, from_quarantine: bool = False) -> tuple[Spot, str]:
        """Where it lies, and why in quarantine; errors as `put`."""
        target = things.place(place)
        check_site(target, self.row.to_site)
        why = why_aside(from_quarantine, item.pk in self.stopped, read.use_by(item), self.day)
        return put(item, target, spot, self.aside, why)


def _arriving(
    row: TransferNote,
    lines: Sequence[TakeLine],
    others: Sequence[OtherLine],
    of: Mapping[int, TransferNoteLine],
    aside: Place | None,
    day: date,
) -> list[Arriving]:
    """What comes, each judged after the locks; ManyErrors names every refused line."""
    named = [_named(other) for other in others]
    items = {line.item_id: line.item for line in of.values()}
    items |= {found.pk: found for found in named if isinstance(found, Item)}
    sites = (row.from_site_id, row.to_site_id)
    singles = [item.pk for item in items.values() if item.single]
    locks.scarcer(((item.part_id, site) for item in items.values() for site in sites), singles)
    bay = _Bay(row, of, read.states([line.pk for line in of.values()]), stopped_items(set(items)), aside, day)
    found: list[Arriving] = []
    errors: list[tuple[int, DomainError]] = []
    asked: list[Callable[[int], list[Arriving]]] = [partial(_of_line, bay, line) for line in lines]
    asked += [partial(_other, bay, other, item) for other, item in zip(others, named, strict=True)]
    for number, judge in enumerate(asked, 1):
        try:
            found += judge(number)
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return found


def _of_line(bay: _Bay, given: TakeLine, number: int) -> list[Arriving]:
    """What came of a line; what is more than it has is on no line."""
    line = bay.line(given.line)
    item, there = line.item, bay.states[line.pk].in_transit
    came = lookup.amount(item, given.amount, zero=True)[0]
    if not came:
        return []
    if item.tube_id is not None and came != there:
        raise DomainError("not-whole", f"{item.called} is one opened tube of {there} µL: it comes whole, or not.")
    spot, why = bay.lay(item, given.to_place, given.to_spot, line.from_spot.place.kind == PlaceKind.QUARANTINE)
    found = [Arriving(number, item, min(came, there), line, False, spot, why)] if there else []
    if came > there:
        words = f"{came - there} more than line {line.line} of note {bay.row.pk} has"
        found.append(Arriving(number, item, came - there, line, True, spot, _both(words, why)))
    return found


def _other(bay: _Bay, given: OtherLine, item: Item | DomainError, number: int) -> list[Arriving]:
    """What is on no line, or came instead of what one says."""
    if isinstance(item, DomainError):
        raise item
    line = None if given.line is None else bay.line(given.line)
    amount = lookup.amount(item, given.amount)[0]
    spot, why = bay.lay(item, given.to_place, given.to_spot)
    words = f"on no line of note {bay.row.pk}"
    if line is not None:
        words = f"instead of {line.item.called}, line {line.line} of note {bay.row.pk}"
    return [Arriving(number, item, amount, line, True, spot, _both(words, why))]


def _named(other: OtherLine) -> Item | DomainError:
    """The thing that the books know by its number or its words, or why there is none."""
    if other.item_id is None:
        label = Labelled(other.part, other.lot, other.serial)
        return items_labelled([label])[label]
    found = lookup.items([other.item_id]).get(other.item_id)
    return found or DomainError("not-found", f"The books never had item {other.item_id}.", item=other.item_id)


def _both(*words: str) -> str:
    return "; ".join(one for one in words if one)


def _post(
    act: Act, row: TransferNote, taking: TransferTaking, arriving: Sequence[Arriving]
) -> tuple[list[TransferTaken], list[Short]]:
    """Out of the van, or off the bins at the other site, to where it lies now."""
    bins = _bins(row, [one for one in arriving if one.over])
    difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    rows: list[TransferTaken] = []
    leaving: dict[lookup.Pair, int] = {}

    def take(one: Arriving, amount: int, spot: Spot, more: str = "") -> None:
        words = _both(one.words, more)[:300]
        rows.append(
            TransferTaken(
                taking=taking, line=one.of, item=one.item, amount=amount, over=one.over, from_spot=spot,
                to_spot=one.to_spot, words=words,
            )
        )  # fmt: skip

    for one in arriving:
        left = one.amount
        for balance in bins.get(one.item.pk, ()) if one.over else ():
            pair = (one.item.pk, balance.spot_id)
            here = min(left, balance.amount - leaving.get(pair, 0))
            if here > 0:
                leaving[pair] = leaving.get(pair, 0) + here
                take(one, here, balance.spot, f"the books had it at {balance.spot.place.code}")
                left -= here
        if left:
            take(one, left, difference if one.over else row.spot, "counted over" if one.over else "")
    why = f"it came by note {row.pk} to {row.to_site.code}"
    shorts = room_for(act, leaving, why) if leaving else []
    TransferTaken.objects.bulk_create(rows)
    post(act, [Move(one.item, one.amount, one.from_spot, one.to_spot) for one in rows])
    return rows, shorts


def _bins(row: TransferNote, over: Sequence[Arriving]) -> dict[int, list[Balance]]:
    """Where the books have these things at the site that sent, from where its line left first; locked with part and site. One query."""
    if not over:
        return {}
    first = {one.of.from_spot_id for one in over if one.of is not None}
    found: dict[int, list[Balance]] = {}
    rows = Balance.objects.filter(
        item__in={one.item.pk for one in over},
        amount__gt=0,
        place__site=row.from_site,
        place__kind__in=[kind.value for kind in RIDES_FROM],
    ).select_related("spot__place")
    for balance in sorted(rows, key=lambda one: (one.spot_id not in first, one.place.kind, one.pk)):
        found.setdefault(balance.item_id, []).append(balance)
    return found


def _outcome(row: TransferNote, alone: bool, rows: Sequence[TransferTaken], shorts: Sequence[Short]) -> Body:
    lines = list(row.lines.all())
    states = read.states([line.pk for line in lines])
    missing = [
        f"line {line.line}: {states[line.pk].in_transit} of {line.amount} {line.item.called} did not come"
        for line in lines
        if states[line.pk].in_transit
    ]
    over = [f"{one.amount} {one.item.called}: {one.words}" for one in rows if one.over]
    return {
        "note": row.pk,
        "alone": alone,
        "lines": [
            {
                "line": line.line, "part": line.item.part.number, "sent": line.amount, "came": states[line.pk].came,
                "in_transit": states[line.pk].in_transit, "base": line.item.base,
            }
            for line in lines
        ],
        "put": [
            {
                "line": one.line.line if one.line else None, "part": one.item.part.number, "item": one.item.pk,
                "identity": one.item.identity, "amount": one.amount, "base": one.item.base, "over": one.over,
                "to": {"place": one.to_spot.place.code, "spot": one.to_spot.name}, "words": one.words,
            }
            for one in rows
        ],
        "differences": missing + over,
        "shorts": lookup.said(shorts),
    }  # fmt: skip
