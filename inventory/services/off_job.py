"""Stock that leaves beside jobs: sold at the counter and brought back, used up in the workshop. Each with its reason and its word on demand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.off_job import Leaving, What, check_leaves, check_pack, check_returns
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.models import Act, Item, OffJob, OffJobLine, Owner, Person, SoldReturn, Spot
from inventory.queries.days import shop_day
from inventory.queries.off_job import brought_back, sold_line
from inventory.queries.owners import owner as owner_called
from inventory.queries.stock import stopped_items
from inventory.queries.transfers import use_by
from inventory.services import lookup, things
from inventory.services.accepting import refuse_unsorted
from inventory.services.chemicals import not_for, without_sheet
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run

MOST_LINES = 500


@dataclass(frozen=True, slots=True)
class LeavingLine:
    """So much of an item off a spot of a shelf; `amount` as text with a unit or in whole base units."""

    item_id: int
    amount: str | int
    place: str
    spot: str = NO_SPOT


def sell_at_counter(
    *, actor: Person, stamp: Stamp, lines: Sequence[LeavingLine], buyer: int, reason: str, demand: bool
) -> Done:
    """Sell off the shelves, at cost for the books: nothing that is held, stopped, past its day, opened, or half a set.

    buyer  number of the owner who bought it, to be reached if a lot is recalled: no row, outcome or refusal of a sale says who that is
    demand whether it counts in the history of demand
    Outcome: {"what", "buyer", "reason", "demand", "lines": [{line, part, item, identity, amount, base, typed, place, spot}]}.
    Raises DomainError "not-found" (no such owner), "nothing-given" (no line), "reason-missing", "too-many-lines"; ManyErrors by line: "not-found",
    "half-a-set", "wrong-place", "lot-unknown", "part-unusable", "part-to-be-sorted", "old-unit-known", "stopped", "expired", "not-there",
    "pack-not-whole", "safety-sheet-missing" (of a chemical), those of amounts. A set that was sold whole comes back whole, by `take_back_sold`.
    """
    request = {"lines": [asdict(line) for line in lines], "buyer": buyer, "reason": reason, "demand": demand}

    def work(act: Act) -> Body:
        return _leave(act, What.COUNTER, lines, reason, demand, owner_called(buyer))

    return run("sell at the counter", work, actor=actor, stamp=stamp, request=request, reason=reason)


def use_in_workshop(*, actor: Person, stamp: Stamp, lines: Sequence[LeavingLine], reason: str, demand: bool) -> Done:
    """Use up in the workshop, for no job: an expense. What is past its day may be, what is held or stopped may not. A chemical is taken by
    somebody who signed its safety data sheet.

    Outcome and errors as `sell_at_counter`, but "expired" and "part-unusable"; and "safety-sheet-unread".
    """
    request = {"lines": [asdict(line) for line in lines], "reason": reason, "demand": demand}

    def work(act: Act) -> Body:
        return _leave(act, What.WORKSHOP, lines, reason, demand, None)

    return run("use in the workshop", work, actor=actor, stamp=stamp, request=request, reason=reason)


def take_back_sold(
    *, actor: Person, stamp: Stamp, line: int, amount: str | int, place: str, reason: str, spot: str = NO_SPOT
) -> Done:
    """What was sold comes back: to quarantine, never to a shelf, until a second person has looked at it and releases it.

    Outcome: {"line", "part", "item", "identity", "amount", "base", "typed", "place", "spot", "reason"}.
    Raises DomainError "not-found", "reason-missing", "wrong-place", "more-than-outstanding", "serial-elsewhere", "dates-turned" (before it was
    sold), those of amounts.
    """
    request = {"line": line, "amount": amount, "place": place, "spot": spot, "reason": reason}

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "Why does it come back?")
        aside = things.place_of(act)
        if aside.kind != PlaceKind.QUARANTINE:
            raise DomainError(
                "wrong-place",
                f"{place} is {a(aside.kind)}: what was sold comes back to quarantine.",
                ways_out=("A second person looks at it there and releases it.",),
                place=place,
            )
        locks.row(OffJobLine._meta.db_table, [line])
        row = sold_line(line)
        item = lookup.item(row.item_id)
        number, typed = lookup.amount(item, amount)
        _check_after_sale(act, row)
        check_returns(item.called, number, row.amount, brought_back([line]).get(line, 0))
        lookup.lock([(item, aside)])
        lies = things.spot(aside, spot)
        post(act, [Move(item, number, things.books_only(PlaceKind.SOLD), lies)])
        SoldReturn.objects.create(act=act, line=row, amount=number)
        return {
            "line": line, "part": item.part.number, "item": item.pk, "identity": item.identity, "amount": number,
            "base": item.base, "typed": typed, "place": place, "spot": lies.name, "reason": reason,
        }  # fmt: skip

    return run("take back what was sold", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _check_after_sale(act: Act, row: OffJobLine) -> None:
    """It comes back at the cost at which it went, so it went before; DomainError "dates-turned"."""
    sold_at = row.off_job.act.occurred_at
    if act.occurred_at < sold_at:
        raise DomainError(
            "dates-turned",
            f"It was sold on {shop_day(sold_at)}; it would come back before that.",
            sold_at=sold_at.isoformat(),
        )


def _shut(act: Act, what: What, items: Mapping[int, Item]) -> dict[int, DomainError]:
    """Chemicals that may not leave so: what is used here asks more than what is sold, whose buyer gets the sheet along."""
    parts = {(item.part_id, item.part.number, item.part.kind) for item in items.values()}
    if what is What.COUNTER:
        return without_sheet(parts, act.occurred_at)
    return not_for(parts, act.actor, act.occurred_at)


def _broken_packs(
    taken: Mapping[lookup.Pair, int], whole: Mapping[lookup.Pair, tuple[int, Item, int]]
) -> list[tuple[int, DomainError]]:
    """What all lines together take of a bin against its packs; `whole`: bin → (its last line, item, what is free)."""
    errors = []
    for pair, (number, item, free) in whole.items():
        try:
            if item.tube_id is None:
                check_pack(item.called, taken[pair], free, item.part.pack, item.part.loose_issue)
        except DomainError as error:
            errors.append((number, error))
    return errors


def _leave(act: Act, what: What, lines: Sequence[LeavingLine], reason: str, demand: bool, buyer: Owner | None) -> Body:
    """Off the shelves, all lines or none; ManyErrors names every refused one."""
    lookup.need_reason(reason, f"What is the {what} for?")
    if not lines:
        raise DomainError("nothing-given", f"A {what} has at least one line.")
    if len(lines) > MOST_LINES:
        raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
    items = lookup.items(line.item_id for line in lines)
    places = {code: things.place(code) for code in dict.fromkeys(line.place for line in lines)}
    lookup.lock((items[line.item_id], places[line.place]) for line in lines if line.item_id in items)
    spots = {(line.place, line.spot): things.spot(places[line.place], line.spot) for line in lines}
    rows = lookup.balances({(line.item_id, spots[line.place, line.spot].pk) for line in lines})
    stopped = stopped_items(set(items))
    shut = _shut(act, what, items)
    read: list[tuple[Item, int, str, Spot]] = []
    errors: list[tuple[int, DomainError]] = []
    taken: dict[lookup.Pair, int] = {}
    whole: dict[lookup.Pair, tuple[int, Item, int]] = {}
    for number, line in enumerate(lines, 1):
        try:
            item = items.get(line.item_id)
            if item is None:
                raise DomainError("not-found", f"There is no item {line.item_id}.", item=line.item_id)
            spot = spots[line.place, line.spot]
            amount, typed = lookup.amount(item, line.amount)
            thing = Leaving(
                lookup.carried(item),
                lookup.kind(spot.place),
                item.tube_id is not None,
                item.pk in stopped,
                use_by(item),
            )
            check_leaves(what, thing, shop_day(act.occurred_at))
            refuse_unsorted(item)
            if item.part_id in shut:
                raise shut[item.part_id]
            lookup.refuse_old_unit(item)
            pair = (item.pk, spot.pk)
            taken[pair] = taken.get(pair, 0) + amount
            row = rows.get(pair)
            if row is None or row.amount - row.held < taken[pair]:
                raise lookup.not_free(item, spot, taken[pair], row)
            whole[pair] = (number, item, row.amount - row.held)
            read.append((item, amount, typed, spot))
        except DomainError as error:
            errors.append((number, error))
    errors += _broken_packs(taken, whole)
    if errors:
        raise ManyErrors(tuple(sorted(errors, key=lambda pair: pair[0])))
    gone = things.books_only(PlaceKind.SOLD if what is What.COUNTER else PlaceKind.WORKSHOP)
    made = OffJob.objects.create(act=act, what=what.value, demand=demand, buyer=buyer)
    stored = OffJobLine.objects.bulk_create(
        OffJobLine(off_job=made, item=item, amount=amount, spot=spot) for item, amount, _, spot in read
    )
    post(act, [Move(item, amount, spot, gone) for item, amount, _, spot in read])
    return {
        "what": what.value, "buyer": buyer.pk if buyer else None, "reason": reason, "demand": demand,
        "lines": [_said(row, *one) for row, one in zip(stored, read, strict=True)],
    }  # fmt: skip


def _said(row: OffJobLine, item: Item, amount: int, typed: str, spot: Spot) -> Body:
    return {
        "line": row.pk, "part": item.part.number, "item": item.pk, "identity": item.identity, "amount": amount,
        "base": item.base, "typed": typed, "place": spot.place.code, "spot": spot.name,
    }  # fmt: skip
