"""What stock is worth and what jobs cost, from the movements in their order. Pure; whole coins, and they add up to the coin.

A thing with a number of its own (a serial, a set or its member, an opened tube) has its own cost; everything else is taken from its part's
pool by moving average or first in first out (as IAS 2 allows, from memory; last in first out it does not). Shelves, carts, the van,
quarantine and crates are stock; a bench, and work outside, is the job's. A job is charged when a thing comes to its bench and credited
at the same cost when it comes back (common practice: at issue), and so is a sale at the counter; what the workshop uses is an expense. What comes out of an engine or from an owner is worth nothing here.

What comes in without a cost, or for nothing, is in suspense: it is issued last, at nothing, until its invoice is entered. An invoice never
changes what was issued: its difference goes to what is on hand of the delivery, and the rest is a price difference.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from inventory.domain.cost_pools import Method, Pool, Taken
from inventory.domain.money import split_total
from inventory.domain.places import PlaceKind

Key = Hashable
STOCK = frozenset({PlaceKind.SHELF, PlaceKind.CART, PlaceKind.VAN, PlaceKind.QUARANTINE, PlaceKind.CRATE})
OF_JOBS = frozenset({PlaceKind.BENCH, PlaceKind.OUTSIDE})
#: What comes from there comes back: it has the cost at which it went.
_COMES_BACK = OF_JOBS | {PlaceKind.SOLD}
#: What came out of an engine may lie here; to the other places of stock it never goes.
_MAY_BE_OLD = frozenset({PlaceKind.QUARANTINE, PlaceKind.CRATE, PlaceKind.VAN})
_WORTH_NOTHING = frozenset({PlaceKind.ENGINE, PlaceKind.OWNER, PlaceKind.BEFORE_RECORDS, PlaceKind.SCRAP})


@dataclass(frozen=True, slots=True)
class End:
    """One end of a movement: place and spot by id, the kind of place, the site's code."""

    place: int
    spot: int
    kind: PlaceKind
    site: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """So much of an item went from one end to the other.

    key     whose cost it has: the item's own, or its part's pool; single: a thing there is one of
    coins   what it cost where that is known (a delivery, stock taken over); None: not known
    line    the delivery's line; weight: its share of what an act of conversion carries over
    """

    act: int
    item: int
    key: Key
    amount: int
    origin: End
    target: End
    coins: int | None = None
    line: int | None = None
    single: bool = False
    weight: Fraction | int = 1


@dataclass(frozen=True, slots=True)
class Invoice:
    """What the supplier charged for a whole line of a delivery; the newest counts."""

    act: int
    line: int
    coins: int


@dataclass(frozen=True, slots=True)
class Entry:
    """Coins that changed hands with a movement; `unknown` of the amount were in suspense, `old` were worth nothing."""

    act: int
    item: int
    amount: int
    coins: int
    unknown: int
    old: int
    origin: End
    target: End


@dataclass(frozen=True, slots=True)
class Difference:
    """An invoice: `on_hand` of its difference went to what was still there, `gone` is the price difference of the rest."""

    act: int
    line: int
    was: int | None
    coins: int
    on_hand: int
    gone: int


@dataclass(frozen=True, slots=True)
class Worth:
    """What there is of one key: amount and coins, by site; `unknown` of the amount is in suspense and in no coins."""

    amount: int
    coins: int
    unknown: int
    by_site: dict[str, tuple[int, int]]

    @property
    def each(self) -> Fraction | None:
        """Coins for one base unit, exact; None where nothing has a cost."""
        costed = self.amount - self.unknown
        return Fraction(self.coins, costed) if costed > 0 else None


@dataclass(slots=True)
class _Line:
    key: Key
    amount: int
    coins: int | None


@dataclass(slots=True)
class Books:
    """The value of everything after the steps so far. `came_in` + `counted_over` = stock + at jobs + `gone` + `difference`.

    noted  whose `entries` are kept: those from and to these places, by id; None: all
    """

    method: Method
    noted: frozenset[int] | None = None
    came_in: int = 0
    counted_over: int = 0
    difference: int = 0
    gone: dict[PlaceKind, int] = field(default_factory=lambda: defaultdict(int))
    entries: list[Entry] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    stock: dict[Key, Pool] = field(default_factory=dict)
    jobs: dict[tuple[int, int, int], Pool] = field(default_factory=dict)
    old: dict[tuple[int, int], int] = field(default_factory=dict)
    there: dict[Key, dict[str, int]] = field(default_factory=dict)
    _lines: dict[int, _Line] = field(default_factory=dict)
    sold: dict[int, Pool] = field(default_factory=dict)
    counted_short: dict[int, Taken] = field(default_factory=dict)

    def do(self, steps: Sequence[Step]) -> None:
        """All steps of one act, in their order."""
        pot: list[tuple[Taken, int]] = []
        shares: list[tuple[Taken, int]] | None = None
        for step in steps:
            if step.origin.kind is PlaceKind.CONVERSION:
                if shares is None:
                    shares = _shared(pot, [one for one in steps if one.origin.kind is PlaceKind.CONVERSION])
                taken, old = shares.pop(0)
            else:
                taken, old = self._out(step)
            if step.target.kind is PlaceKind.CONVERSION:
                pot.append((taken, old))
            else:
                self._in(step, taken, old)
            self._note(step, taken, old)

    def invoice(self, given: Invoice) -> Difference:
        """Take in what was charged; KeyError for a line that never came."""
        line = self._lines[given.line]
        more = given.coins - (line.coins or 0)
        pool = self.stock.get(line.key)
        share = pool.charge(given.line, line.amount, more) if pool else 0
        said = Difference(given.act, given.line, line.coins, given.coins, share, more - share)
        line.coins = given.coins
        self.came_in += more
        self.difference += more - share
        self.differences.append(said)
        return said

    def worth(self) -> dict[Key, Worth]:
        """What is in stock of each key, of what has any value or is in suspense."""
        found = {}
        for key, everywhere in self.there.items():
            sites = {site: amount for site, amount in sorted(everywhere.items()) if amount > 0}
            if not sites:
                continue
            pool = self.stock.get(key) or Pool(self.method)
            coins = split_total(pool.coins, list(sites.values()))
            by_site = {site: (amount, share) for (site, amount), share in zip(sites.items(), coins, strict=True)}
            found[key] = Worth(sum(sites.values()), pool.coins, pool.unknown, by_site)
        return found

    @property
    def in_stock(self) -> int:
        """Coins of all stock."""
        return sum(pool.coins for pool in self.stock.values())

    @property
    def at_jobs(self) -> int:
        """Coins of what lies at benches and outside."""
        return sum(pool.coins for pool in self.jobs.values())

    def knows(self, line: int, key: Key, amount: int, coins: int | None) -> None:
        """A line of a delivery from before the steps, and what it counts as: an invoice for it may follow."""
        self._lines[line] = _Line(key, amount, coins)

    def _out(self, step: Step) -> tuple[Taken, int]:
        """What the amount brings along, and how many of it are worth nothing."""
        origin = step.origin
        if origin.kind in STOCK or origin.kind in OF_JOBS:
            old = self._old_out(step)
            pool = self._pool(step, origin)
            if origin.kind in STOCK:
                self._stands(step.key, origin.site, old - step.amount)
                if step.target.kind in STOCK:
                    return Taken(0, step.amount - old), old  # the pool knows no places
            taken = pool.take(step.amount - old)
            if pool.empty:
                self._forget(step, origin)
            return taken, old
        if origin.kind in _WORTH_NOTHING:
            return Taken(), step.amount
        if origin.kind is PlaceKind.SOLD:
            taken = self.sold.setdefault(step.item, Pool(Method.AVERAGE)).take(step.amount)
            self.gone[PlaceKind.SOLD] -= taken.coins
            return taken, 0
        if origin.kind is PlaceKind.COUNT_DIFFERENCE:
            return self._counted_over(step), 0
        coins = step.coins or None
        if step.line is not None:
            self._lines[step.line] = _Line(step.key, step.amount, coins)
        return self._brought(step, coins), 0

    def _brought(self, step: Step, coins: int | None) -> Taken:
        self.came_in += coins or 0
        if coins is None:
            return Taken(unknown=((step.line, step.amount),))
        return Taken(coins, step.amount, line=step.line)

    def _counted_over(self, step: Step) -> Taken:
        """Stock that was taken over has its stated cost; a single thing what it went with; the rest what one costs now."""
        if step.coins is not None:
            return self._brought(step, step.coins or None)
        taken = self.counted_short.pop(step.item, None) if step.single else None
        if taken is None:
            pool = self._pool(step, step.target) if step.target.kind in STOCK | OF_JOBS else None
            each = pool.each if pool else None
            if each is None:
                return Taken(unknown=((None, step.amount),))
            taken = Taken(_nearest(each * step.amount), step.amount)
        self.counted_over += taken.coins
        return taken

    def _in(self, step: Step, taken: Taken, old: int) -> None:
        target = step.target
        if target.kind in STOCK or target.kind in OF_JOBS:
            if old:
                self.old[target.spot, step.item] = self.old.get((target.spot, step.item), 0) + old
            if target.kind in STOCK:
                self._stands(step.key, target.site, step.amount - old)
                if step.origin.kind in STOCK:
                    return
            self.difference += self._pool(step, target).put(taken, back=step.origin.kind in _COMES_BACK)
            return
        self.gone[target.kind] += taken.coins
        if target.kind is PlaceKind.SOLD:
            lost = self.sold.setdefault(step.item, Pool(Method.AVERAGE)).put(taken)
            self.difference, self.gone[target.kind] = self.difference + lost, self.gone[target.kind] - lost
        if target.kind is PlaceKind.COUNT_DIFFERENCE and step.single and not old:
            self.counted_short[step.item] = taken

    def _old_out(self, step: Step) -> int:
        """How many of what leaves came out of an engine: old ones leave first, but into an engine and onto a shelf they go last."""
        here = self.old.get((step.origin.spot, step.item), 0)
        if not here:
            return 0
        to = step.target.kind
        if to is PlaceKind.ENGINE or (to in STOCK and to not in _MAY_BE_OLD):
            pool = self._pool(step, step.origin)
            free = max(0, pool.amount if step.origin.kind in OF_JOBS else step.amount)
            old = min(here, max(0, step.amount - free))
        else:
            old = min(here, step.amount)
        self.old[step.origin.spot, step.item] -= old
        if old == here:
            del self.old[step.origin.spot, step.item]
        return old

    def _pool(self, step: Step, end: End) -> Pool:
        if end.kind in STOCK:
            return self.stock.setdefault(step.key, Pool(self.method))
        return self.jobs.setdefault(_at_job(step, end), Pool(Method.AVERAGE))

    def _stands(self, key: Key, site: str, more: int) -> None:
        """So many more (or fewer) of a key stand at a site; where none do, nothing is kept."""
        sites = self.there.setdefault(key, {})
        sites[site] = sites.get(site, 0) + more
        if not sites[site]:
            del sites[site]
            if not sites:
                del self.there[key]

    def _forget(self, step: Step, end: End) -> None:
        """A pool with nothing in it is not kept: there would be one for all that ever came."""
        if end.kind in STOCK:
            del self.stock[step.key]
        else:
            del self.jobs[_at_job(step, end)]

    def _note(self, step: Step, taken: Taken, old: int) -> None:
        if step.origin.kind in STOCK and step.target.kind in STOCK:
            return
        if self.noted is not None and not self.noted & {step.origin.place, step.target.place}:
            return
        unknown = sum(amount for _, amount in taken.unknown)
        self.entries.append(
            Entry(step.act, step.item, step.amount, taken.coins, unknown, old, step.origin, step.target)
        )


def _at_job(step: Step, end: End) -> tuple[int, int, int]:
    """Several orders of one item on a job are one to it: what comes back has the average of what it was charged."""
    return end.place, end.spot if end.kind is PlaceKind.OUTSIDE else 0, step.item


def _shared(pot: Sequence[tuple[Taken, int]], steps: Sequence[Step]) -> list[tuple[Taken, int]]:
    """What went into a conversion over what came out of it, to the coin, by largest remainder."""
    coins = sum(taken.coins for taken, _ in pot)
    weights = [Fraction(step.weight) for step in steps]
    if not any(weights):
        weights = [Fraction(step.amount) for step in steps]
    shares = split_total(coins, weights)
    if pot and all(not taken.costed and not taken.unknown for taken, _ in pot):
        return [(Taken(), step.amount) for step in steps]
    if coins == 0 and any(taken.unknown for taken, _ in pot):
        return [(Taken(unknown=((None, step.amount),)), 0) for step in steps]
    return [(Taken(share, step.amount), 0) for share, step in zip(shares, steps, strict=True)]


def _nearest(coins: Fraction) -> int:
    """Half a coin goes up."""
    return (2 * coins.numerator + coins.denominator) // (2 * coins.denominator)


def valued(method: Method, acts: Iterable[Sequence[Step] | Invoice], noted: frozenset[int] | None = None) -> Books:
    """The books after all of it; each act's steps together, in the order in which they happened."""
    return gone_on(Books(method, noted), acts)


def gone_on(books: Books, acts: Iterable[Sequence[Step] | Invoice]) -> Books:
    """The same books, after this too."""
    for one in acts:
        if isinstance(one, Invoice):
            books.invoice(one)
        else:
            books.do(one)
    return books
