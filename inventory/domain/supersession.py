"""Part numbers that replace each other: the links, what is refused, and every route from an asked part to what may be issued.

A one-way link leads from the old number to the new: who asks for the old may get the new, never the other way round. Both-ways
links make classes, any member of which serves. One old number may become several new ones, all of them or none. Ratios are exact
and multiply along the chain; pieces are rounded up once, at the end, for each part issued.

Engine-number conditions are opaque keys here; the caller passes `fits`, which says whether a key holds for the engine at hand.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from itertools import product
from math import ceil

from inventory.domain.errors import DomainError

_RATIO = re.compile(r"(\d{1,6}):(\d{1,6}(?:\+\d{1,6})*)", re.ASCII)
_MOST_ROUTES = 500


class Fate(StrEnum):
    """What becomes of old stock."""

    USE_UP = "use up"
    USE_BELOW = "use only below a number"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class OneWay:
    """`old` is replaced by `new`; one old is `ratio` new.

    old_fits    key of the engines on which the old part may still be used (None: wherever it fitted)
    new_fits    key of the engines on which the new part may replace it (None: all)
    no_mix_on   "engine" or "bank": old and new are never mixed there; "" where they may be
    condition   what the notice says besides, shown to a person
    """

    old: str
    new: str
    ratio: Fraction = Fraction(1)
    fate: Fate = Fate.USE_UP
    old_fits: str | None = None
    new_fits: str | None = None
    no_mix_on: str = ""
    condition: str = ""

    @property
    def limbs(self) -> tuple[tuple[str, Fraction], ...]:
        """The new parts with their ratios, as `OneToSeveral` has them."""
        return ((self.new, self.ratio),)


@dataclass(frozen=True, slots=True)
class OneToSeveral:
    """`old` is replaced by all of `limbs` together, (new part, new pieces for one old), or by none of them. Fields as `OneWay`."""

    old: str
    limbs: tuple[tuple[str, Fraction], ...]
    fate: Fate = Fate.USE_UP
    old_fits: str | None = None
    new_fits: str | None = None
    no_mix_on: str = ""
    condition: str = ""


@dataclass(frozen=True, slots=True)
class BothWays:
    """Either number may be used for the other, one for one. `no_mix_on` and `condition` as in `OneWay`.

    one_number   they are two records of one number
    """

    a: str
    b: str
    no_mix_on: str = ""
    condition: str = ""
    one_number: bool = False


@dataclass(frozen=True, slots=True)
class Unread:
    """A row whose kind is none of the three: kept so that it is reported and not dropped."""

    old: str
    new: str
    kind: str


Directed = OneWay | OneToSeveral
Link = OneWay | OneToSeveral | BothWays | Unread


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with link number `at` (from 0). `refused`: it may not be stored; else a person is asked."""

    at: int
    code: str
    text: str
    refused: bool


@dataclass(frozen=True, slots=True)
class Route:
    """One way to serve the asked quantity.

    leaves    (part, pieces of it for one asked piece), exact, sorted by part
    pieces    (part, whole pieces for the whole quantity), rounded up once for each part
    missing   (part, pieces that the stock lacks): not empty means that the whole route is not available
    old       it issues a number that has been replaced (and may be used up)
    newness   one-way steps from the asked number
    """

    leaves: tuple[tuple[str, Fraction], ...]
    pieces: tuple[tuple[str, int], ...]
    missing: tuple[tuple[str, int], ...]
    old: bool
    newness: int
    because: tuple[str, ...]
    conditions: tuple[str, ...]

    @property
    def available(self) -> bool:
        """True when no limb is short."""
        return not self.missing


def read_ratios(text: str, limbs: int) -> tuple[Fraction, ...]:
    """Read `1:2` (one old becomes two new) or `1:1+1+4` for several limbs. Error: `replacement-ratio`."""
    match = _RATIO.fullmatch(text.strip())
    news = [int(piece) for piece in match[2].split("+")] if match else []
    if match is None or int(match[1]) == 0 or 0 in news or len(news) != limbs:
        raise DomainError(
            "replacement-ratio",
            f"{text.strip()[:40]!r} is no ratio for {limbs} new part(s); write 1:1, 3:1 or 1:1+1+4.",
            typed=text.strip()[:40],
        )
    return tuple(Fraction(new, int(match[1])) for new in news)


def read_link(old: str, new: str, kind: str, quantity: str) -> Link:
    """A row of a printed replacement table, several new parts joined by `+`. Fate and conditions are added by a person.

    Error: `replacement-ratio`. A row of another kind comes back as `Unread`.
    """
    kind = " ".join(kind.split()).lower()
    news = [part.strip() for part in new.split("+")]
    if kind == "both ways" and len(news) == 1:
        if read_ratios(quantity, 1) != (Fraction(1),):
            raise DomainError("replacement-ratio", "Both ways means one for one.", typed=quantity[:40])
        return BothWays(old.strip(), news[0])
    if kind == "one way" and len(news) == 1:
        return OneWay(old.strip(), news[0], read_ratios(quantity, 1)[0])
    if kind == "one to several":
        return OneToSeveral(old.strip(), tuple(zip(news, read_ratios(quantity, len(news)), strict=True)))
    return Unread(old.strip(), new.strip(), kind)


class _Web:
    """The links as a graph: one-way steps, and both-ways neighbours."""

    def __init__(self, links: Iterable[Link] = ()) -> None:
        self.steps: dict[str, list[Directed]] = {}
        self.twins: dict[str, list[str]] = {}
        for link in links:
            self.add(link)

    def add(self, link: Link) -> None:
        if isinstance(link, BothWays):
            self.twins.setdefault(link.a, []).append(link.b)
            self.twins.setdefault(link.b, []).append(link.a)
        elif not isinstance(link, Unread):
            self.steps.setdefault(link.old, []).append(link)

    def alike(self, part: str) -> list[str]:
        """The both-ways class of a part, itself first, then in order of distance."""
        found = {part: None}
        queue = deque(found)
        while queue:
            for twin in self.twins.get(queue.popleft(), ()):
                if twin not in found:
                    found[twin] = None
                    queue.append(twin)
        return list(found)

    def walk(self, start: str, end: str, *, with_step: bool) -> str | None:
        """How `start` leads to `end`, printed with arrows; `with_step`: only if at least one step of it is one-way."""
        came: dict[tuple[str, bool], tuple[tuple[str, bool], str] | None] = {(start, not with_step): None}
        queue = deque(came)
        while queue:
            here = queue.popleft()
            if here == (end, True):
                words, at = end, came[here]
                while at is not None:
                    words = f"{at[0][0]} {at[1]} {words}"
                    at = came[at[0]]
                return words
            ahead = [((twin, here[1]), "↔") for twin in self.twins.get(here[0], ())]
            ahead += [((new, True), "→") for link in self.steps.get(here[0], ()) for new, _ in link.limbs]
            for there, arrow in ahead:
                if there not in came:
                    came[there] = (here, arrow)
                    queue.append(there)
        return None


def check_links(links: Sequence[Link]) -> tuple[Problem, ...]:
    """Every problem of a list of links, in its order; a link that is refused does not count against the ones after it."""
    web, seen, problems = _Web(), set[tuple[str, ...]](), []
    for at, link in enumerate(links):
        found = _problem(at, link, web, seen)
        if found is not None:
            problems.append(found)
        if found is None or not found.refused:
            web.add(link)
            seen.add(_names(link))
    return tuple(problems)


def add_link(existing: Sequence[Link], link: Link) -> tuple[Link, ...]:
    """The links with one more. Errors: `replacement-self`, `replacement-ratio`, `replacement-loop`, `replacement-kind`."""
    found = _problem(len(existing), link, _Web(existing), {_names(old) for old in existing})
    if found is not None and (found.refused or isinstance(link, Unread)):
        raise DomainError(found.code, found.text, parts=list(_names(link)))
    return (*existing, link)


def _names(link: Link) -> tuple[str, ...]:
    if isinstance(link, BothWays):
        return (link.a, link.b) if link.a < link.b else (link.b, link.a)
    if isinstance(link, Unread):
        return (link.old, link.new)
    return (link.old, *(new for new, _ in link.limbs))


def _problem(at: int, link: Link, web: _Web, seen: set[tuple[str, ...]]) -> Problem | None:
    names = _names(link)
    if isinstance(link, Unread) and (link.kind == "none" or names[0] != names[1]):
        return Problem(
            at, "replacement-kind", f"{link.old} to {link.new}: kind {link.kind!r} says nothing; ask.", False
        )
    if names[0] in names[1:]:
        return Problem(at, "replacement-self", f"{names[0]} cannot replace itself.", True)
    if isinstance(link, Directed) and (not link.limbs or min(ratio for _, ratio in link.limbs) <= 0):
        return Problem(at, "replacement-ratio", f"{link.old}: a ratio is missing, zero or negative.", True)
    if loop := _loop(link, web):
        return Problem(at, "replacement-loop", f"The replacements would run in a circle: {loop}.", True)
    if names in seen:
        return Problem(at, "replacement-twice", f"{' and '.join(names)} stand in the list twice.", False)
    return None


def _loop(link: Link, web: _Web) -> str | None:
    """The circle that the link would close, printed from its own first part back to it."""
    if isinstance(link, BothWays):
        for one, other in ((link.a, link.b), (link.b, link.a)):
            if way := web.walk(one, other, with_step=True):
                return f"{way} ↔ {one}"
    elif not isinstance(link, Unread):
        for new, _ in link.limbs:
            if way := web.walk(new, link.old, with_step=False):
                return f"{link.old} → {way}"
    return None


@dataclass(slots=True)
class _Way:
    """A route for one asked piece while it is being put together."""

    leaves: dict[str, Fraction]
    old: bool = False
    newness: int = 0
    because: tuple[str, ...] = ()
    conditions: tuple[str, ...] = field(default=())


def routes(
    part: str,
    quantity: int,
    links: Iterable[Link],
    stock: Mapping[str, int],
    *,
    may_use: Callable[[str], bool] = lambda part: True,
    fits: Callable[[str], bool] = lambda key: False,
) -> list[Route]:
    """Every way to serve `quantity` of `part`: itself, its class, its replacements and theirs; available or not.

    stock    whole pieces by part; what is not named is 0
    may_use  whether a part may be used on this engine at all
    fits     whether an engine-number key holds for this engine. Without it no key holds: nothing with a condition is offered.
    Parts withdrawn are never offered. Error: `replacement-too-wide` beyond 500 routes.
    """
    web = _Web(links)
    found: dict[tuple[tuple[str, Fraction], ...], Route] = {}
    for way in _ways(part, web, frozenset(), may_use, fits):
        leaves = tuple(sorted(way.leaves.items()))
        pieces = tuple((leaf, ceil(ratio * quantity)) for leaf, ratio in leaves)
        missing = tuple((leaf, count - stock.get(leaf, 0)) for leaf, count in pieces if count > stock.get(leaf, 0))
        found.setdefault(leaves, Route(leaves, pieces, missing, way.old, way.newness, way.because, way.conditions))
    return list(found.values())


def _ways(
    part: str, web: _Web, behind: frozenset[str], may_use: Callable[[str], bool], fits: Callable[[str], bool]
) -> list[_Way]:
    """Depth first. `behind` holds the parts on the way here, so that no walk returns to its start even in a bad graph."""
    ways: list[_Way] = []
    alike = [member for member in web.alike(part) if member not in behind]
    for member in alike:
        steps = web.steps.get(member, [])
        because = () if member == part else (f"{member} and {part} replace each other",)
        if may_use(member) and all(_old_usable(step, fits) for step in steps):
            ways.append(_Way({member: Fraction(1)}, bool(steps), 0, because))
        for step in steps:
            if step.new_fits is None or fits(step.new_fits):
                ahead = behind.union(alike)
                limbs = [_ways(new, web, ahead, may_use, fits) for new, _ in step.limbs]
                ways += [_joined(step, because, choice) for choice in _products(limbs)]
        if len(ways) > _MOST_ROUTES:
            raise _too_wide(part)
    return ways


def _products(limbs: list[list[_Way]]) -> Iterable[tuple[_Way, ...]]:
    count = 1
    for limb in limbs:
        count *= len(limb)
    if count > _MOST_ROUTES:
        raise _too_wide("a part of several limbs")
    return product(*limbs)


def _too_wide(what: str) -> DomainError:
    return DomainError("replacement-too-wide", f"More than {_MOST_ROUTES} routes from {what}.", limit=_MOST_ROUTES)


def _old_usable(step: Directed, fits: Callable[[str], bool]) -> bool:
    if step.fate is Fate.WITHDRAWN:
        return False
    if step.fate is Fate.USE_BELOW and step.old_fits is None:
        return False  # nobody said below which number
    return step.old_fits is None or fits(step.old_fits)


def _joined(step: Directed, because: tuple[str, ...], choice: tuple[_Way, ...]) -> _Way:
    """All limbs of a step together: ratios multiplied, equal parts added up."""
    joined = _Way({}, because=because, conditions=(step.condition,) if step.condition else ())
    for (new, ratio), way in zip(step.limbs, choice, strict=True):
        joined.because += (f"{new} replaces {step.old}, {ratio.denominator}:{ratio.numerator}", *way.because)
        joined.conditions += way.conditions
        joined.newness = max(joined.newness, way.newness + 1)
        joined.old = joined.old or way.old
        for leaf, inner in way.leaves.items():
            joined.leaves[leaf] = joined.leaves.get(leaf, Fraction(0)) + ratio * inner
    return joined
