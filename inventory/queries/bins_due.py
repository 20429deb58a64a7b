"""Which bins are to be counted on a day: a bin is what lies of one part at one spot of a shelf."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q

from inventory.domain.counting import CountClass, due_on
from inventory.domain.places import PlaceKind
from inventory.models import Balance, CountedLine, CountSheetBin, Movement, Part, Site, Spot
from inventory.queries.catalogue import no_such_site
from inventory.queries.counting import classed_parts, last_counted
from inventory.queries.days import shop_day
from inventory.queries.shop import shop

Body = dict[str, Any]
#: (spot id, part id)
Bin = tuple[int, int]
#: (item id, spot id)
Pair = tuple[int, int]
_NEVER = datetime(1, 1, 1, tzinfo=UTC)


@dataclass(slots=True)
class _Lies:
    """A bin with its things: when each was last counted (None: never); `odd`: one of whole packs that are not broken does not come out
    even, and nobody counted it since it last moved."""

    spot: Spot
    part: Part
    counted: list[datetime | None] = field(default_factory=list)
    odd: bool = False

    @property
    def longest(self) -> datetime | None:
        """When the thing that waited longest was counted; None: one never was."""
        return None if None in self.counted else min(at for at in self.counted if at is not None)


def bins_due(site: str, on: date, most: int | None = None, asked: Collection[Bin] = ()) -> Body:
    """The bins of a site to count on a day, about `most` (the shop's number if None): those asked for first, then odd ones of packs that
    are not broken, then those that are due by the class of their part, the longest not counted first, and of those that never were the class that is counted most often. Bins on a sheet that is not booked yet are left out.

    {"site", "on", "due": how many in all, "on_sheets", "bins": [{place, spot, part, name, count_class, things, last_counted, due_on,
    days_over, asked, odd}]}; last_counted and due_on are None where a thing in it was never counted. Raises DomainError "not-found".
    Twelve queries, and one where a bin is odd.
    """
    its_site = Site.objects.filter(code=site).first()
    if its_site is None:
        raise no_such_site(site)
    bins = _lying(its_site)
    open_bins = set(
        CountSheetBin.objects.filter(sheet__posting__isnull=True, spot__place__site=its_site).values_list(
            "spot", "part"
        )
    )
    rules, classes = shop().count_rules, classed_parts(on)
    found, waiting = [], 0
    for key, lies in bins.items():
        its_class = classes[lies.part.pk].count_class if lies.part.pk in classes else CountClass.LOW
        last = lies.longest
        due = due_on(shop_day(last) if last else None, its_class, rules)
        if key not in asked and not lies.odd and due is not None and due > on:
            continue
        if key in open_bins:
            waiting += 1
            continue
        place = lies.spot.place
        walk = (place.walk_order, place.code, lies.spot.name, lies.part.number)
        order = (key not in asked, not lies.odd, last or _NEVER, rules.every_days[its_class], walk)
        found.append((order, _record(lies, its_class, last, due, on, key in asked)))
    found.sort(key=lambda pair: pair[0])
    chosen = [row for _, row in found][: most if most is not None else shop().count_bins]
    return {"site": site, "on": on, "due": len(found), "on_sheets": waiting, "bins": chosen}


def _lying(site: Site) -> dict[Bin, _Lies]:
    """What lies on the shelves of a site, by bin. Two queries."""
    rows = Balance.objects.filter(amount__gt=0, real=True, place__site=site, place__kind=PlaceKind.SHELF.value)
    found: dict[Bin, _Lies] = {}
    things: dict[Bin, list[Balance]] = defaultdict(list)
    for row in rows.select_related("spot__place", "part").order_by("pk"):
        found.setdefault((row.spot_id, row.part_id), _Lies(row.spot, row.part))
        things[row.spot_id, row.part_id].append(row)
    counted = last_counted({spot for spot, _ in found})
    odd = _odd(rows for its in things.values() for rows in its)
    moved = _moved_since({pair: counted[pair] for pair in odd if pair in counted})
    for key, lies in found.items():
        pairs = [(row.item_id, key[0]) for row in things[key]]
        lies.counted = [counted.get(pair) for pair in pairs]
        lies.odd = any(pair in odd and (pair in moved or pair not in counted) for pair in pairs)
    return found


def _odd(rows: Iterable[Balance]) -> set[Pair]:
    """Things of which packs are not broken and that do not come out even."""
    return {
        (row.item_id, row.spot_id)
        for row in rows
        if row.part.pack > 1 and not row.part.loose_issue and row.amount % row.part.pack != 0
    }


def _moved_since(counted: Mapping[Pair, datetime]) -> set[Pair]:
    """Those that moved after they were counted. What a count booked itself, be it later, is no such movement, nor is a hold. One query,
    none if nothing is asked."""
    if not counted:
        return set()
    own = CountedLine.objects.filter(act=OuterRef("act"), item=OuterRef("item"))
    spots = {spot for _, spot in counted}
    rows = Movement.objects.filter(
        Q(from_spot__in=spots) | Q(to_spot__in=spots),
        ~Exists(own),
        item__in={item for item, _ in counted},
        act__occurred_at__gt=min(counted.values()),
    )
    moved: set[Pair] = set()
    for item, left, came, at in rows.values_list("item", "from_spot", "to_spot", "act__occurred_at"):
        moved |= {(item, spot) for spot in (left, came) if (item, spot) in counted and at > counted[item, spot]}
    return moved


def _record(lies: _Lies, its_class: CountClass, last: datetime | None, due: date | None, on: date, asked: bool) -> Body:
    return {
        "place": lies.spot.place.code,
        "spot": lies.spot.name,
        "part": lies.part.number,
        "name": lies.part.name,
        "count_class": its_class.value,
        "things": len(lies.counted),
        "last_counted": last,
        "due_on": due,
        "days_over": None if due is None else (on - due).days,
        "asked": asked,
        "odd": lies.odd,
    }
