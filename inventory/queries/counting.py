"""Counting in turn as it is read: classes, what the books said at a moment, the last movements of a thing, accuracy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction
from typing import Any

from django.db.models import Count, F, Max, Min, Q, QuerySet, Window
from django.db.models.functions import RowNumber

from inventory.domain.counting import CountClass, PartUse, accuracy_of, classes_of
from inventory.domain.places import PlaceKind, said_from, said_to
from inventory.domain.units import factor
from inventory.models import Balance, CountedLine, Movement, Part, SupplierPart
from inventory.queries.days import start_of
from inventory.queries.shop import shop
from inventory.queries.write_offs import used_in

Body = dict[str, Any]
#: (item id, spot id)
Pair = tuple[int, int]
YEAR = timedelta(days=365)
LAST = 3


@dataclass(frozen=True, slots=True)
class Classed:
    """A part with its class and what decided it: base units used in the year and what they are worth, lines found wrong, whether it
    ages. priced: a price is on record."""

    part: Part
    count_class: CountClass
    used: int
    value_coins: Fraction
    miscounted: int
    ages: bool
    priced: bool


def counted_lines() -> QuerySet[CountedLine]:
    """Lines of counts, weighings and tables of stock that were not taken back."""
    return CountedLine.objects.filter(act__corrected_by__isnull=True)


def counted_by_hand() -> QuerySet[CountedLine]:
    """Of counts and weighings: nobody stood at the bin for a table."""
    return counted_lines().exclude(act__kind="book table")


def counts_kept() -> QuerySet[CountedLine]:
    """Of counts alone: a weighing tells how much a tube still holds, not how right the books were."""
    return counted_by_hand().exclude(act__kind="weigh tube")


def classed_parts(on: date) -> dict[int, Classed]:
    """Part id → its class on a day, of every part that has stock in the shop or was used in the year up to and with that day.

    Use is what went from shelves to carts or was opened, less what came back unused; its value is at the price of the part's record, where
    it has none at the lowest that a supplier asks, and a part without price is worth nothing here. Seven queries.
    """
    end = start_of(on + timedelta(days=1))
    year = Movement.objects.filter(
        act__corrected_by__isnull=True,
        act__corrects__isnull=True,
        act__occurred_at__lt=end,
        act__occurred_at__gte=end - YEAR,
        item__tube__isnull=True,
    )
    out, back = used_in(year)
    wrong = counts_kept().filter(at__lt=end, at__gte=end - YEAR).exclude(on_books=F("counted"))
    miscounted = dict(wrong.values_list("item__part").annotate(Count("pk")))
    stocked = Balance.objects.filter(in_shop=True, amount__gt=0).values("part")
    parts = {part.pk: part for part in Part.objects.filter(Q(pk__in=stocked) | Q(pk__in=list(out)))}
    uses = {pk: max(0, out.get(pk, (0, 0))[0] - back.get(pk, (0, 0))[0]) for pk in parts}
    prices = _prices(parts.values())
    rows = [
        PartUse(
            pk,
            part.number,
            uses[pk] * prices.get(pk, Fraction(0)),
            ages=bool(part.life),
            miscounted=miscounted.get(pk, 0),
        )
        for pk, part in parts.items()
    ]
    classes = classes_of(rows, shop().count_rules)
    return {
        row.part_id: Classed(
            parts[row.part_id],
            classes[row.part_id],
            uses[row.part_id],
            row.value_coins,
            row.miscounted,
            row.ages,
            row.part_id in prices,
        )
        for row in rows
    }


def _prices(parts: Iterable[Part]) -> dict[int, Fraction]:
    """Part id → coins for one base unit, of parts that have a price. One query."""
    rows = SupplierPart.objects.filter(price_coins__isnull=False, part__price_coins__isnull=True)
    lowest = dict(rows.values_list("part").annotate(Min("price_coins")).order_by("part"))
    of = {part.pk: (part.price_coins if part.price_coins is not None else lowest.get(part.pk)) for part in parts}
    return {part.pk: coins / factor(part.unit)[0] for part in parts if (coins := of[part.pk]) is not None}


def count_classes(on: date) -> list[Body]:
    """The classes of a day, the greatest use value first, JSON-ready. Eight queries."""
    found = sorted(classed_parts(on).values(), key=lambda one: (-one.value_coins, one.part.number))
    days = shop().count_rules.every_days
    return [
        {
            "part": one.part.number,
            "name": one.part.name,
            "count_class": one.count_class.value,
            "every_days": days[one.count_class],
            "used": one.used,
            "base": one.part.base,
            "value_coins": int(one.value_coins),
            "without_price": not one.priced,
            "miscounted": one.miscounted,
            "ages": one.ages,
        }
        for one in found
    ]


def last_counted(spots: Collection[int]) -> dict[Pair, datetime]:
    """(item, spot) → when it was last counted or weighed there. One query."""
    rows = counted_by_hand().filter(spot__in=spots).values_list("item", "spot").annotate(Max("at"))
    return {(item, spot): at for item, spot, at in rows}


def counted_after(pairs: Collection[Pair], moment: datetime) -> dict[Pair, CountedLine]:
    """(item, spot) → its newest count or weighing there that is later than a moment. One query, none for no pair."""
    if not pairs:
        return {}
    items, spots = {item for item, _ in pairs}, {spot for _, spot in pairs}
    rows = counted_lines().filter(item__in=items, spot__in=spots, at__gt=moment).select_related("act__actor")
    return {(row.item_id, row.spot_id): row for row in rows.order_by("at", "pk")}


def amounts_at(asked: Iterable[tuple[int, int, datetime]]) -> dict[tuple[int, int, datetime], int]:
    """What the books have of an item at a spot as of a moment, as known now. Two queries at most."""
    wanted = list(asked)
    items, spots = {one[0] for one in wanted}, {one[1] for one in wanted}
    rows = Balance.objects.filter(item__in=items, spot__in=spots).values_list("item", "spot", "amount", "last_at")
    now = {(item, spot): (amount, last) for item, spot, amount, last in rows}
    moved = [one for one in wanted if one[:2] in now and now[one[0], one[1]][1] > one[2]]
    later: dict[Pair, list[tuple[datetime, int]]] = defaultdict(list)
    if moved:
        since = Movement.objects.filter(
            item__in={one[0] for one in moved}, act__occurred_at__gt=min(one[2] for one in moved)
        )
        of_spots = Q(from_spot__in=spots) | Q(to_spot__in=spots)
        columns = ("item", "from_spot", "to_spot", "amount", "act__occurred_at")
        for item, left, came, amount, at in since.filter(of_spots).values_list(*columns):
            later[item, left].append((at, -amount))
            later[item, came].append((at, amount))
    return {
        one: now.get((one[0], one[1]), (0, one[2]))[0]
        - sum(amount for at, amount in later.get((one[0], one[1]), ()) if at > one[2])
        for one in wanted
    }


def last_moves(pairs: Collection[Pair]) -> dict[int, list[Body]]:
    """Item → its last three movements at these spots, the newest first: where a difference is looked for. One query, none for no pair."""
    if not pairs:
        return {}
    items, spots = {item for item, _ in pairs}, {spot for _, spot in pairs}
    rank = Window(RowNumber(), partition_by=[F("item")], order_by=[F("act__occurred_at").desc(), F("pk").desc()])
    rows = (
        Movement.objects.filter(Q(from_spot__in=spots) | Q(to_spot__in=spots), item__in=items)
        .select_related("act__actor", "from_spot__place", "to_spot__place")
        .annotate(rank=rank)
        .filter(rank__lte=LAST)
        .order_by("item", "rank")
    )
    found: dict[int, list[Body]] = defaultdict(list)
    for row in rows:
        found[row.item_id].append(_said(row))
    return dict(found)


def _said(row: Movement) -> Body:
    left, came = row.from_spot.place, row.to_spot.place
    back = row.act.corrects_id is not None
    return {
        "act": row.act_id,
        "kind": row.act.kind,
        "at": row.act.occurred_at,
        "by": row.act.actor.username,
        "subject": row.act.subject,
        "moved": row.amount,
        "whence": said_from(PlaceKind(left.kind), taken_back=back) or f"from {left.code}",
        "whither": said_to(PlaceKind(came.kind), taken_back=back) or f"to {came.code}",
    }


def count_accuracy(since: date, until: date) -> Body:
    """Share of counted lines that were as the books said, by the class of today, both days included; JSON-ready. Nine queries."""
    rows = counts_kept().filter(at__gte=start_of(since), at__lt=start_of(until + timedelta(days=1)))
    lines = list(rows.values_list("item__part", "on_books", "counted"))
    classes = classed_parts(until)
    of = {pk: one.count_class for pk, one in classes.items()}
    judged = [(of.get(part, CountClass.LOW), books == there) for part, books, there in lines]
    by_class = accuracy_of(judged)
    right = sum(one.right for one in by_class.values())
    return {
        "since": since,
        "until": until,
        "lines": len(lines),
        "right": right,
        "share": _share(Fraction(right, len(lines)) if lines else None),
        "classes": [
            {"count_class": its.value, "lines": one.lines, "right": one.right, "share": _share(one.share)}
            for its, one in by_class.items()
        ],
    }


def _share(value: Fraction | None) -> str | None:
    return None if value is None else f"{float(value):.3f}"
