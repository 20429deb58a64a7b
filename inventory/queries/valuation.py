"""What stock is worth on a day, as known on a day: every movement up to then, in the order in which it happened.

What was taken back counts from the moment its correction is known; nothing is stored that could be rewritten.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import Q, QuerySet

from inventory.domain.cost_pools import Method
from inventory.domain.import_rows import Verdict
from inventory.domain.items import identity
from inventory.domain.places import PlaceKind
from inventory.domain.valuation import Books, End, Invoice, Step, Worth, valued
from inventory.models import ImportRow, InvoiceTotal, Item, Movement, Outcome, Part, ReceiptLine, Spot
from inventory.queries.days import last_of
from inventory.queries.shop import shop
from inventory.queries.snapshot import snapshot

Body = dict[str, Any]
_MOVED = (
    "act__occurred_at",
    "act_id",
    "pk",
    "item_id",
    "item__part_id",
    "item__base",
    "item__single",
    "item__tube_id",
    "amount",
    "from_spot_id",
    "to_spot_id",
)
_BATCH = 5000


@dataclass(frozen=True, slots=True)
class AsOf:
    """Up to and with this moment, as the records had it then; None: all there is. A day counts to its end, here."""

    on: datetime | None = None
    known: datetime | None = None

    @classmethod
    def of(cls, on: date | datetime | None, known: date | datetime | None) -> AsOf:
        """From days or moments."""
        return cls(*(None if given is None else last_of(given) for given in (on, known)))

    def acts(self, prefix: str = "act__") -> Q:
        """Rows of acts that count: not taken back, and no taking back themselves."""
        when = Q(**{f"{prefix}corrects__isnull": True})
        if self.on is not None:
            when &= Q(**{f"{prefix}occurred_at__lte": self.on})
        if self.known is None:
            return when & Q(**{f"{prefix}corrected_by__isnull": True})
        when &= Q(**{f"{prefix}recorded_at__lte": self.known})
        still = Q(**{f"{prefix}corrected_by__isnull": True})
        return when & (still | Q(**{f"{prefix}corrected_by__recorded_at__gt": self.known}))


def books_of(as_of: AsOf) -> Books:
    """The value of everything at that time, by the shop's method, all of one moment. Seven queries, one more with taken-over costs."""
    with snapshot():
        return valued(Method(shop().valuation), _acts(as_of))


def stock_value(as_of: AsOf, site: str = "") -> Body:
    """What is in stock by part, of one site or of all, with where everything else of the value is. JSON-ready. Ten queries at most.

    {"method", "rows": [{part, name, base, own_cost, amount, unknown, coins, each}], "coins", "received_coins", "counted_over_coins",
    "at_jobs_coins", "difference_coins", "gone": [{where, coins}], "adds_up"}. The sums beside the rows are the shop's. `each` is coins
    for one base unit, five places; "" where nothing has a cost.
    """
    books = books_of(as_of)
    rows = _rows(books.worth(), site)
    gone = {kind: coins for kind, coins in sorted(books.gone.items()) if coins}
    everything = books.in_stock + books.at_jobs + books.difference + sum(gone.values())
    return {
        "method": books.method.value,
        "site": site,
        "rows": rows,
        "coins": sum(row["coins"] for row in rows),
        "all_stock_coins": books.in_stock,
        "received_coins": books.came_in,
        "counted_over_coins": books.counted_over,
        "at_jobs_coins": books.at_jobs,
        "difference_coins": books.difference,
        "gone": [{"where": _GONE[kind], "coins": coins} for kind, coins in gone.items()],
        "adds_up": everything == books.came_in + books.counted_over,
    }


_GONE = {
    PlaceKind.ENGINE: "fitted",
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.OWNER: "given to the owner",
    PlaceKind.SOLD: "sold at the counter",
    PlaceKind.WORKSHOP: "used in the workshop",
    PlaceKind.SUPPLIER: "returned to the supplier",
    PlaceKind.COUNT_DIFFERENCE: "counted short",
    PlaceKind.BEFORE_RECORDS: "was not ours",
}


def five_places(each: Fraction | None) -> str:
    """An exact price as it is shown: coins to five places, half up; "" for none."""
    if each is None:
        return ""
    whole = (each * 100_000 * 2 + 1) // 2
    return f"{whole // 100_000}.{whole % 100_000:05d}"


def _rows(found: dict[Hashable, Worth], site: str) -> list[Body]:
    """Things with a cost of their own are summed by part."""
    own = [key[1] for key in found if isinstance(key, tuple) and key[0] == "item"]
    of_item: dict[int, tuple[int, str]] = {}
    for start in range(0, len(own), _BATCH):
        rows = Item.objects.filter(pk__in=own[start : start + _BATCH])
        of_item |= {pk: (part, base) for pk, part, base in rows.values_list("pk", "part_id", "base")}
    sums: dict[tuple[int, str, bool], list[int]] = defaultdict(lambda: [0, 0, 0])
    for key, worth in found.items():
        assert isinstance(key, tuple)
        part, base = of_item[key[1]] if key[0] == "item" else (key[1], key[2])
        amount, coins, unknown = worth.amount, worth.coins, worth.unknown
        if site:
            amount, coins = worth.by_site.get(site, (0, 0))
            unknown = min(unknown, amount)
        if amount:
            row = sums[part, base, key[0] == "item"]
            row[0], row[1], row[2] = row[0] + amount, row[1] + coins, row[2] + unknown
    parts = Part.objects.in_bulk({part for part, _, _ in sums})
    return [
        {
            "part": parts[part].number,
            "name": parts[part].name,
            "base": base,
            "own_cost": single,
            "amount": amount,
            "unknown": unknown,
            "coins": coins,
            "each": five_places(Fraction(coins, amount - unknown) if amount > unknown else None),
        }
        for (part, base, single), (amount, coins, unknown) in sorted(
            sums.items(), key=lambda pair: (parts[pair[0][0]].number, pair[0][1:])
        )
    ]


def _acts(as_of: AsOf) -> Iterator[Sequence[Step] | Invoice]:
    """Each act's steps together, and the invoices, as they happened; of one moment in the order of the records."""
    ends = {
        spot: End(place, spot, PlaceKind(kind), site or "")
        for spot, place, kind, site in Spot.objects.values_list("pk", "place_id", "place__kind", "place__site__code")
    }
    lines, brought, opened = _lines(as_of), _taken_over(as_of), _openings(as_of)
    invoices = deque(_invoices(as_of))
    moved = Movement.objects.filter(as_of.acts()).order_by("act__occurred_at", "act_id", "pk").values_list(*_MOVED)
    for (at, act), rows in groupby(moved.iterator(chunk_size=_BATCH), key=itemgetter(0, 1)):
        while invoices and invoices[0][:2] < (at, act):
            yield invoices.popleft()[2]
        yield [_step(row, ends, lines, brought, opened) for row in rows]
    yield from (one for _, _, one in invoices)


def _step(row: Sequence[Any], ends: Any, lines: Any, brought: Any, opened: Any) -> Step:
    _, act, pk, item, part, base, single, tube, amount, origin, target = row
    coins, line = None, None
    waiting = lines.get((act, item, amount))
    if waiting and ends[origin].kind is PlaceKind.SUPPLIER:
        line, coins = waiting.popleft()
    elif ends[origin].kind is PlaceKind.COUNT_DIFFERENCE:
        coins = brought.get(pk)
    return Step(
        act=act,
        item=item,
        key=("item", item) if single or tube else ("part", part, base),
        amount=amount,
        origin=ends[origin],
        target=ends[target],
        coins=coins,
        line=line,
        single=single,
        weight=opened.get((act, item), 0) * amount if (act, None) in opened else amount,
    )


def _lines(as_of: AsOf) -> dict[tuple[int, int, int], deque[tuple[int, int | None]]]:
    """Act, item, amount → lines of deliveries with their coins; without a total, the share of what the order says."""
    found: dict[tuple[int, int, int], deque[tuple[int, int | None]]] = defaultdict(deque)
    rows = ReceiptLine.objects.filter(as_of.acts("receipt__act__")).order_by("pk")
    for pk, act, item, amount, coins, total, ordered in rows.values_list(
        "pk", "receipt_id", "item_id", "amount", "total_coins", "order_line__total_coins", "order_line__amount"
    ).iterator(chunk_size=_BATCH):
        found[act, item, amount].append((pk, expected(amount, coins, total, ordered)))
    return found


def expected(amount: int, coins: int | None, total: int | None, ordered: int | None) -> int | None:
    """What a line of a delivery is taken in at: its total, else its share of what the order says (half a coin up); None for neither."""
    if coins is not None or total is None or not ordered:
        return coins
    return (2 * total * amount + ordered) // (2 * ordered)


def invoices(as_of: AsOf) -> QuerySet[InvoiceTotal]:
    """The invoices that count, oldest first, whose deliveries count too."""
    both = as_of.acts() & as_of.acts("line__receipt__act__")
    return InvoiceTotal.objects.filter(both).order_by("act__occurred_at", "act_id")


def _invoices(as_of: AsOf) -> list[tuple[datetime, int, Invoice]]:
    """One that is older than its delivery counts from the delivery on."""
    rows = invoices(as_of).values_list(
        "act_id", "act__occurred_at", "line_id", "coins", "line__receipt_id", "line__receipt__act__occurred_at"
    )
    return sorted(
        (
            (max(at, came_at), max(act, came) if at <= came_at else act, Invoice(act, line, coins))
            for act, at, line, coins, came, came_at in rows
        ),
        key=itemgetter(0, 1),
    )


def _taken_over(as_of: AsOf) -> dict[int, int]:
    """Movement → coins that a table of stock or of sets states for it."""
    said: dict[tuple[int, str, str, int], deque[int]] = defaultdict(deque)
    rows = ImportRow.objects.filter(
        as_of.acts("file__booked__act__"),
        file__kind__in=("stock", "sets"),
        verdict=Verdict.ACCEPTED,
        known=False,
        values__has_key="value",
    ).order_by("file_id", "line")
    for act, values in rows.values_list("file__booked__act_id", "values").iterator(chunk_size=_BATCH):
        if values["value"] is None:
            continue
        text = values.get("identity") or identity(serial=values.get("serial") or "")
        said[act, values["part"], text, values.get("base_amount", 1)].append(values["value"])
    if not said:
        return {}
    moved = Movement.objects.filter(act__in={key[0] for key in said}).order_by("pk")
    found = {}
    for pk, act, part, text, amount in moved.values_list(
        "pk", "act_id", "item__part__number", "item__identity", "amount"
    ).iterator(chunk_size=_BATCH):
        waiting = said.get((act, part, text, amount))
        if waiting:
            found[pk] = waiting.popleft()
    return found


def _openings(as_of: AsOf) -> dict[tuple[int, int | None], Fraction]:
    """Act and item → what a kit's content weighs in its cost: its catalogue price on that day, as the act kept it, by its amount.

    A kit of which no content has a price is split by pieces: it is left out here.
    """
    found: dict[tuple[int, int | None], Fraction] = {}
    rows = Outcome.objects.filter(as_of.acts(), act__kind="open kit")
    for act, body in rows.values_list("act_id", "body").iterator(chunk_size=_BATCH):
        priced = [one for one in body["contents"] if one.get("price_coins")]
        for one in priced:
            found[act, one["item"]] = Fraction(one["price_coins"])
        if priced:
            found[act, None] = Fraction(0)
    return found
