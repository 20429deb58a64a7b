"""Stock value carried forward: the books of a moment in plain values, part by part, so that a later walk goes on from there. Pure.

What is left out is what is as good as never touched: pools with nothing in them, nothing of an item at a spot. The rest is kept to the
coin and in its order, so going on from it comes to the same as going over everything once more.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import astuple
from typing import Any

from inventory.domain.cost_pools import Method, Pool, Taken
from inventory.domain.places import PlaceKind
from inventory.domain.valuation import Books, Difference

#: What one part has: pools of stock with where they lie, pools at jobs, what came out of engines, what was sold, what was counted short.
OfPart = dict[str, list[Any]]
#: Part → what it has; parts that have nothing are left out.
Kept = dict[int, OfPart]
Sums = dict[str, Any]


def parts_of(books: Books, part_of: Mapping[int, int]) -> Kept:
    """Part → everything the books have of it, JSON-ready.

    part_of  item → part, of every item that is told apart, lies at a job, came out of an engine, was sold or counted short. Keys are
    ("item", item) and ("part", part, base).
    """
    found: dict[int, OfPart] = defaultdict(lambda: defaultdict(list))
    for key in sorted(books.stock.keys() | books.there.keys(), key=repr):
        assert isinstance(key, tuple)
        pool = books.stock.get(key)
        sites = sorted([site, amount] for site, amount in books.there.get(key, {}).items())
        if sites or (pool and not pool.empty):
            part = part_of[key[1]] if key[0] == "item" else key[1]
            found[part]["stock"].append([list(key), sites, (pool or Pool(books.method)).packed()])
    for (place, spot, item), pool in sorted(books.jobs.items()):
        if not pool.empty:
            found[part_of[item]]["jobs"].append([place, spot, item, pool.packed()])
    for (spot, item), amount in sorted(books.old.items()):
        found[part_of[item]]["old"].append([spot, item, amount])
    for item, pool in sorted(books.sold.items()):
        if not pool.empty:
            found[part_of[item]]["sold"].append([item, pool.packed()])
    for item, taken in sorted(books.counted_short.items()):
        unknown = [list(one) for one in taken.unknown]
        found[part_of[item]]["short"].append([item, taken.coins, taken.costed, unknown, taken.line])
    return {part: dict(kept) for part, kept in found.items()}


def changed(then: Kept, now: Kept) -> list[int]:
    """Parts that do not have now what they had then."""
    return sorted(part for part in then.keys() | now.keys() if then.get(part) != now.get(part))


def items_in(kept: OfPart) -> set[int]:
    """Items that one part's state names."""
    told_apart = {key[1] for key, _, _ in kept.get("stock", ()) if key[0] == "item"}
    at_jobs = {item for _, _, item, _ in kept.get("jobs", ())} | {item for _, item, _ in kept.get("old", ())}
    return told_apart | at_jobs | {one[0] for name in ("sold", "short") for one in kept.get(name, ())}


def sums_of(books: Books) -> Sums:
    """What the books have beside the parts, JSON-ready."""
    gone = {kind.value: coins for kind, coins in sorted(books.gone.items()) if coins}
    return {
        "came_in": books.came_in,
        "counted_over": books.counted_over,
        "difference": books.difference,
        "gone": gone,
        "in_stock": books.in_stock,
        "at_jobs": books.at_jobs,
    }


def differences_of(books: Books) -> list[list[Any]]:
    """What invoices came to since the books were begun, or gone on with."""
    return [list(astuple(one)) for one in books.differences]


def as_differences(kept: Iterable[Sequence[Any]]) -> list[Difference]:
    """The other way."""
    return [Difference(*one) for one in kept]


def books_with(method: Method, sums: Sums, parts: Iterable[OfPart], noted: frozenset[int] | None = None) -> Books:
    """The books with these parts in them, to go on from; of no others than these may there be steps."""
    books = Books(method, noted, sums["came_in"], sums["counted_over"], sums["difference"])
    books.gone |= {PlaceKind(kind): coins for kind, coins in sums["gone"].items()}
    for kept in parts:
        for key, sites, pool in kept.get("stock", ()):
            books.stock[tuple(key)] = Pool.unpacked(method, pool)
            if sites:
                books.there[tuple(key)] = dict(sites)
        for place, spot, item, pool in kept.get("jobs", ()):
            books.jobs[place, spot, item] = Pool.unpacked(Method.AVERAGE, pool)
        for spot, item, amount in kept.get("old", ()):
            books.old[spot, item] = amount
        for item, pool in kept.get("sold", ()):
            books.sold[item] = Pool.unpacked(Method.AVERAGE, pool)
        for item, coins, costed, unknown, line in kept.get("short", ()):
            books.counted_short[item] = Taken(coins, costed, tuple((its, amount) for its, amount in unknown), line)
    return books


def all_that_feed(keys: Iterable[Hashable], conversions: Sequence[tuple[set[Any], set[Any]]]) -> set[Any]:
    """These keys, and every one that their cost may come from: what went into a conversion out of which one of them came, and so on.

    conversions  of each act: the keys that came out, and those that went in. With a key comes all that came out beside it, for they
    share one cost.
    """
    found, left = set(keys), list(conversions)
    while more := [one for one in left if one[0] & found]:
        found |= set().union(*(out | into for out, into in more))
        left = [one for one in left if one not in more]
    return found


def newest_good(counted: Sequence[int], count: Callable[[int], int]) -> int | None:
    """Which of the moments, oldest first, is the last before which nothing was entered since; None for none.

    counted   of each, how many acts there were up to then when it was carried forward; `count(at)`: how many there are now. Acts are
    never removed, so as many means the same ones; and what is entered before one of them is before all that follow: halving finds it.
    """
    at = bisect_left(range(len(counted)), 1, key=lambda one: int(count(one) != counted[one]))
    return at - 1 if at else None
