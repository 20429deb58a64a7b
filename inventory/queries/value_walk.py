"""The movements whose value is followed, act by act with the invoices between them, in the order in which they happened.

What was taken back counts from the moment its correction is known; nothing is stored that could be rewritten.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from fractions import Fraction
from itertools import groupby
from operator import itemgetter
from typing import Any

from django.db.models import Q, QuerySet

from inventory.domain.carried import all_that_feed
from inventory.domain.import_rows import Verdict
from inventory.domain.items import identity
from inventory.domain.places import PlaceKind
from inventory.domain.valuation import End, Invoice, Step
from inventory.models import Act, ImportRow, InvoiceTotal, Item, Movement, Outcome, ReceiptLine, Site, Spot
from inventory.queries.days import last_of

Key = tuple[Any, ...]

OF_ITEM = ("item_id", "item__part_id", "item__base", "item__single", "item__tube_id")
_MOVED = (
    "act_id",
    "pk",
    *OF_ITEM,
    "amount",
    "from_spot_id",
    "from_spot__place_id",
    "from_spot__place__kind",
    "from_spot__place__site_id",
    "to_spot_id",
    "to_spot__place_id",
    "to_spot__place__kind",
    "to_spot__place__site_id",
)
_BATCH = 5000
#: Which engine it was makes no difference to value, and they have more spots than all else.
_ENGINE = End(0, 0, PlaceKind.ENGINE)


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

    def before(self, moment: datetime) -> AsOf:
        """As known then too, up to an earlier moment."""
        return AsOf(moment if self.on is None else min(self.on, moment), self.known)


def key_of(item: int, part: int, base: str, single: bool, tube: int | None) -> Key:
    """Whose cost an item has: its own, where it is told apart, or that of its part's pool."""
    return ("item", item) if single or tube else ("part", part, base)


@dataclass(slots=True)
class Walk:
    """Each act's steps together, and the invoices, as they happened; of one moment in the order of the records.

    since    only what happened after that moment; None: from the first on
    keys     only steps of these; whoever names them names all that went into one conversion with them. None: all
    part_of  item → part, of every item that was met
    """

    as_of: AsOf
    since: datetime | None = None
    keys: frozenset[Key] | None = None
    part_of: dict[int, int] = field(default_factory=dict)
    _ends: dict[int, End] = field(default_factory=dict)

    def after(self, prefix: str = "act__") -> Q:
        """Rows of acts that count and that happened since."""
        return self.as_of.acts(prefix) & self.later(prefix)

    def later(self, prefix: str = "act__") -> Q:
        """Rows of acts that happened since."""
        return Q() if self.since is None else Q(**{f"{prefix}occurred_at__gt": self.since})

    def __iter__(self) -> Iterator[Sequence[Step] | Invoice]:
        """Eight queries at most."""
        sites = dict(Site.objects.values_list("pk", "code"))
        lines, brought, opened = _lines(self), _taken_over(self), _openings(self)
        waiting = deque(_invoices(self))
        when = dict(Act.objects.filter(self.after("")).values_list("pk", "occurred_at")) if waiting else {}
        for act, rows in groupby(self._rows(), key=itemgetter(0)):
            while waiting and waiting[0][:2] < (when[act], act):
                yield waiting.popleft()[2]
            yield [self._step(row, sites, lines, brought, opened) for row in rows]
        yield from (one for _, _, one in waiting)

    def _rows(self) -> Iterator[Sequence[Any]]:
        moved = Movement.objects.filter(self.after())
        if self.keys is not None and self.since is None:
            # From a moment on, the acts since then are fewer than all that ever happened to these parts.
            items = {key[1] for key in self.keys if key[0] == "item"}
            parts = {key[1] for key in self.keys if key[0] == "part"}
            moved = moved.filter(
                item__in=Item.objects.filter(
                    Q(pk__in=items) | Q(part__in=parts, single=False, tube__isnull=True)
                ).values("pk")
            )
        rows = moved.order_by("act__occurred_at", "act_id", "pk").values_list(*_MOVED).iterator(chunk_size=_BATCH)
        return rows if self.keys is None else (row for row in rows if key_of(*row[2:7]) in self.keys)

    def _step(self, row: Sequence[Any], sites: dict[int, str], lines: Any, brought: Any, opened: Any) -> Step:
        act, pk, item, part, base, single, tube, amount = row[:8]
        origin, target = self._end(row[8:12], sites), self._end(row[12:], sites)
        self.part_of[item] = part
        coins, line = None, None
        waiting = lines.get((act, item, amount))
        if waiting and origin.kind is PlaceKind.SUPPLIER:
            line, coins = waiting.popleft()
        elif origin.kind is PlaceKind.COUNT_DIFFERENCE:
            coins = brought.get(pk)
        return Step(
            act=act,
            item=item,
            key=key_of(item, part, base, single, tube),
            amount=amount,
            origin=origin,
            target=target,
            coins=coins,
            line=line,
            single=single,
            weight=opened.get((act, item), 0) * amount if (act, None) in opened else amount,
        )

    def _end(self, row: Sequence[Any], sites: dict[int, str]) -> End:
        spot, place, kind, site = row
        if kind == PlaceKind.ENGINE:
            return _ENGINE
        if spot not in self._ends:
            self._ends[spot] = End(place, spot, PlaceKind(kind), sites[site] if site else "")
        return self._ends[spot]


def _lines(walk: Walk) -> dict[tuple[int, int, int], deque[tuple[int, int | None]]]:
    """Act, item, amount → lines of deliveries with their coins; without a total, the share of what the order says."""
    found: dict[tuple[int, int, int], deque[tuple[int, int | None]]] = defaultdict(deque)
    rows = ReceiptLine.objects.filter(walk.after("receipt__act__")).order_by("pk")
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


def _invoices(walk: Walk) -> list[tuple[datetime, int, Invoice]]:
    found = invoices(walk.as_of).filter(walk.later() | walk.later("line__receipt__act__"))
    return [(at, act, one) for at, act, one, key in _placed(found) if walk.keys is None or key in walk.keys]


def _placed(found: QuerySet[InvoiceTotal]) -> list[tuple[datetime, int, Invoice, Key]]:
    """Where each stands among the acts, with its key: one that is older than its delivery counts from the delivery on."""
    rows = found.values_list(
        "act_id", "act__occurred_at", "line_id", "coins", "line__receipt_id", "line__receipt__act__occurred_at",
        *(f"line__{name}" for name in OF_ITEM),
    )  # fmt: skip
    return sorted(
        (
            (max(at, came_at), max(act, came) if at <= came_at else act, Invoice(act, line, coins), key_of(*item))
            for act, at, line, coins, came, came_at, *item in rows
        ),
        key=itemgetter(0, 1),
    )


def _taken_over(walk: Walk) -> dict[int, int]:
    """Movement → coins that a table of stock or of sets states for it."""
    said: dict[tuple[int, str, str, int], deque[int]] = defaultdict(deque)
    rows = ImportRow.objects.filter(
        walk.after("file__booked__act__"),
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


def _openings(walk: Walk) -> dict[tuple[int, int | None], Fraction]:
    """Act and item → what a kit's content weighs in its cost: its catalogue price on that day, as the act kept it, by its amount.

    A kit of which no content has a price is split by pieces: it is left out here.
    """
    found: dict[tuple[int, int | None], Fraction] = {}
    rows = Outcome.objects.filter(walk.after(), act__kind="open kit")
    for act, body in rows.values_list("act_id", "body").iterator(chunk_size=_BATCH):
        priced = [one for one in body["contents"] if one.get("price_coins")]
        for one in priced:
            found[act, one["item"]] = Fraction(one["price_coins"])
        if priced:
            found[act, None] = Fraction(0)
    return found


def lines_before(walk: Walk) -> list[tuple[int, Key, int, int | None]]:
    """Lines of deliveries from before the walk that it has an invoice for: line, key, amount and coins as they counted. Two queries."""
    if walk.since is None:
        return []
    then = walk.as_of.before(walk.since)
    rows = (
        ReceiptLine.objects.filter(
            pk__in=invoices(walk.as_of).filter(walk.later()).values("line"), receipt__act__occurred_at__lte=walk.since
        )
        .order_by("pk")
        .values_list(
            "pk", *OF_ITEM, "amount", "total_coins",
            "order_line__total_coins", "order_line__amount",
        )
    )  # fmt: skip
    told = [row for row in rows if walk.keys is None or key_of(*row[1:6]) in walk.keys]
    charged = {
        one.line: one.coins for _, _, one, _ in _placed(invoices(then).filter(line__in=[row[0] for row in told]))
    }
    return [(line, key_of(*row[:5]), row[5], charged.get(line, expected(*row[5:]) or None)) for line, *row in told]


def with_what_feeds(keys: Iterable[Key], walk: Walk) -> frozenset[Key]:
    """These keys, and all that their cost may come from by the conversions of the walk. Two queries."""
    apart = [*Spot.objects.filter(place__kind=PlaceKind.CONVERSION.value).values_list("pk", flat=True)]
    rows = Movement.objects.filter(walk.after(), Q(from_spot__in=apart) | Q(to_spot__in=apart))
    acts: dict[int, tuple[set[Key], set[Key]]] = defaultdict(lambda: (set(), set()))
    for act, into, *item in rows.values_list("act_id", "to_spot_id", *OF_ITEM).iterator(chunk_size=_BATCH):
        acts[act][into in apart].add(key_of(*item))
        walk.part_of[item[0]] = item[1]
    return frozenset(all_that_feed(keys, [*acts.values()]))
