"""A small model of the books in plain Python, written from what people would say and not from how the program does it.

It keeps one list of what was carried from where to where, and adds it up each time anybody asks. Things and places are
texts; a place in brackets is the books' own. Everything here is slow and obvious on purpose.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Row:
    """At this minute so much of a thing went from here to there."""

    minute: int
    thing: str
    amount: int
    origin: str
    target: str


@dataclass(frozen=True)
class Promise:
    """So much of a thing at a place is promised to a job that is fitted on a day."""

    thing: str
    place: str
    amount: int
    job: str
    fit_day: int


@dataclass
class Books:
    """What stands where, what is promised, what may not be used, and what was done."""

    rows: list[Row] = field(default_factory=list)
    promises: dict[int, Promise] = field(default_factory=dict)
    ended: dict[int, str] = field(default_factory=dict)
    done: dict[int, list[Row]] = field(default_factory=dict)
    never_taken_back: set[int] = field(default_factory=set)
    taken_back: set[int] = field(default_factory=set)
    corrections: set[int] = field(default_factory=set)
    stopped: set[str] = field(default_factory=set)
    broken: set[str] = field(default_factory=set)
    single: set[str] = field(default_factory=set)
    shorts: int = 0
    picked: set[tuple[str, str]] = field(default_factory=set)

    def there(self, thing: str, place: str) -> int:
        """How much of the thing is at the place."""
        came = sum(row.amount for row in self.rows if (row.thing, row.target) == (thing, place))
        went = sum(row.amount for row in self.rows if (row.thing, row.origin) == (thing, place))
        return came - went

    def open_on(self, thing: str, place: str) -> list[int]:
        """Open promises of it, in the order in which they are given up: latest day of fitting first, then the newest."""
        found = [one for one, it in self.promises.items() if (it.thing, it.place) == (thing, place)]
        return sorted(found, key=lambda one: (-self.promises[one].fit_day, -one))

    def held(self, thing: str, place: str) -> int:
        """How much of it is promised there."""
        return sum(self.promises[one].amount for one in self.open_on(thing, place))

    def free(self, thing: str, place: str) -> int:
        """How much of it nobody was promised."""
        return self.there(thing, place) - self.held(thing, place)

    def standing(self) -> dict[tuple[str, str], tuple[int, int]]:
        """(amount, held) of everything in real places."""
        spots = {(row.thing, row.target) for row in self.rows if is_real(row.target)}
        found = {(thing, place): (self.there(thing, place), self.held(thing, place)) for thing, place in spots}
        return {spot: amounts for spot, amounts in found.items() if amounts != (0, 0)}

    def gone(self) -> dict[tuple[str, str], int]:
        """What the books' own places add up to."""
        spots = {(row.thing, end) for row in self.rows for end in (row.origin, row.target) if not is_real(end)}
        found = {(thing, place): self.there(thing, place) for thing, place in spots}
        return {spot: amount for spot, amount in found.items() if amount}

    def where(self, thing: str) -> list[str]:
        """Real places in which it stands."""
        return sorted(place for (one, place), (amount, _) in self.standing().items() if one == thing and amount)

    def usable(self, things: Iterable[str], shelves: Iterable[str]) -> int:
        """How much of these could be promised now."""
        places = list(shelves)
        return sum(self.free(thing, place) for thing in things if thing not in self.stopped for place in places)

    def may_go(self, rows: Iterable[Row], promised: int = 0) -> bool:
        """Whether all of these can be carried: it is there and free (but for what was promised to whoever takes it), a thing
        there is one of does not come in twice, a broken set never comes back, and no later minute is left with less than
        nothing."""
        rows = list(rows)
        leaving: dict[tuple[str, str], int] = defaultdict(int)
        for row in rows:
            if is_real(row.origin):
                leaving[row.thing, row.origin] += row.amount
            elif row.thing in self.single and (self.where(row.thing) or row.thing in self.broken):
                return False
        if any(self.free(thing, place) + promised < amount for (thing, place), amount in leaving.items()):
            return False
        return not any(self._below_nothing(spot, rows) for spot in leaving)

    def _below_nothing(self, spot: tuple[str, str], more: list[Row]) -> bool:
        since = min(row.minute for row in more)
        rows = [row for row in (*self.rows, *more) if row.thing == spot[0] and spot[1] in (row.origin, row.target)]
        level = 0
        for minute in sorted({row.minute for row in rows}):
            for row in rows:
                if row.minute == minute:
                    level += row.amount if row.target == spot[1] else -row.amount
            if minute >= since and level < 0:
                return True
        return False

    def write(self, act: int, rows: Iterable[Row], *, for_good: bool = False) -> None:
        """It was done. `for_good`: never to be taken back."""
        self.done[act] = list(rows)
        self.rows += self.done[act]
        if for_good or not self.done[act]:
            self.never_taken_back.add(act)

    def over_the_edge(self, job: str) -> dict[str, Counter[str]]:
        """Thing → how much came to a job's cart and bench or left them, by the place on the other side; no act that was taken back."""
        own, passed = {f"cart {job}", f"bench {job}"}, dict[str, Counter[str]]()
        for act, rows in self.done.items():
            if act in self.taken_back | self.corrections:
                continue
            for row in rows:
                if (row.origin in own) != (row.target in own):
                    way = f"from {row.origin}" if row.target in own else f"to {row.target}"
                    passed.setdefault(row.thing, Counter())[way] += row.amount
        return passed

    def make_room(self, thing: str, place: str, left: int) -> None:
        """No more than this will be left: promises that no longer fit are given up, each with a short."""
        for one in self.open_on(thing, place):
            if self.held(thing, place) <= left:
                return
            self.end(one, "made impossible")
            self.shorts += 1

    def short_of(self, thing: str) -> None:
        """It may not be used any more: each job that has some of it, picked and not fitted, is short of it."""
        for job, picked in self.picked:
            lying = self.there(thing, f"cart {job}") + self.there(thing, f"bench {job}")
            self.shorts += picked == thing and lying > 0

    def end(self, promise: int, how: str) -> None:
        """A promise is over."""
        if how == "picked":
            self.picked.add((self.promises[promise].job, self.promises[promise].thing))
        del self.promises[promise]
        self.ended[promise] = how

    def reversed(self, act: int) -> list[Row]:
        """What takes an act back: everything the other way, as of the minute of the act."""
        return [Row(row.minute, row.thing, row.amount, row.target, row.origin) for row in self.done[act]]


def is_real(place: str) -> bool:
    """Not one of the books' own places."""
    return not place.startswith("(")
