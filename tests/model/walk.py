"""The random walk: real acts on the small workshop, each compared with what the model of the books says of it."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant

from inventory.domain.errors import DomainError
from inventory.models import Balance, Hold, HoldEnd, Item, Lot, Person, Short
from inventory.queries.audit import audit
from inventory.services.run import Done, Stamp
from kits.models import Job
from tests.databases import rolled_back
from tests.factories.stores import NOON
from tests.model.books import Books, Promise, Row

SHELVES = ("R1", "R2")
ASIDE = "Q1"
CHECKER = "edda"
JOBS = ("J1", "J2", "J3")
RINGS = ("RING B1", "RING B2", "RING B3")
SETS = ("SET S-1", "SET S-2", "SET S-3")
BOXES = ("BOX K1", "BOX K2")
BAGS = ("BAG in-K1", "BAG in-K2")
HALVES = tuple(f"{one}/{half}" for one in SETS for half in ("liner", "piston", "pin"))
#: How many acts were done and how many refused, by name, over all walks: a walk that never did an act shows nothing of it.
WALKED: Counter[tuple[str, bool]] = Counter()
amounts = st.integers(1, 4)


def label(thing: str) -> tuple[str, str]:
    """Part number, and lot or serial."""
    part, _, which = thing.partition(" ")
    return part, which


class Walk(RuleBasedStateMachine):
    """One walk; everything in it is undone when it ends. Subclasses add the rules."""

    def __init__(self) -> None:
        super().__init__()
        self._undone = rolled_back()
        self._undone.__enter__()
        self.books = Books(single=set(SETS) | set(HALVES))
        self.minute = 0
        self.names: dict[int, str] = {}
        self.lists: dict[str, int] = {}
        self.engines = dict(Job.objects.values_list("engine__place__code", "number"))
        # Anybody, and who may fit: a cart is handed over to them.
        self.people = [Person.objects.earliest("pk"), Person.objects.latest("pk")]
        self.checker = Person.objects.get(username=CHECKER)
        # Latest day of fitting first is who gives way first.
        self.fit_day = {row.number: (row.fit_on - date(2025, 1, 1)).days for row in Job.objects.all()}

    def teardown(self) -> None:
        """The audit, then everything is undone."""
        try:
            assert audit() == []
        finally:
            self._undone.__exit__(None, None, None)

    def stamp(self) -> Stamp:
        """A new act, a minute after the one before."""
        self.minute += 1
        at = NOON + timedelta(minutes=self.minute)
        return Stamp(uuid.uuid4(), at, at)

    def do(self, name: str, may: bool, call: Callable[..., Done], person: int = 0, **given: Any) -> Done | None:
        """The act, done or refused as the model says; None if it was refused."""
        try:
            done = call(actor=self.people[person], **given)
        except DomainError as error:
            assert not may, f"{name} was refused and should not have been: {error}"
            WALKED[name, False] += 1
            return None
        assert may, f"{name} was done and should have been refused: {given}"
        WALKED[name, True] += 1
        return done

    def row(self, thing: str, amount: int, origin: str, target: str, found_as: str = "") -> Row:
        """A row of this minute."""
        return Row(self.minute, thing, amount, origin, target, found_as)

    def lying(self, which: int, kinds: tuple[str, ...], otherwise: tuple[str, str]) -> tuple[str, str]:
        """A thing and its place among those that stand in places of these kinds; three times in four, else any pair at all."""
        spots = sorted(spot for spot in self.books.standing() if spot[1].startswith(kinds) and spot[0] not in HALVES)
        return spots[which // 4 % len(spots)] if spots and which % 4 < 3 else otherwise

    def item(self, thing: str) -> int:
        """The item of a thing; 0 where it never was."""
        return next((pk for pk, name in self.known().items() if name == thing), 0)

    def known(self) -> dict[int, str]:
        """Names of all items, by what their labels say."""
        new = Item.objects.exclude(pk__in=self.names).select_related("part", "lot", "serial")
        for item in new:
            which = item.serial.number if item.serial else item.lot.code if item.lot else "-"
            self.names[item.pk] = f"{item.part.number} {which}" + (f"/{item.member}" if item.member else "")
        return self.names

    def lot(self, thing: str) -> int:
        """The lot of a thing; 0 where it never was."""
        row = Lot.objects.filter(part__number=label(thing)[0], code=label(thing)[1]).first()
        return row.pk if row else 0

    def promised(self, job: str, held: Iterable[dict[str, Any]]) -> None:
        """Take over which lots the program chose, if they could be given: there, free, not stopped, whole."""
        for one in held:
            hold = Hold.objects.select_related("from_spot__place").get(pk=one["hold"])
            thing, place = self.known()[hold.item_id], hold.from_spot.place.code
            assert place in SHELVES
            assert thing not in self.books.stopped and thing not in HALVES
            assert 0 < one["amount"] == hold.amount <= self.books.free(thing, place)
            self.books.promises[hold.pk] = Promise(thing, place, hold.amount, job, self.fit_day[job])

    def replanned(self, act: int, ended: Mapping[int, Promise]) -> None:
        """Take over what the program holds instead of promises that a stop ended: each job has as much as before, held or short."""
        before = Counter[str]()
        for one in ended.values():
            before[one.job] += one.amount
        after = Counter[str]()
        for hold in Hold.objects.filter(act=act).select_related("job_hold__job").order_by("pk"):
            job = hold.job_hold.job.number
            self.promised(job, [{"hold": hold.pk, "amount": hold.amount}])
            after[job] += hold.amount
        lacking = Short.objects.filter(act=act, hold__in=ended)
        for short in lacking:
            after[ended[short.hold_id].job] += short.amount
        assert after == before
        self.books.shorts += lacking.count() - len(ended)

    @invariant()
    def the_shelves_are_as_the_model_says(self) -> None:
        """Every balance, everything promised, everything gone, every hold that ended, every short."""
        names = self.known()
        rows = list(Balance.objects.exclude(amount=0, held=0).select_related("place", "spot"))
        real: Counter[tuple[str, str]] = Counter()
        held: Counter[tuple[str, str]] = Counter()
        books: Counter[tuple[str, str]] = Counter()
        for row in rows:
            job = self.engines.get(row.place.code)
            spot = names[row.item_id], f"engine {job} {row.spot.name}" if job else row.place.code
            (real if row.real else books)[spot] += row.amount
            held[spot] += row.held
        assert {spot: (real[spot], held[spot]) for spot in real} == self.books.standing()
        assert dict(books) == self.books.gone()
        assert {hold.pk for hold in Hold.objects.filter(end__isnull=True)} == set(self.books.promises)
        assert dict(HoldEnd.objects.values_list("hold_id", "how")) == self.books.ended
        assert Short.objects.count() == self.books.shorts
