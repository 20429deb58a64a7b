"""What is left on a job: unused parts back by the returns table, and scrap with its reason and who pays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date

from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.domain.stores import check_same_site
from inventory.models import Act, Item, Person, Place, Spot
from inventory.queries.catalogue import no_such_place
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from inventory.services.scrapping import Scrapped, pays, scrap_moves
from inventory.services.storing import Coming, ask_where_it_lies
from kits.domain.returns import Decision, Returned, To, decide, overrule
from kits.domain.standing_verdicts import Said, set_put_aside
from kits.models import Job
from kits.queries.at_positions import old_at_bench
from kits.queries.marks import marked_sets
from kits.queries.served import promises_of
from kits.queries.standing_verdicts import verdicts_on
from kits.services.shared import open_job, touch

OVERRULE = "kits.act_overrule_return"
ORIGINS = ("bench", "cart")


@dataclass(frozen=True, slots=True)
class ReturnIn:
    """One thing that comes back.

    amount        text with a unit, or whole base units (an opened tube in µL)
    origin        "bench" or "cart": where it lies
    bag_sealed    the maker's bag, box or carton is unopened
    lot_readable  lot or serial can be read on it; what our books know to be unknown stays so
    opened        opened tube or tin, a kit with contents taken out
    was_fitted    it has been in the engine; where the records say so nobody needs to
    to_place      code of the shelf (or quarantine place) it goes to; empty: where it was picked, or the site's quarantine
    override_to   "stock", "open-tube bin", "quarantine" or "scrap": another word than the table's, with `override_reason`
    """

    item_id: int
    amount: str | int
    origin: str = "bench"
    bag_sealed: bool = False
    lot_readable: bool = True
    opened: bool = False
    was_fitted: bool = False
    to_place: str = ""
    override_to: str = ""
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class _Shop:
    """What every line looks at; `left` and `old` are used up line by line.

    homes       item → shelf spot it was picked from
    painted     items that carry a bore mark of the job; verdicts  those on clearances of the job that stand
    part_homes  part → shelf spot one of it was picked from: where its opened tube goes
    """

    job: Job
    day: date
    may_overrule: bool
    origins: Mapping[str, Spot]
    places: Mapping[str, Place]
    items: Mapping[int, Item]
    stopped: set[int]
    homes: Mapping[int, Spot]
    part_homes: Mapping[int, Spot]
    left: dict[tuple[int, int], int]
    old: dict[int, int]
    painted: frozenset[int]
    verdicts: Sequence[Said]


@dataclass(frozen=True, slots=True)
class _Line:
    item: Item
    amount: int
    typed: str
    origin: Spot
    target: Spot
    decision: Decision
    overruled: bool


def return_unused(
    *, actor: Person, stamp: Stamp, job: str, returns: Sequence[ReturnIn], storage_word: str = ""
) -> Done:
    """Bring back what was not used, by the returns table: sealed and readable to its shelf, an open tube as an open tube, what is
    opened or was fitted to scrap or quarantine. Lot and use-by stay what they were.

    What comes back serves its positions no longer: the next hold brings them again, if the list still asks for them.
    Outcome: {"job", "returned": [{item, part, identity, amount, base, typed, from, to, place, spot, why, overruled}]}; `to` is
    "stock", "open-tube bin", "quarantine" or "scrap".
    storage_word: why what does not suit its place lies there all the same.
    Raises ManyErrors naming every line: "storage-unsuitable", "not-found", "wrong-place", "not-there", "not-unused" (an old part of the engine),
    "tube-not-opened" (said to be open, booked as closed), "not-whole" (part of an opened tube), "mark-not-cleaned", "return-override-refused", "reason-missing", those of amounts.
    """
    request = {"job": job, "returns": [asdict(one) for one in returns], "storage_word": storage_word}

    def work(act: Act) -> Body:
        if not returns:
            raise DomainError("nothing-given", "Nothing came back.")
        row = open_job(job)
        shop = _shop(act, row, actor, returns)
        lines = _lines(shop, returns)
        coming = [Coming(number, line.item, line.item.part, line.target) for number, line in enumerate(lines, 1)]
        ask_where_it_lies(act, coming, storage_word)
        post(act, [Move(line.item, line.amount, line.origin, line.target) for line in lines])
        touch(row)
        return {"job": job, "returned": [_said(line) for line in lines]}

    return run("return", work, actor=actor, stamp=stamp, request=request, subject=job)


def _shop(act: Act, job: Job, actor: Person, returns: Sequence[ReturnIn]) -> _Shop:
    """Lock what is brought back where it lies, then read everything that decides."""
    items = lookup.items(one.item_id for one in returns)
    origins = {"bench": things.spot(job.bench), "cart": things.spot(job.cart)}
    lookup.lock((items[one.item_id], origins[one.origin].place) for one in returns if _is_known(one, items))
    rows = lookup.balances((item, spot.pk) for item in items for spot in origins.values())
    picked = [one.hold for one in promises_of(job) if one.picked]
    sets = {item.serial_id for item in items.values() if item.serial_id is not None}
    codes = {one.to_place for one in returns if one.to_place}
    return _Shop(
        job=job,
        day=shop_day(act.occurred_at),
        may_overrule=actor.has_perm(OVERRULE),
        origins=origins,
        places={place.code: place for place in Place.objects.filter(code__in=codes, real=True).select_related("site")},
        items=items,
        stopped=stopped_items(items),
        homes={hold.item_id: hold.from_spot for hold in picked},
        part_homes={hold.item.part_id: hold.from_spot for hold in picked},
        left={pair: row.amount for pair, row in rows.items()},
        old=old_at_bench(job, items),
        painted=frozenset(one.item_id for one in marked_sets(job)),
        verdicts=verdicts_on(job, sets) if sets else (),
    )


def _is_known(one: ReturnIn, items: Mapping[int, Item]) -> bool:
    return one.item_id in items and one.origin in ORIGINS


def _lines(shop: _Shop, returns: Sequence[ReturnIn]) -> list[_Line]:
    lines: list[_Line] = []
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(returns, 1):
        try:
            lines.append(_line(shop, one))
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return lines


def _lies_elsewhere(shop: _Shop, item: Item, one: ReturnIn, amount: int) -> tuple[str, ...]:
    """What to say instead, where as much lies on the job's cart and not at its bench, or the other way round."""
    there = {name: shop.left.get((item.pk, spot.pk), 0) for name, spot in shop.origins.items() if name != one.origin}
    return tuple(f'{has} lie on the {name}: say origin "{name}".' for name, has in there.items() if has >= amount)


def _line(shop: _Shop, one: ReturnIn) -> _Line:
    item = shop.items.get(one.item_id)
    if item is None:
        raise DomainError("not-found", f"There is no item {one.item_id}.", item=one.item_id)
    if one.origin not in ORIGINS:
        raise DomainError("wrong-place", f"It comes back from the bench or the cart, not from {one.origin[:40]!r}.")
    amount, typed = lookup.amount(item, one.amount)
    origin = shop.origins[one.origin]
    there = shop.left.get((item.pk, origin.pk), 0)
    if there < amount:
        raise DomainError(
            "not-there",
            f"{origin.place.code} has {there} of {lookup.label(item)}; {amount} were asked for.",
            ways_out=_lies_elsewhere(shop, item, one, amount),
            place=origin.place.code, item=item.pk, part=item.part.number, there=there, asked=amount,
        )  # fmt: skip
    was_fitted = one.was_fitted or (one.origin == "bench" and amount > there - shop.old.get(item.pk, 0))
    _refuse_old(shop, item, one, was_fitted)
    decision = decide(_returned(shop, item, one, was_fitted))
    _refuse_part_of_tube(item, amount, there)
    if one.override_to:
        if one.override_to not in set(To):
            raise DomainError("wrong-place", f"{one.override_to[:40]!r} is nowhere that the returns table knows.")
        decision = overrule(decision, To(one.override_to), may_overrule=shop.may_overrule, reason=one.override_reason)
    if item.pk in shop.painted and decision.to is To.STOCK:
        raise DomainError(
            "mark-not-cleaned",
            f"{lookup.label(item)} carries a bore mark of job {shop.job.number}: it goes to a shelf without.",
            ways_out=("Clean the mark off and record it.",),
            item=item.pk,
        )
    line = _Line(item, amount, typed, origin, _target(shop, item, one, decision.to), decision, bool(one.override_to))
    shop.left[item.pk, origin.pk] = there - amount
    if was_fitted and one.origin == "bench":
        shop.old[item.pk] = max(0, shop.old.get(item.pk, 0) - amount)
    return line


def _refuse_old(shop: _Shop, item: Item, one: ReturnIn, was_fitted: bool) -> None:
    """What came with the engine is nobody's unused part; a piece that is said to be an open tube is booked open first."""
    if was_fitted and item.pk in shop.old and item.pk not in shop.homes:
        raise DomainError(
            "not-unused",
            f"{lookup.label(item)} came out of the engine: it is not left over from the kit.",
            ways_out=("Fit it back where it was.", "Scrap it, with the reason.", "Give it back to the owner."),
            item=item.pk,
            part=item.part.number,
        )
    if one.opened and item.part.net_ul and item.tube_id is None and item.base == "piece":
        raise DomainError(
            "tube-not-opened",
            f"{lookup.label(item)} is closed by our records: book it open, then bring back what is in it.",
            ways_out=("Open it under a number of its own.",),
            item=item.pk,
            part=item.part.number,
        )


def _refuse_part_of_tube(item: Item, amount: int, there: int) -> None:
    """An opened tube goes where it goes as one thing: else our books have it in two places."""
    if item.tube_id is not None and amount != there:
        raise DomainError(
            "not-whole",
            f"{lookup.label(item)} is one opened tube with {there} µL by our records: it comes back whole.",
            ways_out=("Weigh it first: what was used besides is posted.", "Bring back all that is in it."),
            item=item.pk,
            there=there,
            asked=amount,
        )


def _returned(shop: _Shop, item: Item, one: ReturnIn, was_fitted: bool) -> Returned:
    use_by = item.tube.use_by if item.tube else item.lot.expires_on if item.lot else None
    lot_unknown = item.part.tracked_by == Tracked.LOT and item.lot_id is None
    return Returned(
        kind=item.part.kind,
        bag_sealed=one.bag_sealed,
        lot_readable=one.lot_readable and not lot_unknown,
        was_fitted=was_fitted,
        opened=one.opened or item.tube_id is not None,
        expired=not usable_on(use_by, shop.day),
        stopped=item.pk in shop.stopped,
        put_aside=item.serial is not None and set_put_aside(shop.verdicts, item.serial.number) is not None,
    )


def _target(shop: _Shop, item: Item, one: ReturnIn, to: To) -> Spot:
    """Where it goes; DomainError "wrong-place" where no fitting place was named and none is known."""
    if to is To.SCRAP:
        return things.books_only(PlaceKind.SCRAP)
    kind = PlaceKind.QUARANTINE if to is To.QUARANTINE else PlaceKind.SHELF
    home = shop.homes.get(item.pk) or shop.part_homes.get(item.part_id)
    named = shop.places.get(one.to_place)
    if one.to_place and named is None:
        raise no_such_place(one.to_place)
    if named is not None and named.kind == kind:
        if kind is PlaceKind.SHELF and named.site is not None:
            check_same_site(lookup.label(item), shop.job.site.code, named.site.code)
        return home if home is not None and home.place_id == named.pk else things.spot(named)
    if kind is PlaceKind.QUARANTINE:
        place = Place.objects.filter(kind=kind.value, site=shop.job.site_id).order_by("walk_order", "pk").first()
        if place is not None:
            return things.spot(place)
    elif named is None and home is not None:
        return home
    raise DomainError(
        "wrong-place",
        f"{lookup.label(item)} goes to {a(kind)}: "
        + (f"{named.code} is {a(named.kind)}." if named else "say to which."),
        ways_out=(f"Name {a(kind)}.",),
        item=item.pk,
        to=to.value,
    )


def _said(line: _Line) -> Body:
    real = line.target.place.real
    return {
        "item": line.item.pk,
        "part": line.item.part.number,
        "identity": line.item.identity,
        "amount": line.amount,
        "base": line.item.base,
        "typed": line.typed,
        "from": line.origin.place.code,
        "to": line.decision.to.value,
        "place": line.target.place.code if real else "",
        "spot": line.target.name if real else "",
        "why": line.decision.reason,
        "overruled": line.overruled,
    }


def scrap_for_job(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    item_id: int,
    amount: str | int,
    origin: str = "bench",
    reason: str,
    who_pays: str,
    photo_ref: str = "",
    no_photo: str = "",
    destroyed: bool = False,
) -> Done:
    """Scrap something of a job at its bench or on its cart, with the reason and who pays ("job", "shop", "supplier", "maker").

    photo_ref  where the photo is kept; no_photo: why there is none. Of a whole matched set one of them is asked for
    destroyed  made unusable (rings, bolts)
    A half of a matched set is never scrapped like this: the set is recorded as broken. What is scrapped serves its positions no
    longer; one more is asked for, or held with the rest of the list. What lay on the cart is short by name.
    Outcome: {"job", "item", "part", "identity", "amount", "base", "typed", "from", "reason", "who_pays", "photo",
    "no_photo", "destroyed", "shorts"}. Raises DomainError "reason-missing", "who-pays-unknown", "not-found", "half-a-set",
    "wrong-place", "not-there", "photo-asked", those of amounts.
    """
    request = {
        "job": job, "item": item_id, "amount": amount, "origin": origin, "reason": reason, "who_pays": who_pays,
        "photo_ref": photo_ref, "no_photo": no_photo, "destroyed": destroyed,
    }  # fmt: skip

    def work(act: Act) -> Body:
        row = open_job(job)
        if origin not in ORIGINS:
            raise DomainError("wrong-place", f"A job scraps from its bench or its cart, not from {origin[:40]!r}.")
        item = lookup.item(item_id)
        lookup.need_reason(reason, f"Why is {lookup.label(item)} scrapped?")
        payer = pays(who_pays)
        if item.member:
            raise DomainError(
                "half-a-set",
                f"{lookup.label(item)} is the {item.member} of a set.",
                ways_out=("Record the set as broken.",),
                item=item.pk,
            )
        number, typed = lookup.amount(item, amount)
        where = things.spot(row.bench if origin == "bench" else row.cart)
        lookup.lock([(item, where.place)])
        shorts = scrap_moves(act, [Scrapped(item, number, where, payer, photo_ref, no_photo, destroyed)], reason)
        touch(row)
        return {
            "job": job,
            "item": item.pk,
            "part": item.part.number,
            "identity": item.identity,
            "amount": number,
            "base": item.base,
            "typed": typed,
            "from": where.place.code,
            "reason": reason,
            "who_pays": payer.value,
            "photo": photo_ref,
            "no_photo": no_photo,
            "destroyed": destroyed,
            "shorts": lookup.said(shorts),
        }

    return run("scrap on job", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
