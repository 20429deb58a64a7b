"""A synthetic shop of any number of closed jobs, loaded in bulk with rows that satisfy the audit.

Every closed job has what a real one leaves behind: booked, held, picked, handed over, fitted and closed acts, a hold with
its end for each of the 123 things of its kit, and the movements supplier → shelf → cart → bench → engine. The narrow tables
are written by the framework's bulk inserts, the wide ones by INSERT … SELECT over a chunk of jobs. Two things are thinner
than in life: the printed list and the outcome of old acts are nearly empty documents (no measured act reads an old one).
A lot serves 25 engines and is then used up, so that the answers have the same size in a shop of any age; on the shelves
there are always three lots of each part.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, TypeVar

from django.db import connection, models, transaction

from api.measure.bulk import Ids, Quick, Rows, reset_sequences
from api.measure.catalogue import (
    BORES,
    FAMILIES,
    FIT_ON,
    HOLDS,
    NOW,
    SHELVES,
    SITES,
    TOOLS,
    Catalogue,
    HoldLine,
    engine_prefix,
    hold_lines,
    load_catalogue,
)
from api.measure.wide import load_wide, make_line_tables
from inventory.domain.items import identity
from inventory.domain.places import PlaceKind
from inventory.domain.spelling import label_key
from inventory.models import (
    Act,
    Balance,
    Hold,
    Item,
    Lot,
    MatchedSet,
    Movement,
    Outcome,
    Place,
    Receipt,
    ReceiptLine,
    Serial,
    Spot,
)
from inventory.queries.days import shop_day
from inventory.services.run import Stamp
from kits.models import Engine, Handover, Job, JobDate, JobEnd, JobOperation, PickList, ToolBack, ToolLoan

Say = Callable[[str], None]
Row = TypeVar("Row", bound=models.Model)

#: Jobs that one lot serves before it is used up.
JOBS_PER_LOT = 25
STOCK_LOTS = 3
#: Kits that one lot on the shelf is enough for, and sets that stand beside them at each site.
KITS_PER_STOCK_LOT = 40
STOCK_SETS = 120
CHUNK_JOBS = 200
ACT_KINDS = ("book job", "hold", "pick", "hand over", "fit", "close job")
SPAN = timedelta(days=690)


@dataclass(frozen=True, slots=True)
class Shop:
    """A loaded shop: how many closed jobs it has, and what they were made of."""

    jobs: int
    catalogue: Catalogue


@dataclass(frozen=True, slots=True)
class JobPlan:
    """Where job number `at` (from 0) belongs: its family, site, and which of the lots used up in turn serve it."""

    at: int
    family: int
    site: str
    turn: int
    when: datetime

    @property
    def stream(self) -> int:
        """Family and site together, from 0."""
        return self.family * len(SITES) + SITES.index(self.site)


def plan(jobs: int, at: int) -> JobPlan:
    """The plan of one closed job: families in turn, then sites in turn, spread evenly over two years."""
    family, rest = at % FAMILIES, at // FAMILIES
    place = rest // len(SITES)
    when = NOW - SPAN - timedelta(days=5) + SPAN / jobs * at
    return JobPlan(at, family, SITES[rest % len(SITES)], place // JOBS_PER_LOT, when)


def new_stamp(at: datetime = NOW) -> Stamp:
    """A new act's key and time."""
    return Stamp(uuid.uuid4(), at, at)


def load_shop(jobs: int, say: Say) -> Shop:
    """Load the shop into the (empty, migrated) database at hand."""
    say(f"loading a shop with {jobs} closed jobs")
    catalogue = load_catalogue([new_stamp(NOW - timedelta(days=720)) for _ in range(30)])
    with Quick(jobs):
        loader = _Loader(jobs, catalogue)
        loader.load(say)
        reset_sequences()
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")
    return Shop(jobs, catalogue)


class _Loader:
    def __init__(self, jobs: int, catalogue: Catalogue) -> None:
        self.jobs = jobs
        self.catalogue = catalogue
        self.ids = Ids()
        self.rows = Rows()
        self.lines = [hold_lines(family) for family in range(FAMILIES)]
        self.lot_items: dict[tuple[int, int], int] = {}
        self.receipts: dict[tuple[int, int], int] = {}

    def load(self, say: Say) -> None:
        plans = [plan(self.jobs, at) for at in range(self.jobs)]
        last: dict[int, int] = {}
        users: dict[tuple[int, int], list[JobPlan]] = {}
        for one in plans:
            users.setdefault((one.stream, one.turn), []).append(one)
            last[one.stream] = one.turn
        with transaction.atomic():
            for (stream, turn), served in sorted(users.items()):
                self._receive(stream, turn, served[0].when - timedelta(hours=12), len(served), served[-1].when)
            self._stock(last)
            self.rows.write()
        make_line_tables(
            [
                (stream, line, self.catalogue.parts[line.part].pk, self._shelf(stream, line))
                for stream in range(FAMILIES * len(SITES))
                for line in self.lines[stream // len(SITES)]
            ]
        )
        for start in range(0, self.jobs, CHUNK_JOBS):
            chunk = plans[start : start + CHUNK_JOBS]
            with transaction.atomic():
                wide = [self._job(one) for one in chunk]
                self.rows.write()
                load_wide(wide)
            done = start + len(chunk)
            if done * 10 // self.jobs > start * 10 // self.jobs:  # ten lines, whatever the size
                say(f"{done} of {self.jobs} jobs")

    def _shelf(self, stream: int, line: HoldLine) -> Spot:
        return self.catalogue.shelf_spots[SITES[stream % len(SITES)]][line.line % SHELVES]

    def _act(self, kind: str, when: datetime, subject: str = "", act_id: int | None = None) -> Act:
        act = self.rows.add(
            Act(
                pk=act_id or self.ids.take(Act),
                key=uuid.uuid4(),
                kind=kind,
                actor=self.catalogue.clerk,
                occurred_at=when,
                recorded_at=when,
                subject=subject,
                request_hash="-" * 64,
            )
        )
        self.rows.add(Outcome(act=act, body={"job": subject} if subject else {}))
        return act

    def _receive(self, stream: int, turn: int, when: datetime, kits: int, used: datetime | None) -> None:
        """One delivery of every lot-traced part of a stream: enough for `kits` kits, used up by then unless `used` is None."""
        site = SITES[stream % len(SITES)]
        act = self._act("receive", when)
        self.receipts[stream, turn] = act.pk
        self.rows.add(Receipt(act=act, supplier=self.catalogue.supplier, note=f"{site}/{turn}"))
        lines = [line for line in self.lines[stream // len(SITES)] if not line.bore]
        self.lot_items[stream, turn] = self.ids.take(Item, len(lines))
        for place, line in enumerate(lines):
            self._lot(act, line, f"{site}/{turn:04d}", self.lot_items[stream, turn] + place,
                      self._shelf(stream, line), kits * line.amount, used)  # fmt: skip

    def _lot(
        self, act: Act, line: HoldLine, code: str, item_id: int, shelf: Spot, amount: int, used: datetime | None
    ) -> None:
        part = self.catalogue.parts[line.part]
        day = shop_day(act.occurred_at)
        expires = day + timedelta(days=900) if line.line % 2 else None
        lot = self.rows.add(
            Lot(pk=self.ids.take(Lot), part=part, code=code, compare_key=label_key(code), received_on=day,
                expires_on=expires, supplier=self.catalogue.supplier)
        )  # fmt: skip
        text = identity(lot=code)
        item = self.rows.add(Item(pk=item_id, part=part, identity=text, lot=lot, base="piece", single=False))
        self._arrive(act, item, shelf, amount, 0 if used else amount, used or act.occurred_at)

    def _arrive(self, act: Act, item: Item, shelf: Spot, amount: int, left: int, last_at: datetime) -> None:
        """Receipt line, movement and the two balances of what came; `left` of it is still on the shelf."""
        supplier = self.catalogue.supplier_spot
        coins = amount * 100 + item.pk % 37  # no two deliveries at one price: a wrong order would show
        self.rows.add(ReceiptLine(receipt_id=act.pk, item=item, amount=amount, total_coins=coins))
        self.rows.add(Movement(act=act, item=item, amount=amount, from_spot=supplier, to_spot=shelf))
        for spot, now, moment in ((supplier, -amount, act.occurred_at), (shelf, left, last_at)):
            place = spot.place
            self.rows.add(
                Balance(
                    item=item,
                    spot=spot,
                    place=place,
                    part_id=item.part_id,
                    amount=now,
                    real=place.real,
                    single=item.single,
                    pickable=place.kind == PlaceKind.SHELF,
                    in_shop=place.real,
                    last_at=moment,
                )
            )

    def _set(self, act: Act, family: int, shelf: Spot, serial_text: str, item_id: int, left: int, at: datetime) -> None:
        part = self.catalogue.parts[self.lines[family][0].part]
        serial = self.rows.add(
            Serial(pk=self.ids.take(Serial), part=part, number=serial_text, compare_key=label_key(serial_text))
        )
        self.rows.add(MatchedSet(serial=serial, weight_mg=2_000_000, weighed="with pin"))
        item = self.rows.add(
            Item(pk=item_id, part=part, identity=identity(serial=serial_text), serial=serial, base="piece", single=True)
        )
        self._arrive(act, item, shelf, 1, left, at)

    def _stock(self, last: dict[int, int]) -> None:
        """What stands on the shelves today: three lots of each part at each site, sets, and parts no job wants."""
        for stream in range(FAMILIES * len(SITES)):
            for lot in range(STOCK_LOTS):
                when = NOW - timedelta(days=4 - lot)
                self._receive(stream, last.get(stream, -1) + 1 + lot, when, KITS_PER_STOCK_LOT, None)
        for stream in range(len(SITES)):  # only the first family is measured
            act = self._act("receive", NOW - timedelta(days=3))
            self.rows.add(Receipt(act=act, supplier=self.catalogue.supplier))
            for number in range(STOCK_SETS):
                text = f"{SITES[stream]}/9{number:06d}"
                shelf = self._shelf(stream, self.lines[0][0])
                self._set(act, 0, shelf, text, self.ids.take(Item), 1, act.occurred_at)
        for stream, site in enumerate(SITES):
            act = self._act("receive", NOW - timedelta(days=3))
            self.rows.add(Receipt(act=act, supplier=self.catalogue.supplier))
            for name in [name for name in self.catalogue.parts if name.startswith("Z-")]:
                for lot in range(STOCK_LOTS):
                    line = HoldLine(0, name, 0, (), 0, int(name[2:]))
                    self._lot(act, line, f"{site}/{lot}", self.ids.take(Item), self._shelf(stream, line), 50, None)

    def _job(self, one: JobPlan) -> tuple[Any, ...]:
        """The narrow rows of a closed job; returns the row from which its wide ones are made."""
        catalogue, take, add = self.catalogue, self.ids.take, self.rows.add
        site, number = catalogue.sites[one.site], f"{one.site}/old {one.at + 1}"
        first_act = take(Act, len(ACT_KINDS))
        acts = [
            self._act(kind, one.when + timedelta(seconds=10 * n), number, first_act + n)
            for n, kind in enumerate(ACT_KINDS)
        ]
        engine_number = f"{engine_prefix(one.family)}{one.at + 1:07d}"
        cart, bench, block = (
            add(Place(pk=take(Place), code=code, kind=kind.value, real=True, site=where))
            for code, kind, where in (
                (f"cart {number}", PlaceKind.CART, site),
                (f"bench {number}", PlaceKind.BENCH, site),
                (engine_number, PlaceKind.ENGINE, None),
            )
        )
        cart_spot, bench_spot, _ = (add(Spot(pk=take(Spot), place=place)) for place in (cart, bench, block))
        engine = add(
            Engine(pk=take(Engine), number=engine_number, family=catalogue.families[one.family], digits=one.at + 1,
                   place=block)
        )  # fmt: skip
        job = add(
            Job(
                pk=take(Job),
                number=number,
                engine=engine,
                site=site,
                family_revision=catalogue.family_revisions[one.family],
                cart=cart,
                bench=bench,
                state=Job.State.CLOSED,
                strip_on=shop_day(one.when),
                fit_on=shop_day(one.when),
                booked_by=acts[0],
                version=6,
            )
        )
        add(JobOperation(job=job, procedure_revision=catalogue.procedure_revisions[one.family], added_by=acts[0]))
        add(JobDate(job=job, act=acts[0], fit_on=job.fit_on))
        listed = add(PickList(pk=take(PickList), job=job, act=acts[1], number=1, document={"job": number}))
        add(Handover(pick_list=listed, act=acts[3], received_by=catalogue.technician))
        add(JobEnd(job=job, act=acts[5], checker=catalogue.storekeeper))
        for tool in TOOLS:
            loan = add(ToolLoan(pk=take(ToolLoan), job=job, act=acts[3], site=site, tool=tool))
            add(ToolBack(loan=loan, act=acts[5]))
        receipt = Act(pk=self.receipts[one.stream, one.turn], occurred_at=one.when - timedelta(days=1))
        first_set = take(Item, BORES)
        for bore in range(BORES):
            text = f"{one.site}/{one.at * BORES + bore:07d}"
            shelf = self._shelf(one.stream, self.lines[one.family][bore])
            self._set(receipt, one.family, shelf, text, first_set + bore, 0, acts[2].occurred_at)
        uses = sum(len(line.uses) for line in self.lines[one.family])
        return (
            job.pk, one.stream, listed.pk, first_act, self.lot_items[one.stream, one.turn] - BORES - 1, first_set - 1,
            cart.pk, bench.pk, block.pk, cart_spot.pk, bench_spot.pk, take(Spot, uses) - 1, take(Hold, HOLDS) - 1,
            catalogue.technician.pk, catalogue.storekeeper.pk,
        )  # fmt: skip


def old_jobs(shop: Shop, count: int) -> Iterator[JobPlan]:
    """Closed jobs of the first family, spread over the shop's life, that were served by a whole lot where there is one."""
    mine = [one for one in (plan(shop.jobs, at) for at in range(shop.jobs)) if one.family == 0]
    last = {site: max(one.turn for one in mine if one.site == site) for site in SITES}
    whole = [one for one in mine if one.turn < last[one.site]] or mine
    for index in range(count):
        yield whole[index * len(whole) // count]


def dates_of_booking() -> dict[str, Any]:
    """Days of the jobs that are measured."""
    return {"strip_on": shop_day(NOW), "fit_on": FIT_ON}
