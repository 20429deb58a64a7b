"""Which numbers to issue for one engine or bank: one family only where kinds may not be mixed, old stock first, fewest lots.

Call `choose` for the engine. Where the notice forbids mixing (`mix_scope`) on one bank only, `choose_by_place` gives each bank one family. What must go together (gasket and its bolts) is decided by the either/or groups of the procedure.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from inventory.domain.errors import DomainError
from inventory.domain.supersession import BothWays, Link, Route, Unread, routes

_MOST_TRIES = 20_000


@dataclass(frozen=True, slots=True)
class Choice:
    """What to issue: (part, pieces) in order of preference. `conditions` are sentences of the notices for a person to look at."""

    issue: tuple[tuple[str, int], ...]
    because: tuple[str, ...]
    conditions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shortfall:
    """No family serves the whole quantity. `short` is what the best one lacks, in asked pieces; `families` says it for each."""

    part: str
    short: int
    families: tuple[tuple[tuple[str, ...], int], ...]
    because: tuple[str, ...]


class Families:
    """Who may not be mixed with whom.

    Parts joined by links that allow mixing are one family. Two families that are joined by a link which forbids it never meet on
    one engine or bank, nor do families joined over a third: "one family supplies all".
    """

    def __init__(self, links: Iterable[Link]) -> None:
        self._mixable: dict[str, str] = {}
        self._joined: dict[str, str] = {}
        self._apart: set[tuple[str, str]] = set()
        self._scopes: list[tuple[str, str]] = []
        bars: list[tuple[str, str]] = []
        for link in links:
            if isinstance(link, Unread):
                continue
            old, news = (link.a, [link.b]) if isinstance(link, BothWays) else (link.old, [new for new, _ in link.limbs])
            if len(news) == 1:
                self._union(self._joined, old, news[0])
                if not link.no_mix_on:
                    self._union(self._mixable, old, news[0])
            elif link.no_mix_on:
                bars += [(old, new) for new in news]
            if link.no_mix_on:
                self._scopes += [(part, link.no_mix_on) for part in (old, *news)]
        for old, new in bars:
            one, other = self.family(old), self.family(new)
            self._apart |= {(one, other), (other, one)}

    @staticmethod
    def _find(root: dict[str, str], part: str) -> str:
        while root.get(part, part) != part:
            part = root[part]
        return part

    def _union(self, root: dict[str, str], a: str, b: str) -> None:
        one, other = sorted((self._find(root, a), self._find(root, b)))
        root[other] = one

    def family(self, part: str) -> str:
        """The name of the part's family: the first of its numbers."""
        return self._find(self._mixable, part)

    def apart(self, a: str, b: str) -> bool:
        """True when the two may not be on one engine or bank."""
        one, other = self.family(a), self.family(b)
        if one == other:
            return False
        return self._find(self._joined, a) == self._find(self._joined, b) or (one, other) in self._apart

    def scope(self, part: str) -> str:
        """The widest place on which the part's web forbids mixing: "engine", "bank", or "" where it may be mixed."""
        web = self._find(self._joined, part)
        places = {place for other, place in self._scopes if self._find(self._joined, other) == web or other == part}
        return "engine" if "engine" in places else "bank" if places else ""


def mix_scope(part: str, links: Iterable[Link]) -> str:
    """ "engine", "bank", or "": for which place `choose` has to be called for this part."""
    return Families(links).scope(part)


def mixed(amounts: Mapping[str, int], links: Iterable[Link]) -> tuple[tuple[tuple[str, int], ...], ...]:
    """Numbers of a finished list (or of an engine) that may not be mixed, with the totals of each: () when all is well.

    amounts  pieces by part on one engine or bank. Each conflict is ((part, pieces), (part, pieces)), sorted.
    """
    families, parts = Families(links), sorted(part for part, pieces in amounts.items() if pieces)
    return tuple(
        ((a, amounts[a]), (b, amounts[b]))
        for at, a in enumerate(parts)
        for b in parts[at + 1 :]
        if families.apart(a, b)
    )


def choose(
    part: str,
    quantity: int,
    links: Sequence[Link],
    stock: Mapping[str, int],
    *,
    may_use: Callable[[str], bool] = lambda part: True,
    fits: Callable[[str], bool] = lambda key: False,
    already: Collection[str] = (),
) -> Choice | Shortfall:
    """Serve `quantity` of `part` from `stock`; `already` are numbers that sit on the engine or bank.

    Order of wishes: most old stock used up where it is valid, then the largest stock first (so the fewest lots), then the newest
    number, then by number. Amounts are rounded up once for each part. `may_use` and `fits` as in `routes`.
    Errors: `allocation-unreadable` for a negative quantity; `replacement-too-wide`.
    """
    if quantity < 0:
        raise DomainError("allocation-unreadable", f"{quantity} of {part!r} is less than nothing.", part=part)
    if quantity == 0:
        return Choice((), (), ())
    choices, reach = _by_camp(part, quantity, links, stock, may_use, fits, already)
    return choices[0] if choices else _shortfall(part, quantity, reach)


def choose_by_place(
    part: str,
    pieces: Mapping[str, int],
    links: Sequence[Link],
    stock: Mapping[str, int],
    already: Mapping[str, Collection[str]],
    *,
    may_use: Callable[[str], bool] = lambda part: True,
    fits: Callable[[str], bool] = lambda key: False,
) -> dict[str, Choice]:
    """Serve each place (bank) by one family, another place by another where that serves more of them: place → choice, piece for piece.

    pieces, already   by place, as in `choose`
    As many places as can be served whole, the first ones rather than the last; where the stock of the asked number is enough for a place it
    stays with that. A place that nothing serves whole is left out. Exact where one piece goes for one.
    """
    families = Families(links)

    def options(place: str, left: Mapping[str, int]) -> Iterator[Choice]:
        wanted = pieces[place]
        alone = not any(families.apart(part, other) for other in already.get(place, ()))
        if alone and may_use(part) and left.get(part, 0) >= wanted:
            yield Choice(((part, wanted),), (), ())
        for choice in _by_camp(part, wanted, links, left, may_use, fits, already.get(place, ()))[0]:
            if sum(count for _, count in choice.issue) == wanted:
                yield choice

    def best(places: Sequence[str], left: Mapping[str, int]) -> dict[str, Choice]:
        if not places:
            return {}
        found: dict[str, Choice] = {}
        for choice in options(places[0], left):
            rest = {number: count - dict(choice.issue).get(number, 0) for number, count in left.items()}
            served = {places[0]: choice} | best(places[1:], rest)
            found = served if len(served) > len(found) else found
            if len(found) == len(places):
                return found
        without = best(places[1:], left)
        return without if len(without) > len(found) else found

    return best([place for place, count in pieces.items() if count], stock)


def _by_camp(
    part: str,
    quantity: int,
    links: Sequence[Link],
    stock: Mapping[str, int],
    may_use: Callable[[str], bool],
    fits: Callable[[str], bool],
    already: Collection[str],
) -> tuple[list[Choice], dict[tuple[str, ...], int]]:
    """What each set of numbers that may be together serves whole, in order of preference; how much each serves."""
    families = Families(links)
    ways = routes(part, quantity, links, stock, may_use=may_use, fits=fits)
    ways = [way for way in ways if not any(families.apart(leaf, here) for leaf, _ in way.leaves for here in already)]
    leaves = sorted({leaf for way in ways for leaf, _ in way.leaves})
    ranked: list[tuple[tuple[int, Fraction, int, tuple[tuple[str, int], ...]], Choice]] = []
    reach: dict[tuple[str, ...], int] = {}
    camps = set(_camps(leaves, families))
    for camp in sorted(camp for camp in camps if not any(set(camp) < set(other) for other in camps)):
        mine = _in_order([way for way in ways if {leaf for leaf, _ in way.leaves} <= set(camp)], stock)
        used = _cover(mine, quantity, stock)
        served = sum(units for _, units in used)
        reach[camp] = served
        if served == quantity:
            choice = _choice(used)
            old_units = sum(units for way, units in used if way.old)
            first = used[0][0]
            ranked.append(((-old_units, -_room(first, {}, stock), -first.newness, choice.issue), choice))
    return [choice for _, choice in sorted(ranked, key=lambda one: one[0])], reach


def _camps(parts: list[str], families: Families) -> Iterator[tuple[str, ...]]:
    """Sets of parts that may be together; every largest one is among them."""
    for at, one in enumerate(parts):
        foes = [other for other in parts[at + 1 :] if families.apart(one, other)]
        if foes:
            yield from _camps([part for part in parts if part not in foes], families)
            yield from _camps([part for part in parts if part != one], families)
            return
    yield tuple(parts)


def _room(way: Route, used: Mapping[str, Fraction], stock: Mapping[str, int]) -> Fraction:
    """How many asked pieces the way can still serve, not rounded."""
    return min((stock.get(leaf, 0) - used.get(leaf, Fraction(0))) / ratio for leaf, ratio in way.leaves)


def _in_order(ways: list[Route], stock: Mapping[str, int]) -> list[Route]:
    return sorted(ways, key=lambda way: (not way.old, -_room(way, {}, stock), -way.newness, way.leaves))


def _cover(ways: Sequence[Route], quantity: int, stock: Mapping[str, int]) -> list[tuple[Route, int]]:
    """(way, asked pieces) in order of preference, each as many as it can; all of `quantity` whenever that is possible at all."""
    taken = _greedy(ways, quantity, stock)
    shared = len({leaf for way in ways for leaf, _ in way.leaves}) < sum(len(way.leaves) for way in ways)
    if shared and sum(units for _, units in taken) < quantity:
        # Ways that want the same part can stand in each other's way: look at all amounts before saying that it is short.
        found = _search(ways, quantity, {}, stock, [_MOST_TRIES])
        return taken if found is None else found
    return taken


def _greedy(ways: Sequence[Route], quantity: int, stock: Mapping[str, int]) -> list[tuple[Route, int]]:
    used: dict[str, Fraction] = {}
    taken = []
    for way in ways:
        units = min(quantity, max(0, _room(way, used, stock).__floor__()))
        if units:
            used = _with(used, way, units)
            taken.append((way, units))
            quantity -= units
    return taken


def _with(used: Mapping[str, Fraction], way: Route, units: int) -> dict[str, Fraction]:
    return {**used, **{leaf: used.get(leaf, Fraction(0)) + ratio * units for leaf, ratio in way.leaves}}


def _search(
    ways: Sequence[Route], quantity: int, used: Mapping[str, Fraction], stock: Mapping[str, int], tries: list[int]
) -> list[tuple[Route, int]] | None:
    if not quantity:
        return []
    if sum(max(0, _room(way, used, stock).__floor__()) for way in ways) < quantity:
        return None
    tries[0] -= 1
    if tries[0] < 0:
        raise DomainError("replacement-too-wide", "Too many ways to share the stock between the replacements.")
    way = ways[0]
    for units in range(min(quantity, max(0, _room(way, used, stock).__floor__())), -1, -1):
        rest = _search(ways[1:], quantity - units, _with(used, way, units), stock, tries)
        if rest is not None:
            return [(way, units), *rest] if units else rest
    return None


def _choice(used: Sequence[tuple[Route, int]]) -> Choice:
    amounts: dict[str, Fraction] = {}
    because: dict[str, None] = {}
    conditions: dict[str, None] = {}
    for way, units in used:
        amounts = _with(amounts, way, units)
        because.update(dict.fromkeys(way.because))
        conditions.update(dict.fromkeys(way.conditions))
    issue = tuple((leaf, ceil(amount)) for leaf, amount in amounts.items())
    return Choice(issue, tuple(because), tuple(conditions))


def _shortfall(part: str, quantity: int, reach: Mapping[tuple[str, ...], int]) -> Shortfall:
    known = tuple((camp, quantity - served) for camp, served in reach.items() if camp)
    if not known:
        return Shortfall(part, quantity, (), (f"No number that may be used here serves for {part}.",))
    because = tuple(f"{' with '.join(camp)}: short by {short} of {quantity}" for camp, short in known)
    return Shortfall(part, min(short for _, short in known), known, because)
