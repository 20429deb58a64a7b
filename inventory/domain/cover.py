"""The cheapest way to cover a need by kits, packs and single parts, exactly.

A cover takes each offer a whole number of times, no more often than it is there, and gives at least what is needed. Left
over is what it gives beyond that; a value may be put on it. Only covers from which nothing can be taken away are compared:
a pack that is cheaper than its own leftovers would else be taken without end. So the least of

    sum of price × taken − sum of value × left over,  which is  sum of (price − value of its contents) × taken + constant.

Of equally cheap covers the one with fewer pieces to handle is taken, then the one whose offers come first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .errors import DomainError

#: Offers, times each may be wanted, and needs are few (a kit list); beyond this the search is given up, never a guess made.
STEPS = 200_000


@dataclass(frozen=True, slots=True)
class Offer:
    """Something that can be taken whole: a closed kit, a pack, a single part.

    price_coins   for one; contents: pieces of each part in one (at least 1 each); available: how many there are
    """

    code: str
    price_coins: int
    contents: Mapping[str, int]
    available: int


@dataclass(frozen=True, slots=True)
class Cover:
    """taken: (offer's code, times) in the order of the offers; left: (part, pieces) beyond the need, by part; cost and
    value of what is left, coins (the value may be a fraction)."""

    taken: tuple[tuple[str, int], ...]
    left: tuple[tuple[str, int], ...]
    cost_coins: int
    left_coins: Fraction


def cheapest_cover(
    needs: Mapping[str, int], offers: Sequence[Offer], values: Mapping[str, Fraction] | None = None
) -> Cover:
    """The cheapest cover of `needs` (part → pieces).

    values   what one left-over piece of a part is worth, coins; not named: nothing
    Errors: `cover-impossible` names every part of which all offers together have too few; `cover-unreadable` for negative
    numbers, an empty offer or a code that comes twice; `cover-too-large` if the search would take too long.
    """
    worth = dict(values or {})
    wanted = {part: pieces for part, pieces in needs.items() if pieces}
    _check(needs, offers, worth)
    _must_suffice(wanted, offers)
    useful = [offer for offer in offers if offer.available and wanted.keys() & offer.contents.keys()]
    taken = dict.fromkeys((offer.code for offer in offers), 0)
    for group in _groups(wanted, useful):
        parts = {part for offer in group for part in offer.contents}
        for offer, times in _Search({p: n for p, n in wanted.items() if p in parts}, group, worth).best():
            taken[offer.code] = times
    given: dict[str, int] = {}
    for offer in offers:
        for part, pieces in offer.contents.items():
            given[part] = given.get(part, 0) + pieces * taken[offer.code]
    left = {part: pieces - wanted.get(part, 0) for part, pieces in given.items() if pieces > wanted.get(part, 0)}
    return Cover(
        tuple((offer.code, taken[offer.code]) for offer in offers if taken[offer.code]),
        tuple(sorted(left.items())),
        sum(offer.price_coins * taken[offer.code] for offer in offers),
        sum((worth.get(part, Fraction(0)) * pieces for part, pieces in left.items()), Fraction(0)),
    )


def _check(needs: Mapping[str, int], offers: Sequence[Offer], values: Mapping[str, Fraction]) -> None:
    codes = [offer.code for offer in offers]
    bad = [part for part, pieces in needs.items() if pieces < 0]
    bad += [part for part, value in values.items() if value < 0]
    bad += [
        offer.code
        for offer in offers
        if offer.price_coins < 0 or offer.available < 0 or not offer.contents or min(offer.contents.values()) < 1
    ]
    bad += sorted({code for code in codes if codes.count(code) > 1})
    if bad:
        raise DomainError("cover-unreadable", f"Not usable for a cover: {', '.join(bad)}.", bad=bad)


def _must_suffice(wanted: Mapping[str, int], offers: Sequence[Offer]) -> None:
    missing = {
        part: pieces - there
        for part, pieces in wanted.items()
        if (there := sum(offer.contents.get(part, 0) * offer.available for offer in offers)) < pieces
    }
    if missing:
        said = ", ".join(f"{pieces} of {part}" for part, pieces in sorted(missing.items()))
        raise DomainError("cover-impossible", f"Nothing at hand covers it: {said} missing.", missing=missing)


def _groups(wanted: Mapping[str, int], offers: Sequence[Offer]) -> list[list[Offer]]:
    """Offers that share a wanted part, over any number of steps: each group is a question of its own."""
    groups: list[tuple[set[str], list[Offer]]] = []
    for offer in offers:
        parts = offer.contents.keys() & wanted.keys()
        joined = [one for one in groups if one[0] & parts]
        groups = [one for one in groups if not one[0] & parts]
        groups.append((set(parts).union(*(one[0] for one in joined)), [*(o for one in joined for o in one[1]), offer]))
    order = {id(offer): at for at, offer in enumerate(offers)}
    return [sorted(group, key=lambda offer: order[id(offer)]) for _, group in groups]


class _Search:
    """Every number of each offer in turn, most first, cut off where what is certain already costs more than the best."""

    def __init__(self, wanted: Mapping[str, int], offers: Sequence[Offer], values: Mapping[str, Fraction]) -> None:
        self.parts = list(wanted)
        self.wanted = [wanted[part] for part in self.parts]
        # Big boxes first: what they leave open is soon filled by single parts, and the first cover found is a good one.
        self.offers = sorted(offers, key=lambda offer: -sum(offer.contents.values()))
        self.given = [[offer.contents.get(part, 0) for part in self.parts] for offer in self.offers]
        self.net = [
            offer.price_coins - sum((values.get(p, Fraction(0)) * n for p, n in offer.contents.items()), Fraction(0))
            for offer in self.offers
        ]
        self.most = [
            min(offer.available, max(-(-need // has) for need, has in zip(self.wanted, gives, strict=True) if has))
            for offer, gives in zip(self.offers, self.given, strict=True)
        ]
        # What the offers from an index on can still take off, if they are worth more than they cost.
        self.gain = [Fraction(0)] * (len(self.offers) + 1)
        for at in range(len(self.offers) - 1, -1, -1):
            self.gain[at] = self.gain[at + 1] + min(self.net[at], Fraction(0)) * self.most[at]
        self.rest = self._rest()
        self.steps = 0
        self.found: tuple[Fraction, int, tuple[int, ...]] | None = None

    def _rest(self) -> list[list[int]]:
        """For each index: how much of each part the offers from there on can still give."""
        rest = [[0] * len(self.parts)]
        for gives, most in zip(reversed(self.given), reversed(self.most), strict=True):
            rest.append([before + has * most for before, has in zip(rest[-1], gives, strict=True)])
        return rest[::-1]

    def best(self) -> list[tuple[Offer, int]]:
        """The cheapest cover of this group: (offer, times)."""
        self._from(0, [], list(self.wanted), Fraction(0))
        assert self.found is not None, "what suffices in all can be covered"
        return [(offer, -times) for offer, times in zip(self.offers, self.found[2], strict=True)]

    def _from(self, at: int, taken: list[int], open_: list[int], cost: Fraction) -> None:
        self.steps += 1
        if self.steps > STEPS:
            raise DomainError("cover-too-large", "Too many kits and parts compete to find the cheapest cover.")
        if any(need > there for need, there in zip(open_, self.rest[at], strict=True)):
            return
        if self.found and cost + self.gain[at] + self._certain(at, open_) > self.found[0]:
            return
        if at == len(self.offers):
            if not self._spare(taken, open_):
                mine = (cost, sum(taken), tuple(-times for times in taken))
                self.found = mine if self.found is None else min(self.found, mine)
            return
        useful = max((-(-need // has) for need, has in zip(open_, self.given[at], strict=True) if has), default=0)
        for times in range(min(self.most[at], max(useful, 0)), -1, -1):
            still = [need - has * times for need, has in zip(open_, self.given[at], strict=True)]
            self._from(at + 1, [*taken, times], still, cost + self.net[at] * times)

    def _certain(self, at: int, open_: Sequence[int]) -> Fraction:
        """The least that the most expensive open part will cost, each piece at the best rate that is left."""
        dearest = Fraction(0)
        for index, need in enumerate(open_):
            if need > 0:
                rates = [
                    max(self.net[one], Fraction(0)) / self.given[one][index]
                    for one in range(at, len(self.offers))
                    if self.given[one][index]
                ]
                dearest = max(dearest, min(rates) * need)
        return dearest

    def _spare(self, taken: Sequence[int], open_: Sequence[int]) -> bool:
        """True if one of what was taken could be left away; `open_` is what is missing, negative what is over."""
        return any(
            times and all(need + has <= 0 for need, has in zip(open_, gives, strict=True) if has)
            for times, gives in zip(taken, self.given, strict=True)
        )
