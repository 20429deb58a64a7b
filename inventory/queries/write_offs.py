"""What of the dated stock on the shelves is likely to be written off, lot by lot and month by month.

The rate is the past's: what went from shelves to carts, or was opened, in a window of days before the day asked about, less what came
back to the shelves unused. Acts that were corrected count for nothing. Only what is counted in pieces is forecast.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from django.db.models import Count, Max, Min, Q, QuerySet, Sum

from inventory.domain.items import Base
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import LifeKind, last_fit_day
from inventory.domain.write_off import FEW_USES, DatedStock, Loss, losses
from inventory.models import Balance, Hold, Lot, Movement, Part
from inventory.queries.days import last_of, shop_day, start_of
from inventory.queries.held import DAY
from inventory.queries.shop import Shop, shop
from inventory.queries.stock import stopped

Body = dict[str, Any]
_SHELF, _OUT_OF_HAND = PlaceKind.SHELF.value, [PlaceKind.CART.value, PlaceKind.BENCH.value]
#: What is used from a shelf goes to a cart, or is opened.
_USED_BY = [PlaceKind.CART.value, PlaceKind.CONVERSION.value]
NOW = "now"


@dataclass(frozen=True, slots=True)
class Use:
    """Past use of a part: pieces and acts in so many days; the last day of use, whenever that was."""

    pieces: int = 0
    uses: int = 0
    days: int = 1
    last: date | None = None

    @property
    def per_day(self) -> Fraction:
        """Pieces in a day, never below none."""
        return Fraction(max(0, self.pieces), self.days)


@dataclass(slots=True)
class _Lot:
    """A lot on the shelves: `free` is what no job that will be in time holds."""

    part: Part
    lot_id: int | None
    code: str
    expires_on: date | None
    last: date | None
    on_shelf: int = 0
    free: int = 0


def write_offs(on: date, until: date, window_days: int, part: Part | None = None, site: str = "") -> Body:
    """What is likely to be lost of every lot whose use-by is not after `until`, of one part or of all, JSON-ready.

    site  code of one: what lies there, against the use of its own shelves and what is held on them; empty for all of them as one
    Stopped stock is left out: it is blocked, not ageing. A lot without a use-by of a part that has a shelf life counts as expired now.
    Seven queries.
    """
    lots = _lots(on, until, shop(), part, site)
    parts = {one.part.pk: one.part for one in lots}
    used = use_of(parts, on, window_days, site)
    held = _held(lots, site)
    answer: list[Body] = []
    for pk, its_part in sorted(parts.items(), key=lambda pair: pair[1].number):
        mine = [one for one in lots if one.part.pk == pk]
        use = used[pk]
        stock = [DatedStock(one.free, one.last) for one in mine]
        for one, loss in zip(mine, losses(stock, on, use.per_day, held[pk]), strict=True):
            answer.append(_said(one, loss, use, its_part, on))
    return {"on": on, "until": until, "lots": answer, "months": _months(answer)}


def use_of(part_ids: Iterable[int], on: date, window_days: int, site: str = "") -> dict[int, Use]:
    """Past use of parts in the days up to and with `on`; of a part that came in later, since its first day. Four queries.

    site  code of one: only what went in and out there; what the van took to another site is used there, if at all
    """
    ids = list(part_ids)
    rows = Movement.objects.filter(
        item__part__in=ids,
        act__corrected_by__isnull=True,
        act__corrects__isnull=True,
        act__occurred_at__lte=last_of(on),
    )
    # What somebody carried in a tube that is open is counted in microlitres: a closed one was a piece when it was opened.
    rows = rows.filter(item__tube__isnull=True)
    if site:
        rows = rows.filter(Q(from_spot__place__site__code=site) | Q(to_spot__place__site__code=site))
    begin = dict(rows.values_list("item__part").annotate(Min("act__occurred_at")))
    used = _used(rows)
    last = dict(used.values_list("item__part").annotate(Max("act__occurred_at")))
    out, back = used_in(rows.filter(act__occurred_at__gte=start_of(on - timedelta(days=window_days - 1))))
    found = {}
    for pk in ids:
        days = (on - shop_day(begin[pk])).days + 1 if pk in begin else window_days
        pieces, uses = out.get(pk, (0, 0))
        day = shop_day(last[pk]) if pk in last else None
        found[pk] = Use(pieces - back.get(pk, (0, 0))[0], uses, min(window_days, days), day)
    return found


def used_in(rows: QuerySet[Movement]) -> tuple[dict[int, tuple[int, int]], dict[int, tuple[int, int]]]:
    """Part → (pieces, acts) of these movements that went out to be used, and of those that came back unused. Two queries."""
    return _sums(_used(rows)), _sums(rows.filter(from_spot__place__kind__in=_OUT_OF_HAND, to_spot__place__kind=_SHELF))


def _used(rows: QuerySet[Movement]) -> QuerySet[Movement]:
    return rows.filter(from_spot__place__kind=_SHELF, to_spot__place__kind__in=_USED_BY)


def _sums(rows: QuerySet[Movement]) -> dict[int, tuple[int, int]]:
    summed = rows.values_list("item__part").annotate(Sum("amount"), Count("act", distinct=True))
    return {part: (pieces, acts) for part, pieces, acts in summed}


def _unlimited(part: Part, lot: Lot | None, its: Shop) -> bool:
    """Whether it has no use-by by right: its storage has no limit; of rubber the cure is known."""
    rule = its.life_of(part)
    cured = lot is not None and bool(lot.cure_code)
    return rule.kind is LifeKind.NONE or (rule.kind is LifeKind.CURE and rule.life_months is None and cured)


def _lots(on: date, until: date, its: Shop, part: Part | None, site: str) -> list[_Lot]:
    """Lots on shelves, by part and last day; what is held too late for its lot is not as good as used."""
    rows = Balance.objects.filter(pickable=True, amount__gt=0, part__base=Base.PIECE.value, single=False)
    if part is not None:
        rows = rows.filter(part=part)
    if site:
        rows = rows.filter(place__site__code=site)
    rows = rows.filter(item__tube__isnull=True).exclude(stopped())
    dated = rows.filter(
        Q(item__lot__expires_on__lte=until) | (Q(item__lot__expires_on__isnull=True) & ~Q(part__life={}))
    )
    found: dict[tuple[int, int | None], _Lot] = {}
    for row in dated.select_related("item__lot", "part").order_by("part__number", "pk"):
        lot = row.item.lot
        expires = lot.expires_on if lot else None
        if expires is None and _unlimited(row.part, lot, its):
            continue
        last = last_fit_day(expires, its.margin_days) if expires else None
        key = (row.part_id, lot.pk if lot else None)
        one = found.setdefault(key, _Lot(row.part, lot.pk if lot else None, lot.code if lot else "", expires, last))
        one.on_shelf += row.amount
        one.free += row.amount
    return sorted(found.values(), key=lambda one: (one.part.number, one.last or date.min, one.code))


def _held(lots: Iterable[_Lot], site: str) -> dict[int, list[tuple[date, int]]]:
    """Part → (day, pieces) that jobs hold of these lots in time; each lot's `free` is lessened by it. One query."""
    known = {(one.part.pk, one.lot_id): one for one in lots}
    parts = {pk for pk, _ in known}
    booked: dict[int, list[tuple[date, int]]] = defaultdict(list)
    rows = Hold.objects.filter(end__isnull=True, item__part__in=parts, item__tube__isnull=True)
    if site:
        rows = rows.filter(from_spot__place__site__code=site)
    for pk, lot, day, amount in rows.values_list("item__part", "item__lot", DAY, "amount"):
        one = known.get((pk, lot))
        if one is not None and one.last is not None and day <= one.last:
            one.free -= amount
            booked[pk].append((day, amount))
    return booked


def _said(lot: _Lot, loss: Loss, use: Use, part: Part, on: date) -> Body:
    pieces = f"{loss.expected:.3f}"
    if lot.expires_on is None:
        said = f"{lot.free} of {lot.code or part.number} have no use-by: they count as expired now"
    elif lot.last is None or lot.last < on:
        said = f"{lot.free} of {lot.code} are past their last day of fitting, {lot.last}"
    else:
        said = f"{loss.expected:.1f} of {lot.free} of {lot.code} forecast lost, use by fit date {lot.last}"
    thin = use.uses < FEW_USES
    return {
        "part": part.number,
        "name": part.name,
        "lot": lot.code,
        "lot_id": lot.lot_id,
        "expires_on": lot.expires_on,
        "use_by_fit_date": lot.last,
        "on_shelf": lot.on_shelf,
        "held": lot.on_shelf - lot.free,
        "free": lot.free,
        "used": use.pieces,
        "uses": use.uses,
        "window_days": use.days,
        "last_used_on": use.last,
        "months_since_use": None if use.last is None else months_between(use.last, on),
        "cover_days": int(lot.on_shelf / use.per_day) if use.per_day else None,
        "thin_data": thin,
        "wanted_until_then": f"{loss.mean:.3f}",
        "expected_lost": pieces,
        "chance_of_any": f"{loss.chance:.3f}",
        "expected_coins": None if part.price_coins is None else round(Fraction(pieces) * part.price_coins),
        "said": said + (f"; thin data: {use.uses} uses in {use.days} days" if thin else ""),
    }


def months_between(since: date, on: date) -> int:
    """Whole months from one day to another."""
    return (on.year - since.year) * 12 + on.month - since.month - (on.day < since.day)


def _months(lots: Iterable[Body]) -> list[Body]:
    """The sums by month of use-by, what counts as expired now first; coins of what has a price."""
    found: dict[str, Body] = {}
    for one in lots:
        month = NOW if one["expires_on"] is None else one["expires_on"].strftime("%Y-%m")
        row = found.setdefault(
            month, {"month": month, "lots": 0, "pieces": Fraction(0), "coins": 0, "without_price": 0}
        )
        row["lots"] += 1
        row["pieces"] += Fraction(one["expected_lost"])
        row["coins"] += one["expected_coins"] or 0
        row["without_price"] += one["expected_coins"] is None
    ordered = sorted(found.values(), key=lambda row: (row["month"] != NOW, row["month"]))
    return [
        {
            "month": row["month"],
            "lots": row["lots"],
            "expected_lost": f"{float(row['pieces']):.3f}",
            "expected_coins": row["coins"],
            "without_price": row["without_price"],
        }
        for row in ordered
    ]
