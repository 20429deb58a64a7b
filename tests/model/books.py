"""A small model of the books in plain Python, written from what people would say and not from how the program does it.

It keeps one list of what was carried from where to where, and adds it up each time anybody asks. Things and places are
texts; a place in brackets is the books' own. Everything here is slow and obvious on purpose.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

#: What a piece can be: never in an engine; in one, and the shop's. What came with the engine of J1 and is its owner's: "of J1".
NEW, USED = "new", "used"


@dataclass(frozen=True)
class Row:
    """At this minute so much of a thing went from here to there; `found_as`: what it was when it was found in an engine."""

    minute: int
    thing: str
    amount: int
    origin: str
    target: str
    found_as: str = ""


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
    #: How a job ended.
    ends: dict[str, str] = field(default_factory=dict)

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

    def pieces(self, thing: str) -> dict[str, Counter[str]]:
        """Place → how many of it there are new, were in an engine, or are a customer's own.

        A shelf, a cart and an engine are given new ones while there are any; whatever else takes some takes what was in an engine
        first, the customer's before the shop's. A half of a broken set is whose the set was.
        """
        lying: dict[str, Counter[str]] = defaultdict(Counter)
        for row in self.standing_rows(thing):
            for one in self._taken(row, lying[row.origin]):
                lying[row.origin][one] -= 1
                into_one = row.target.startswith("engine") and one == NEW
                lying[row.target][USED if into_one else one] += 1
        return lying

    def _taken(self, row: Row, there: Counter[str]) -> list[str]:
        if row.found_as:
            return [row.found_as] * row.amount
        if row.origin == "(conversion)" and "/" in row.thing:
            whole = self.pieces(row.thing.partition("/")[0])[row.origin]
            return [next(one for one in whole if whole[one] > 0)]
        old = sorted(set(there) - {NEW}, key=lambda one: (one == USED, one))
        new_first = row.target.startswith(("R", "cart", "engine"))
        order = [NEW, *old] if new_first else [*old, NEW]
        if not is_real(
            row.origin
        ):  # what the books' own places have of it was lost or thrown away: a count may find it again
            order = [] if new_first else old
        taken = [kind for kind in order for _ in range(there[kind])][: row.amount]
        return taken + [NEW] * (row.amount - len(taken))

    def standing_rows(self, thing: str) -> list[Row]:
        """The rows of a thing but those that were taken back, as they happened."""
        out = self.taken_back | self.corrections
        rows = [row for act, its in self.done.items() if act not in out for row in its if row.thing == thing]
        return sorted(rows, key=lambda row: row.minute)

    def old(self, thing: str, place: str) -> int:
        """How much of it there was in an engine."""
        return sum(amount for kind, amount in self.pieces(thing)[place].items() if kind != NEW)

    def own(self, job: str, thing: str, place: str) -> int:
        """How much of it there is the own of the job's customer."""
        return self.pieces(thing)[place][f"of {job}"]

    def inside(self, spot: str) -> str:
        """What sits at this spot of an engine; empty: nothing."""
        return next((thing for thing, place in self.standing() if place == spot), "")

    def was_inside(self, thing: str) -> bool:
        """Whether any of it ever was in an engine, or was said to have been."""
        return any(row.thing == thing and "engine" in row.origin + row.target for row in self.rows)

    def lost_at(self, thing: str) -> set[str]:
        """Where some of it was counted short."""
        return {row.origin for row in self.standing_rows(thing) if row.target == "(count difference)"}

    def nobody_could_say(self, act: int) -> bool:
        """Whether old and new of a thing that the act moved would change places if it had not been: it went further since."""
        moved, since = {row.thing for row in self.done[act]}, max(row.minute for row in self.done[act])
        return any(self.was_inside(one) and self.standing_rows(one)[-1].minute > since for one in moved)

    def of_ended_job(self, act: int) -> bool:
        """Whether an act brought something to, or took it from, cart, bench or engine of a job that has ended."""
        ends = {end for row in self.done[act] for end in (row.origin, row.target)}
        return any(end.split(" ")[0] in ("cart", "bench", "engine") and end.split(" ")[1] in self.ends for end in ends)

    def stops(self, thing: str) -> bool:
        """Whether the thing is stopped, or what lies in the closed box."""
        return thing in self.stopped or thing.replace("BOX ", "BAG in-") in self.stopped

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
        lying = self.pieces(thing)
        for job, picked in self.picked:
            new = lying[f"cart {job}"][NEW] + lying[f"bench {job}"][NEW]
            self.shorts += picked == thing and job not in self.ends and new > 0

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
