"""Sending stock to another site: it leaves its shelf for the van, by a note with numbered lines that the sender signs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date

from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.transfers import check_rides, days_between, here_on
from inventory.models import Act, Item, Person, Place, Site, Spot, TransferNote, TransferNoteLine
from inventory.queries.catalogue import no_such_site
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.queries.stock import stopped_items
from inventory.queries.transfers import use_by
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.storing import Coming, ask_where_it_lies

MOST_LINES = 500


@dataclass(frozen=True, slots=True)
class SendLine:
    """So much of an item from a spot of a shelf or of quarantine; `for_job`: the job of the other site that it is for."""

    item_id: int
    amount: str | int
    from_place: str
    from_spot: str = NO_SPOT
    for_job: str = ""


@dataclass(frozen=True, slots=True)
class _Read:
    """A line after its checks."""

    line: SendLine
    item: Item
    amount: int
    typed: str
    from_spot: Spot


def send_to_site(
    *,
    actor: Person,
    stamp: Stamp,
    van: str,
    to_site: str,
    lines: Sequence[SendLine],
    driver: Person | None = None,
    expected_on: date | None = None,
    remark: str = "",
    storage_word: str = "",
) -> Done:
    """Load the van: all lines of a note or none. In the van they are counted at neither site, and are the shop's.

    driver       who drives; left out: the sender
    expected_on  when it should be there; left out: by the shop's days on the road, where they are known
    Whatever is held for a job stays ("not-there" names for whom), and so does what is stopped or too old; out of quarantine it rides into
    the other site's. Outcome: {"note", "from_site", "to_site", "van", "driver", "expected_on", "lines": [{line, part, item, identity,
    amount, base, typed, from, for_job}]}.
    Raises DomainError "nothing-given", "too-many-lines", "wrong-place" (no van; lines of two sites; to where they lie), "not-found",
    "dates-turned"; ManyErrors by line: those, "stopped", "expired", "set-broken", "lot-unknown", "not-there", "not-whole",
    "old-unit-known", "storage-unsuitable", those of amounts.
    """
    request = {
        "van": van, "to_site": to_site, "lines": [asdict(line) for line in lines], "driver": driver and driver.pk,
        "expected_on": expected_on, "remark": remark, "storage_word": storage_word,
    }  # fmt: skip

    def work(act: Act) -> Body:
        if not lines:
            raise DomainError("nothing-given", "A note has at least one line.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        loaded = things.place_of(act)
        if loaded.kind != PlaceKind.VAN:
            raise DomainError("wrong-place", f"{van} is {a(loaded.kind)}, no van.", place=van)
        target = Site.objects.filter(code=to_site).first()
        if target is None:
            raise no_such_site(to_site)
        items = lookup.items(line.item_id for line in lines)
        places = {code: things.place(code) for code in dict.fromkeys(line.from_place for line in lines)}
        origin = _origin(places.values(), target)
        lookup.lock((items[line.item_id], places[line.from_place]) for line in lines if line.item_id in items)
        read = _read(lines, items, places, shop_day(act.occurred_at))
        expected = _expected(expected_on, origin, target, shop_day(act.occurred_at))
        spot = things.spot(loaded, f"note {act.pk}")
        coming = [Coming(number, one.item, one.item.part, spot) for number, one in enumerate(read, 1)]
        ask_where_it_lies(act, coming, storage_word)
        note = TransferNote.objects.create(
            act=act, from_site=origin, to_site=target, spot=spot, driver=driver or actor, expected_on=expected
        )
        TransferNoteLine.objects.bulk_create(
            TransferNoteLine(
                note=note, line=number, item=one.item, amount=one.amount, typed=one.typed[:40], from_spot=one.from_spot,
                for_job=one.line.for_job,
            )
            for number, one in enumerate(read, 1)
        )  # fmt: skip
        post(act, [Move(one.item, one.amount, one.from_spot, spot) for one in read])
        return {
            "note": act.pk, "from_site": origin.code, "to_site": target.code, "van": van,
            "driver": (driver or actor).username, "expected_on": expected,
            "lines": [_say(number, one) for number, one in enumerate(read, 1)],
        }  # fmt: skip

    return run("send to another site", work, actor=actor, stamp=stamp, request=request, place=van, reason=remark)


def _origin(places: Iterable[Place], target: Site) -> Site:
    """The one site that the lines leave; DomainError "wrong-place"."""
    sites = {place.site_id: place for place in places}
    if len(sites) > 1:
        named = sorted(place.code for place in sites.values())
        raise DomainError("wrong-place", f"A note is from one site; {', '.join(named)} are at several.", places=named)
    place = next(iter(sites.values()))
    if place.site is None:
        raise DomainError("wrong-place", f"{place.code} is at no site.", place=place.code)
    if place.site_id == target.pk:
        raise DomainError(
            "wrong-place",
            f"{place.code} is at {target.code} already.",
            ways_out=("Within a site it is carried by a transfer.",),
            place=place.code,
        )
    return place.site


def _expected(given: date | None, origin: Site, target: Site, day: date) -> date | None:
    """When it should be there; DomainError "dates-turned"."""
    if given is not None and given < day:
        raise DomainError("dates-turned", f"It would be there on {given}, before it leaves on {day}.")
    return given or here_on(day, days_between(shop().travel_days, origin.code, target.code))


def _read(lines: Sequence[SendLine], items: dict[int, Item], places: dict[str, Place], day: date) -> list[_Read]:
    """Every line read and checked after the locks; ManyErrors names all refused ones."""
    spots = {(line.from_place, line.from_spot): things.spot(places[line.from_place], line.from_spot) for line in lines}
    stopped = stopped_items(set(items))
    rows = lookup.balances({(line.item_id, spots[line.from_place, line.from_spot].pk) for line in lines})
    read: list[_Read] = []
    errors: list[tuple[int, DomainError]] = []
    taken: dict[lookup.Pair, int] = {}
    for number, line in enumerate(lines, 1):
        try:
            item = items.get(line.item_id)
            if item is None:
                raise DomainError("not-found", f"There is no item {line.item_id}.", item=line.item_id)
            spot = spots[line.from_place, line.from_spot]
            amount, typed = lookup.amount(item, line.amount)
            check_rides(lookup.carried(item), lookup.kind(spot.place), item.pk in stopped, use_by(item), day)
            lookup.refuse_old_unit(item)
            pair = (item.pk, spot.pk)
            taken[pair] = taken.get(pair, 0) + amount
            lookup.check_free(item, spot, taken[pair], rows.get(pair))
            read.append(_Read(line, item, amount, typed, spot))
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return read


def _say(number: int, one: _Read) -> Body:
    return {
        "line": number,
        "part": one.item.part.number,
        "item": one.item.pk,
        "identity": one.item.identity,
        "amount": one.amount,
        "base": one.item.base,
        "typed": one.typed,
        "from": {"place": one.from_spot.place.code, "spot": one.from_spot.name},
        "for_job": one.line.for_job,
    }
