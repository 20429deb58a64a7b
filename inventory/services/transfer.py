"""Carrying stock between shelves and quarantine of one site, and releasing it from quarantine by a second person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from functools import cache

from inventory.domain.corrections import never_in
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.lot_dates import Dates, joined, life
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.shelf_life import Expiry, LifeKind, Undated
from inventory.domain.stores import (
    Carry,
    check_never_used,
    check_release,
    check_same_site,
    check_transfer,
    used_in_quarantine,
)
from inventory.models import Act, Balance, Item, KeptPiece, Lot, Movement, Person, Place, Spot
from inventory.queries.catalogue import MOST_NEAR, no_such, no_such_place
from inventory.queries.days import shop_day
from inventory.queries.kept import KEPT_WAY_OUT, open_kept
from inventory.queries.shop import Shop, shop
from inventory.services import accepting, lookup, things
from inventory.services.keeping import carry
from inventory.services.lot_facts import dates_of
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import Coming, ask_where_it_lies
from inventory.services.withdrawing import refuse_withdrawn

MOST_LINES = 2000


@dataclass(frozen=True, slots=True)
class TransferLine:
    """So much of an item from a spot of a place to a spot of another; `amount` as text with a unit or in whole base units.

    kept  the kept piece of its lot is among them, and is kept where it is carried to
    """

    item_id: int
    amount: str | int
    from_place: str
    to_place: str
    from_spot: str = NO_SPOT
    to_spot: str = NO_SPOT
    kept: bool = False


@dataclass(frozen=True, slots=True)
class ReleaseLine(TransferLine):
    """A line out of quarantine; the dates are for a lot that lies there because it had none."""

    cure_code: str = ""
    made_on: date | None = None
    printed_on: date | None = None


@dataclass(slots=True)
class _Read:
    """A line after its checks."""

    item: Item
    amount: int
    typed: str
    from_spot: Spot
    to_spot: Spot
    expiry: Expiry | None = None
    extension_years: int = 0
    dates: Dates = Dates()
    kept: KeptPiece | None = None

    @property
    def held(self) -> int:
        """So much of it is not free where it lies, and goes along all the same."""
        return self.kept.amount if self.kept else 0


Check = Callable[[TransferLine, _Read], None]


def transfer(
    *, actor: Person, stamp: Stamp, lines: Sequence[TransferLine], note: str = "", storage_word: str = ""
) -> Done:
    """Shelf and quarantine of one site, any way but out of quarantine. Into quarantine `note` is the reason and is needed.

    What is held for a job does not leave: "not-there" names who it is held for; the kept piece of a lot goes where its line says so, to a
    shelf, and is kept there. What goes to another site is sent by a note
    ("other-site"; `inventory/services/transfer_notes.py`). A number whose old stock is withdrawn goes to no shelf. An opened tube goes whole. storage_word: why what does not suit its place lies there all the same. Outcome: {"note", "lines": [{part, item, identity, amount, base, typed,
    from, to, kept}]}. Raises ManyErrors naming every refused line; nothing is moved then.
    """

    allowed: set[int] = set()

    def check(line: TransferLine, read: _Read) -> None:
        kinds = lookup.kind(read.from_spot.place), lookup.kind(read.to_spot.place)
        check_transfer(lookup.carried(read.item), *kinds, note)
        if kinds[1] is PlaceKind.SHELF:
            _refuse_withdrawn(read, allowed)

    return _carry("transfer", actor, stamp, lines, (note, storage_word), check)


def release_quarantine(
    *, actor: Person, stamp: Stamp, lines: Sequence[ReleaseLine], note: str = "", storage_word: str = ""
) -> Done:
    """Quarantine to shelf, by somebody who did not bring it in. A lot without the date its life is counted from needs that date now.

    What was in an engine is never released ("was-in-engine"), nor what was rejected, nor a part that is still to be sorted. Lines of
    deliveries that were set aside are accepted by it, oldest first.
    Outcome as `transfer`. Raises ManyErrors: "second-person-needed", "was-in-engine", "set-broken", "lot-unknown", "stopped",
    "part-withdrawn", "old-unit-known", "undated", "expired", "not-there", "wrong-place", "rejected",
    "part-to-be-sorted", "inspection-missing" by line.
    """

    settings = cache(shop)
    asked: dict[int, int] = {}
    allowed: set[int] = set()

    def check(line: TransferLine, read: _Read) -> None:
        kinds = lookup.kind(read.from_spot.place), lookup.kind(read.to_spot.place)
        thing, there = lookup.carried(read.item), _in_quarantine(read.item)
        check_release(thing, *kinds, actor.pk, _brought_by(read.item, there))
        asked[read.item.pk] = asked.get(read.item.pk, 0) + read.amount
        check_never_used(thing, asked[read.item.pk], there, used_in_quarantine(_carried_about(read.item)))
        _refuse_withdrawn(read, allowed)
        lookup.refuse_stopped(read.item, "released")
        lookup.refuse_old_unit(read.item)
        accepting.refuse_unsorted(read.item)
        accepting.refuse_rejected(read.item, asked[read.item.pk], there)
        accepting.refuse_uninspected(read.item, asked[read.item.pk], actor.pk)
        if isinstance(line, ReleaseLine):
            read.dates = _dates(read.item, line, shop_day(stamp.occurred_at))
            read.expiry, read.extension_years = _expiry(read.item, read.dates, shop_day(stamp.occurred_at), settings)
        accepting.refuse_expired(read.item, read.expiry, shop_day(stamp.occurred_at))

    def after(act: Act) -> None:
        accepting.accept_released(act, asked)

    return _carry("release from quarantine", actor, stamp, lines, (note, storage_word), check, after)


def _refuse_withdrawn(read: _Read, allowed: set[int]) -> None:
    """No shelf takes a number whose old stock is withdrawn; `allowed`: parts that were looked at already."""
    if read.item.part_id not in allowed:
        refuse_withdrawn([read.item.part], "put on a shelf")
        allowed.add(read.item.part_id)


def _carry(
    kind: str,
    actor: Person,
    stamp: Stamp,
    lines: Sequence[TransferLine],
    words: tuple[str, str],
    check: Check,
    after: Callable[[Act], None] | None = None,
) -> Done:
    """words: the note, and why what does not suit its place lies there all the same."""
    note, storage_word = words
    request = {"note": note, "storage_word": storage_word, "lines": [asdict(line) for line in lines]}

    def work(act: Act) -> Body:
        if not lines:
            raise DomainError("nothing-given", "Nothing was given to carry.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        items = lookup.items(line.item_id for line in lines)
        codes = {line.from_place for line in lines} | {line.to_place for line in lines}
        places = {place.code: place for place in Place.objects.filter(code__in=codes, real=True).select_related("site")}
        lookup.lock(
            (items[line.item_id], places[code])
            for line in lines
            for code in {line.from_place, line.to_place}
            if line.item_id in items and code in places
        )
        read = _read(lines, items, places, check)
        coming = [Coming(number, one.item, one.item.part, one.to_spot) for number, one in enumerate(read, 1)]
        ask_where_it_lies(act, coming, storage_word)
        post(act, [Move(one.item, one.amount, one.from_spot, one.to_spot, one.held) for one in read])
        carry(act, [(one.kept, one.to_spot) for one in read if one.kept])
        for one in read:
            if one.expiry is not None and one.item.lot is not None:
                Lot.objects.filter(pk=one.item.lot.pk, expires_on__isnull=True).update(
                    expires_on=one.expiry.day,
                    expiry_rule=one.expiry.rule[:200],
                    extension_years=one.extension_years,
                    **asdict(one.dates),
                )
        if after is not None:
            after(act)
        return {"note": note, "lines": [_say(one) for one in read]}

    return run(kind, work, actor=actor, stamp=stamp, request=request, reason=note)


def _read(
    lines: Sequence[TransferLine],
    items: dict[int, Item],
    places: dict[str, Place],
    check: Check,
) -> list[_Read]:
    """Every line read and checked after the locks; ManyErrors names all refused ones."""
    read: list[_Read] = []
    errors: list[tuple[int, DomainError]] = []
    spots = _spots(lines, places)
    unknown = _unknown(lines, places)
    pairs = {(line.item_id, spots[line.from_place, line.from_spot].pk) for line in lines if line.from_place in places}
    rows = lookup.balances(pairs)
    kept = _kept_among(pairs) if any(line.kept for line in lines) else {}
    taken: dict[lookup.Pair, int] = {}
    for number, line in enumerate(lines, 1):
        try:
            one = _one(line, items, places, unknown, spots)
            check(line, one)
            pair = (one.item.pk, one.from_spot.pk)
            if line.kept:
                one.kept = _kept(one, kept.pop(pair, None))
            taken[pair] = taken.get(pair, 0) + one.amount - one.held
            if taken[pair]:
                lookup.check_free(one.item, one.from_spot, taken[pair], rows.get(pair))
            read.append(one)
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return read


def _kept_among(pairs: set[lookup.Pair]) -> dict[lookup.Pair, KeptPiece]:
    rows = open_kept().filter(item__in={item for item, _ in pairs}, spot__in={spot for _, spot in pairs})
    return {(row.item_id, row.spot_id): row for row in rows}


def _kept(one: _Read, found: KeptPiece | None) -> KeptPiece:
    """The kept piece that is carried along; DomainError "not-kept", and "wrong-place" where none is kept."""
    if found is None:
        raise DomainError(
            "not-kept",
            f"Nothing of {lookup.label(one.item)} is kept at {one.from_spot.place.code}, {one.from_spot.name}.",
            ways_out=("See `kept-pieces` for where it lies.", "Carry it without saying that it is the kept one."),
            place=one.from_spot.place.code,
        )
    if one.to_spot.place.kind != PlaceKind.SHELF:
        raise DomainError(
            "wrong-place",
            f"{lookup.label(one.item)}: the kept piece stays on a shelf; {one.to_spot.place.code} is no shelf.",
            ways_out=("Carry it to another shelf.", KEPT_WAY_OUT),
            place=one.to_spot.place.code,
        )
    return found


def _unknown(lines: Sequence[TransferLine], places: dict[str, Place]) -> dict[str, DomainError]:
    """The refusal of each place that is not there; what was meant is looked for of the first few only."""
    codes = dict.fromkeys(code for line in lines for code in (line.from_place, line.to_place) if code not in places)
    return {
        code: no_such_place(code) if at < MOST_NEAR else no_such("place", code, ()) for at, code in enumerate(codes)
    }


def _spots(lines: Sequence[TransferLine], places: dict[str, Place]) -> dict[tuple[str, str], Spot]:
    names: dict[str, set[str]] = {}
    for line in lines:
        names.setdefault(line.from_place, set()).add(line.from_spot)
        names.setdefault(line.to_place, set()).add(line.to_spot)
    return {
        (code, name): spot
        for code, wanted in sorted(names.items())
        if code in places
        for name, spot in things.spots(places[code], wanted).items()
    }


def _one(
    line: TransferLine,
    items: dict[int, Item],
    places: dict[str, Place],
    unknown: dict[str, DomainError],
    spots: dict[tuple[str, str], Spot],
) -> _Read:
    item = items.get(line.item_id)
    if item is None:
        raise DomainError("not-found", f"There is no item {line.item_id}.", item=line.item_id)
    for code in (line.from_place, line.to_place):
        if code not in places:
            raise unknown[code]
    amount, typed = lookup.amount(item, line.amount)
    from_spot, to_spot = spots[line.from_place, line.from_spot], spots[line.to_place, line.to_spot]
    if from_spot == to_spot:
        raise DomainError("wrong-place", f"{lookup.label(item)} would stay where it is.", place=line.to_place)
    ends = [place.site.code if place.site else None for place in (places[line.from_place], places[line.to_place])]
    check_same_site(lookup.label(item), *ends)
    return _Read(item, amount, typed, from_spot, to_spot)


def _in_quarantine(item: Item) -> int:
    rows = Balance.objects.filter(item=item, place__kind=PlaceKind.QUARANTINE.value, amount__gt=0)
    return sum(rows.values_list("amount", flat=True))


#: Where what came out of an engine may lie, or be missing from until a count finds it again.
_OUT_OF_ENGINES = [
    kind.value
    for kind in (
        PlaceKind.ENGINE,
        PlaceKind.BENCH,
        PlaceKind.OUTSIDE,
        PlaceKind.CRATE,
        PlaceKind.VAN,
        PlaceKind.QUARANTINE,
        PlaceKind.COUNT_DIFFERENCE,
    )
]


def _carried_about(item: Item) -> list[Carry]:
    """The movements that say how much of the item in quarantine was in an engine, in order of time."""
    ends = ("from_spot__place", "from_spot__place__kind", "to_spot__place", "to_spot__place__kind")
    rows = Movement.objects.filter(
        item=item,
        from_spot__place__kind__in=_OUT_OF_ENGINES,
        act__corrected_by__isnull=True,
        act__corrects__isnull=True,
    ).order_by("act__occurred_at", "pk")
    return [
        Carry(amount, origin, PlaceKind(origin_kind), target, PlaceKind(target_kind), never_in(act_kind, origin_kind))
        for act_kind, amount, origin, origin_kind, target, target_kind in rows.values_list("act__kind", "amount", *ends)
    ]


def _brought_by(item: Item, there: int) -> set[int]:
    """Who brought in what of the item lies in quarantine now: the newest arrivals that make up what is there."""
    quarantine = PlaceKind.QUARANTINE.value
    arrivals = (
        Movement.objects.filter(item=item, to_spot__place__kind=quarantine, act__corrected_by__isnull=True)
        .exclude(from_spot__place__kind=quarantine)
        .order_by("-act__occurred_at", "-pk")
        .values_list("act__actor_id", "amount", "from_spot__place__kind")
    )
    people: set[int] = set()
    for person, amount, came_from in arrivals:
        if there <= 0:
            break
        people.add(person)
        # Out of the van it may have come from another quarantine: who brought it into that one counts too.
        there -= amount if came_from != PlaceKind.VAN else 0
    return people


def _dates(item: Item, line: ReleaseLine, day: date) -> Dates:
    """The dates of the lot with those that are given; DomainError "lot-differs"."""
    given = Dates(line.cure_code.strip(), line.made_on, line.printed_on)
    return joined(lookup.label(item), dates_of(item.lot), given, day) if item.lot else given


def _expiry(item: Item, its_dates: Dates, day: date, settings: Callable[[], Shop]) -> tuple[Expiry | None, int]:
    """The expiry to be stored if the lot had none, and the years one inspection may add.

    DomainError "undated" if it still has none and needs one.
    """
    lot = item.lot
    if lot is None or lot.expires_on is not None:
        return None, 0
    its = settings()
    rule = its.life_of(item.part)
    # As at receipt: a closed kit goes on the shelf, its contents bring their own dates when it is opened.
    if rule.kind is LifeKind.CONTENTS and its_dates.printed_on is None:
        return None, 0
    found = life(rule, its_dates, its.basis, day)
    if isinstance(found, Undated):
        raise DomainError(
            "undated",
            f"{lookup.label(item)}: {found.reason}",
            ways_out=("Give the cure or making date that is printed on the bag.", "Scrap it."),
            part=item.part.number,
            lot=lot.code,
        )
    return found, rule.extension_years


def _say(one: _Read) -> Body:
    return {
        "part": one.item.part.number,
        "item": one.item.pk,
        "identity": one.item.identity,
        "amount": one.amount,
        "base": one.item.base,
        "typed": one.typed,
        "from": {"place": one.from_spot.place.code, "spot": one.from_spot.name},
        "to": {"place": one.to_spot.place.code, "spot": one.to_spot.name},
        "expires_on": one.expiry.day if one.expiry else None,
        "kept": one.held,
    }
