"""Holds: promised, picked, released, made impossible. Private to services; the caller has the transaction and the locks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Hold, HoldEnd, Item, Place, Short, Spot
from inventory.queries.days import shop_day
from inventory.queries.held import DAY, Pending, pending
from inventory.services.keeping import missing
from inventory.services.post import Move, hold_more, post
from inventory.services.rows import insert


@dataclass(frozen=True, slots=True)
class Promise:
    """This much of an item at a shelf spot, for a cart, needed on a day."""

    item_id: int
    spot_id: int
    amount: int
    needed_on: date
    until: date | None = None


def hold(act: Act, cart: Spot, promises: Sequence[Promise]) -> list[Hold]:
    """As `hold_ids`; the holds themselves."""
    made = hold_ids(act, cart, promises)
    return [
        Hold(
            pk=pk,
            act_id=act.pk,
            item_id=one.item_id,
            from_spot_id=one.spot_id,
            to_spot_id=cart.pk,
            amount=one.amount,
            needed_on=one.needed_on,
            until=one.until,
        )
        for pk, one in zip(made, promises, strict=True)
    ]


def hold_ids(act: Act, cart: Spot, promises: Sequence[Promise]) -> list[int]:
    """Write the holds and raise what is held; their ids, in the order of the promises.

    Allocation was made after the locks; what is not free is refused here too.
    """
    wanted: dict[tuple[int, int], int] = defaultdict(int)
    for promise in promises:
        wanted[promise.item_id, promise.spot_id] += promise.amount
    rows = Balance.objects.filter(
        item_id__in={item for item, _ in wanted}, spot_id__in={spot for _, spot in wanted}, pickable=True
    ).values_list("item_id", "spot_id", "amount", "held")
    free = {(item_id, spot_id): amount - held for item_id, spot_id, amount, held in rows}
    for pair, amount in wanted.items():
        if free.get(pair, 0) < amount:
            item, spot = (
                Item.objects.select_related("part").get(pk=pair[0]),
                Spot.objects.select_related("place").get(pk=pair[1]),
            )
            raise DomainError(
                "not-free",
                f"{free.get(pair, 0)} of {item.called} are free at {spot.place.code}; {amount} were asked for.",
                part=item.part.number,
                item=item.called,
                place=spot.place.code,
                free=free.get(pair, 0),
                asked=amount,
            )
    made: list[int] = insert(
        Hold._meta.db_table,
        ("act_id", "item_id", "from_spot_id", "to_spot_id", "amount", "needed_on", "until"),
        [(act.pk, one.item_id, one.spot_id, cart.pk, one.amount, one.needed_on, one.until) for one in promises],
        returning="id",
    )
    hold_more(wanted, act.occurred_at)
    return made


def open_holds(hold_ids: Iterable[int]) -> dict[int, Pending]:
    """Holds by id; DomainError "not-found" or "hold-ended" for the first that is not open."""
    wanted = list(dict.fromkeys(hold_ids))
    found = pending(wanted)
    for hold_id in wanted:
        if hold_id not in found:
            raise DomainError("not-found", f"There is no hold {hold_id}.", hold=hold_id)
        if found[hold_id].how:
            raise hold_ended(hold_id)
    return found


def hold_ended(hold_id: int) -> DomainError:
    """The refusal "hold-ended", naming what ended it, when and by whom."""
    row = HoldEnd.objects.select_related("act__actor").get(hold=hold_id)
    why = f": {row.why}" if row.why else ""
    return DomainError(
        "hold-ended",
        f"Hold {hold_id} was {row.how} on {shop_day(row.act.occurred_at)} by {row.act.actor.username}{why}.",
        hold=hold_id,
        how=row.how,
        why=row.why,
        act=row.act_id,
    )


def pick(act: Act, amounts: Sequence[tuple[Pending, int]], as_one: bool = False) -> None:
    """Shelf to cart: each hold is resolved with what was picked; the rest of it is freed. `as_one`: all are of one thing that goes one
    way, and are one entry of the books."""
    ends: list[tuple[int, int, str, int, str]] = []
    moves: list[Move] = []
    freed: dict[tuple[int, int], int] = defaultdict(int)
    for row, amount in amounts:
        if not 0 < amount <= row.amount:
            raise DomainError(
                "pick-over-hold",
                f"Hold {row.pk} is for {row.amount}; {amount} cannot be picked on it.",
                hold=row.pk,
                asked=amount,
            )
        ends.append((row.pk, act.pk, HoldEnd.How.PICKED.value, amount, ""))
        moves.append(Move(row.thing, amount, row.from_spot, row.to_spot, held=amount))
        freed[row.item_id, row.from_spot_id] -= row.amount - amount
    insert(HoldEnd._meta.db_table, ("hold_id", "act_id", "how", "picked", "why"), ends)
    hold_more(freed, act.occurred_at)
    if as_one:
        first, total = moves[0], sum(one.amount for one in moves)
        moves = [Move(first.item, total, first.from_spot, first.to_spot, held=total)]
    post(act, moves)


def end(act: Act, holds: Iterable[Hold | Pending], how: HoldEnd.How, why: str) -> None:
    """Release, lapse or make impossible; what they held is free again."""
    freed: dict[tuple[int, int], int] = defaultdict(int)
    ends = []
    for row in holds:
        ends.append(HoldEnd(hold_id=row.pk, act=act, how=how, why=why))
        freed[row.item_id, row.from_spot_id] -= row.amount
    HoldEnd.objects.bulk_create(ends)
    hold_more(freed, act.occurred_at)


def make_impossible(act: Act, holds: Iterable[Hold], why: str) -> list[Short]:
    """End the holds and raise a named short for each, in the same act."""
    rows = list(holds)
    end(act, rows, HoldEnd.How.IMPOSSIBLE, why)
    return Short.objects.bulk_create(
        [
            Short(act=act, hold=row, to_spot_id=row.to_spot_id, part_id=row.item.part_id, amount=row.amount, why=why)
            for row in rows
        ]
    )


def raise_short(act: Act, row: Hold, amount: int, why: str) -> Short:
    """A named short for part of a hold that was ended."""
    return Short.objects.create(
        act=act, hold=row, to_spot_id=row.to_spot_id, part_id=row.item.part_id, amount=amount, why=why
    )


def move_day(cart: Place, day: date) -> None:
    """What is held for the cart, and will be, is needed on another day from now on."""
    Place.objects.filter(pk=cart.pk).update(needed_on=day)


def room_for(act: Act, leaving: Mapping[tuple[int, int], int], why: str, *, kept_too: bool = False) -> list[Short]:
    """Before `leaving` (item id, spot id) -> amount is taken: end the holds that will no longer fit, latest fit date first.

    Used by acts that reduce what is there (count, scrap, break). kept_too: the kept piece of a lot may be gone too, last of all, as a
    count finds it; nothing else takes that. Returns the shorts that were raised.
    """
    rows = Balance.objects.filter(item_id__in={item for item, _ in leaving}, spot_id__in={spot for _, spot in leaving})
    broken: list[Hold] = []
    for row in rows:
        over = row.held - (row.amount - leaving.get((row.item_id, row.spot_id), 0))
        if over <= 0:
            continue
        for candidate in holds_on(row.item_id, row.spot_id):
            if over <= 0:
                break
            broken.append(candidate)
            over -= candidate.amount
        if over > 0 and kept_too:
            missing(act, row.item_id, row.spot_id, why)
    return make_impossible(act, broken, why) if broken else []


def lost_on_carts(act: Act, leaving: Iterable[tuple[int, int, Spot]], why: str) -> list[Short]:
    """A named short for each pick whose things lay on a cart and are lost there in this act (scrapped, broken, counted short), the newest
    pick first. No query where nothing leaves a cart.

    leaving   (item id, amount, spot with its place)
    """
    left: dict[tuple[int, int], int] = defaultdict(int)
    for item_id, amount, spot in leaving:
        if spot.place.kind == PlaceKind.CART:
            left[item_id, spot.pk] += amount
    if not left:
        return []
    rows = Hold.objects.filter(
        item__in={item for item, _ in left}, to_spot__in={spot for _, spot in left}, end__how=HoldEnd.How.PICKED
    )
    shorts = []
    for row in rows.select_related("end", "item__part", "to_spot__place").order_by("-pk"):
        amount = min(left.get((row.item_id, row.to_spot_id), 0), row.end.picked)
        if amount > 0:
            left[row.item_id, row.to_spot_id] -= amount
            shorts.append(
                Short(act=act, hold=row, to_spot_id=row.to_spot_id, part_id=row.item.part_id, amount=amount, why=why)
            )
    return Short.objects.bulk_create(shorts)


def all_holds(of: Q) -> list[Hold]:
    """Open holds by a condition, latest fit date first."""
    rows = Hold.objects.filter(of, end__isnull=True).select_related("item__part", "from_spot__place", "to_spot__place")
    return list(rows.order_by(DAY.desc(), "-pk"))


def holds_on(item_id: int, spot_id: int | None = None) -> list[Hold]:
    """Open holds on an item (at one spot), latest fit date first."""
    return all_holds(Q(item_id=item_id) if spot_id is None else Q(item_id=item_id, from_spot_id=spot_id))
