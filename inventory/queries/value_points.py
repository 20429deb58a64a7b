"""From where a walk over the value of stock can go on: the newest moment carried forward that still holds, and the next one to carry.

A moment holds where there are as many acts up to it now, as known then, as there were when it was made: acts are never removed, so they
are the same ones. A correction has the moment of what it takes back, so it is such an act too. Nothing else that value rests on changes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import OuterRef, Q, Subquery

from inventory.domain.carried import (
    Kept,
    as_differences,
    books_with,
    changed,
    differences_of,
    items_in,
    newest_good,
    parts_of,
    sums_of,
)
from inventory.domain.cost_pools import Method
from inventory.domain.valuation import Books, Difference, Entry, gone_on
from inventory.models import Act, Movement, Part, PartCarried, Spot, ValueCarried
from inventory.queries.days import last_of, shop_day
from inventory.queries.shop import shop
from inventory.queries.snapshot import snapshot
from inventory.queries.value_walk import OF_ITEM, AsOf, Walk, key_of, lines_before, with_what_feeds

#: So many movements from one moment to the next, at least: what a read goes over is about as long, in a shop of any age.
EACH = 10_000
#: Days that are not carried forward yet: what a bench sends later is mostly of yesterday.
OPEN_DAYS = 2


@dataclass(frozen=True, slots=True)
class Carried:
    """A moment to carry forward: `parts` are those that are not as they were at `after`, the moment before (its id, None for none)."""

    after: int | None
    upto: datetime
    acts: int
    method: str
    sums: dict[str, Any]
    differences: list[list[Any]]
    parts: Kept


def point_for(as_of: AsOf, method: Method, before: datetime | None = None) -> ValueCarried | None:
    """The newest moment that holds for what is asked, earlier than `before` where that is given. Two queries, and one more for each
    halving where something was entered late."""
    points = ValueCarried.objects.filter(method=method.value).order_by("upto").defer("differences")
    if as_of.on is not None:
        points = points.filter(upto__lte=as_of.on)
    if before is not None:
        points = points.filter(upto__lt=before)
    newest = points.last()
    if newest is None or _acts(newest.upto, as_of) == newest.acts:
        return newest
    earlier = list(points.filter(pk__lt=newest.pk).values_list("upto", "acts"))
    at = newest_good([acts for _, acts in earlier], lambda one: _acts(earlier[one][0], as_of))
    return None if at is None else points.get(upto=earlier[at][0])


def _acts(upto: datetime, as_of: AsOf) -> int:
    acts = Act.objects.filter(occurred_at__lte=upto)
    return (acts if as_of.known is None else acts.filter(recorded_at__lte=as_of.known)).count()


def parts_at(point: ValueCarried, parts: Iterable[int] | None = None) -> Kept:
    """Part → what it had at that moment; of these parts, or of all. One query."""
    newest = PartCarried.objects.filter(part=OuterRef("pk"), point__lte=point.pk).order_by("-point_id").values("pk")[:1]
    those = Part.objects.all() if parts is None else Part.objects.filter(pk__in=parts)
    rows = PartCarried.objects.filter(pk__in=those.annotate(newest=Subquery(newest)).values("newest"))
    return {part: kept for part, kept in rows.values_list("part_id", "kept") if kept}


def books_of(as_of: AsOf) -> Books:
    """The value of everything at that time, by the shop's method, all of one moment; without entries. Fifteen queries at most, where
    nothing was entered late."""
    with snapshot():
        method = Method(shop().valuation)
        return _on_from(point_for(as_of, method), as_of, method)[0]


def _on_from(point: ValueCarried | None, as_of: AsOf, method: Method) -> tuple[Books, Kept, Walk]:
    """The books of everything, gone on with from the moment or begun anew; what the parts had at the moment; the walk from there."""
    walk = Walk(as_of, point.upto if point else None)
    then = parts_at(point) if point else {}
    return gone_on(_begun(point, then, walk, method, frozenset()), walk), then, walk


def _begun(point: ValueCarried | None, then: Kept, walk: Walk, method: Method, noted: frozenset[int]) -> Books:
    if point is None:
        return Books(method, noted)
    walk.part_of |= {item: part for part, kept in then.items() for item in items_in(kept)}
    books = books_with(method, point.sums, then.values(), noted)
    for line in lines_before(walk):
        books.knows(*line)
    return books


def entries_of(places: frozenset[int], as_of: AsOf) -> tuple[Method, list[Entry]]:
    """The method, and what came to these places and went from there with its coins, in order: walked from before the first of it to
    the last, and only what its cost comes from. Twenty queries at most, where nothing was entered late."""
    with snapshot():
        method = Method(shop().valuation)
        spots = [*Spot.objects.filter(place__in=places).values_list("pk", flat=True)]
        moved = Movement.objects.filter(Q(from_spot__in=spots) | Q(to_spot__in=spots))
        rows = [*moved.values_list("act_id", *OF_ITEM)]
        counts = Act.objects.filter(as_of.acts(""), pk__in={act for act, *_ in rows})
        moments = dict(counts.values_list("pk", "occurred_at"))
        items = [item for act, *item in rows if act in moments]
        if not items:
            return method, []
        point = point_for(as_of, method, min(moments.values()))
        walk = Walk(as_of.before(max(moments.values())), point.upto if point else None)
        walk.part_of = {item: part for item, part, *_ in items}
        walk.keys = with_what_feeds({key_of(*item) for item in items}, walk)
        parts = {walk.part_of[key[1]] if key[0] == "item" else key[1] for key in walk.keys}
        books = _begun(point, parts_at(point, parts) if point else {}, walk, method, places)
        return method, gone_on(books, walk).entries


def differences_up_to(as_of: AsOf) -> list[Difference]:
    """What each invoice came to, oldest first."""
    with snapshot():
        method = Method(shop().valuation)
        point = point_for(as_of, method)
        earlier = ValueCarried.objects.filter(pk__lte=point.pk).order_by("pk") if point else ValueCarried.objects.none()
        kept = [one for told in earlier.values_list("differences", flat=True) for one in told]
        return [*as_differences(kept), *_on_from(point, as_of, method)[0].differences]


def next_to_carry(today: date, each: int = EACH) -> Carried | None:
    """The next moment to carry forward: the end of the first day by which `each` movements were made since the last that holds. None
    where there is none before the last `OPEN_DAYS` days. All of one moment."""
    with snapshot():
        method = Method(shop().valuation)
        end = last_of(today - timedelta(days=OPEN_DAYS))
        point = point_for(AsOf(), method, end)
        upto = _next_end(point, end, each)
        if upto is None:
            return None
        books, then, walk = _on_from(point, AsOf(on=upto), method)
        now = parts_of(books, walk.part_of)
        return Carried(
            after=point.pk if point else None,
            upto=upto,
            acts=_acts(upto, AsOf()),
            method=method.value,
            sums=sums_of(books),
            differences=differences_of(books),
            parts={part: now.get(part, {}) for part in changed(then, now)},
        )


def _next_end(point: ValueCarried | None, end: datetime, each: int) -> datetime | None:
    moved = Movement.objects.filter(act__occurred_at__lte=end)
    if point is not None:
        moved = moved.filter(act__occurred_at__gt=point.upto)
    last = moved.order_by("act__occurred_at").values_list("act__occurred_at", flat=True)[each - 1 : each]
    return next((last_of(shop_day(moment)) for moment in last), None)


def not_the_walk(pk: int) -> tuple[Any, ...] | None:
    """Of a moment that holds: the day's end, and what is carried otherwise than the walk from the moment before comes to; else None."""
    point = ValueCarried.objects.get(pk=pk)
    before = ValueCarried.objects.filter(pk__lt=pk).order_by("pk").last()
    books, _, walk = _on_from(before, AsOf(on=point.upto), Method(point.method))
    wrong = [f"part {part}" for part in changed(parts_at(point), parts_of(books, walk.part_of))]
    wrong += [name for name, coins in sums_of(books).items() if point.sums.get(name) != coins]
    wrong += ["invoices"] if point.differences != differences_of(books) else []
    return (point.upto.isoformat(), ", ".join(wrong[:5])) if wrong else None
