"""The topic `books`: each act of the books beside its hand-written twin, on the same tables in the same run.

A pair is one act through the service and one through the twin, each on a fresh job of its own: equal jobs at two sites that
hold equal goods. Nothing is rolled back: both jobs stay held, picked and handed over, and what both wrote is compared row by
row afterwards. Which of the two goes first, and at which site, changes from pair to pair. The first pair warms up and is
only counted. With several sizes the shops stand side by side and are measured in turn, so that a slow minute of the machine
meets both.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import astuple, dataclass, field
from datetime import datetime, timedelta
from fractions import Fraction
from functools import partial
from typing import Any

from django.db import connection

from api.measure import twin_list, twins, twins_of_reads
from api.measure.catalogue import NOW, SITES, engine_prefix, part_number, procedure_code
from api.measure.own import own_database, pointed_at
from api.measure.pairs import must_equal, pair
from api.measure.same import Plain, difference, written
from api.measure.shop import Say, Shop, dates_of_booking, load_shop, new_stamp, old_jobs
from api.measure.table import Limit, OtherAnswer, Sample
from inventory.models import Act, Lot, Part
from inventory.queries.audit import audit
from inventory.queries.stock import on_hand
from inventory.queries.trace import set_history
from inventory.queries.whereabouts import lot_whereabouts
from inventory.services.run import Stamp
from kits.models import Engine, Job
from kits.queries.documents import family_of
from kits.queries.trace import engine_contents
from kits.services.hold_kit import hold_kit
from kits.services.jobs import book_job
from kits.services.look_again import LookIn, look_again
from kits.services.pick_kit import Scan, hand_over, pick

KIT, READ, AUDIT = Limit(Fraction(3), 25), Limit(Fraction(2), 3), Limit(Fraction(3, 2), None, grows=True)
LIMITS = {
    "hold a kit": KIT,
    "pick it": KIT,
    "hand it over": KIT,
    "engine contents": READ,
    "lot whereabouts": READ,
    "set history": READ,
    "on hand": READ,
    "audit": AUDIT,
}
ROUNDS = 3
AUDITS = 3
#: Jobs held at each site before anything is measured: stock is never all free.
OPEN_JOBS = 2


@dataclass(slots=True)
class Bench:
    """One shop being measured: its samples by act, and how many jobs were booked so far."""

    name: str
    shop: Shop
    samples: dict[str, Sample] = field(default_factory=dict)
    booked: int = 0

    def __post_init__(self) -> None:
        self.samples = {act: Sample(act, limit) for act, limit in LIMITS.items()}


def measure(sizes: Sequence[int], pairs: int, say: Say) -> list[list[Sample]]:
    """Samples of every act for each size, `pairs` timed pairs each. OtherAnswer where an act and its twin differ."""
    rounds = 1 if len(sizes) == 1 else ROUNDS
    with ExitStack() as stack:
        benches = []
        for size in sizes:
            name = stack.enter_context(own_database(str(size)))
            with pointed_at(name):
                benches.append(Bench(name, load_shop(size, say)))
                if found := audit():
                    raise OtherAnswer(f"the loaded shop is damaged: {found[0]}")
        for number in range(rounds):
            for bench in benches:
                say(f"measuring {bench.shop.jobs} jobs, round {number + 1} of {rounds}")
                with pointed_at(bench.name):
                    twin_list.forget()
                    _round(bench, -(-pairs // rounds), first=number == 0)
        for bench in benches:
            with pointed_at(bench.name):
                _audits(bench)
        return [list(bench.samples.values()) for bench in benches]


def _round(bench: Bench, pairs: int, first: bool) -> None:
    if first:
        for site in SITES * OPEN_JOBS:
            job = _book(bench, site)
            hold_kit(actor=bench.shop.catalogue.clerk, stamp=new_stamp(), job=job.number)
    _reads(bench, pairs)
    jobs = [{site: _book(bench, site) for site in SITES} for _ in range(pairs + 1)]
    for number, of_two in enumerate(jobs):
        _kit(bench, of_two, number)


def _book(bench: Bench, site: str) -> Job:
    bench.booked += 1
    number = f"{site}/new {bench.booked}"
    book_job(
        actor=bench.shop.catalogue.clerk,
        stamp=new_stamp(),
        number=number,
        engine_number=f"{engine_prefix(0)}{5_000_000 + bench.booked:07d}",
        site=site,
        operations=[procedure_code(0)],
        new_engine=True,
        **dates_of_booking(),
    )
    return Job.objects.select_related("engine", "cart", "site").get(number=number)


def _kit(bench: Bench, of_two: dict[str, Job], number: int) -> None:
    """Hold, pick and hand over one kit by the services, one by the twins."""
    clerk, technician = bench.shop.catalogue.clerk, bench.shop.catalogue.technician
    mine, other = (of_two[site] for site in (SITES if number % 2 else SITES[::-1]))
    at = NOW + timedelta(minutes=bench.booked)

    def both(name: str, act: Callable[[Stamp], Any], twin: Callable[[Stamp], Any], asked: Sequence[Any]) -> Any:
        sample = bench.samples[name]
        stamps = [_stamp(at), _stamp(at)]
        done, body = pair(sample, number, lambda: act(stamps[0]), lambda: twin(stamps[1]))
        wrote = []
        for job, stamp, request in zip((mine, other), stamps, asked, strict=True):
            job.refresh_from_db(fields=["state", "version"])
            wrote.append(written(Act.objects.select_related("outcome").get(key=stamp.key), job, request))
        if found := difference(*wrote):
            raise OtherAnswer(f"{name}: the twin wrote other rows: {'; '.join(found)}")
        if not wrote[0]["act"][-1]:
            raise OtherAnswer(f"{name}: the act's hash is not that of its request")
        must_equal(sample, number, Plain(mine).body(done.body), Plain(other).body(body))
        return done.body, body

    held, twin_held = both(
        "hold a kit",
        lambda stamp: hold_kit(actor=clerk, stamp=stamp, job=mine.number),
        lambda stamp: twins.hold(actor=clerk.pk, key=stamp.key, at=at, job=other.number),
        [{"job": job.number, "steps": [], "until": None, "lots": {}, "lots_reason": ""} for job in (mine, other)],
    )
    scans = [_scans(held), _scans(twin_held)]
    lists = [held["pick_list"], twin_held["pick_list"]]
    both(
        "pick it",
        lambda stamp: pick(actor=clerk, stamp=stamp, pick_list=lists[0], scans=[Scan(**scan) for scan in scans[0]]),
        lambda stamp: twins.pick(
            actor=clerk.pk, key=stamp.key, at=at, pick_list=lists[1], scans=scans[1], job=other.number
        ),
        [
            {"pick_list": listed, "scans": [scan | {"amount": None, "bin": ""} for scan in asked]}
            for listed, asked in zip(lists, scans, strict=True)
        ],
    )
    for held_by, listed in ((held, lists[0]), (twin_held, lists[1])):
        sets = [LookIn(line["hold"]) for line in held_by["held"] if line["serial"]]
        look_again(actor=technician, stamp=_stamp(at), pick_list=listed, looks=sets)
    both(
        "hand it over",
        lambda stamp: hand_over(actor=clerk, stamp=stamp, pick_list=lists[0], received_by=technician),
        lambda stamp: twins.hand_over(
            actor=clerk.pk, key=stamp.key, at=at, pick_list=lists[1], received_by=technician.pk, job=other.number
        ),
        [{"pick_list": listed, "received_by": technician.pk, "missing": []} for listed in lists],
    )


def _stamp(at: datetime) -> Stamp:
    return Stamp(uuid.uuid4(), at, at)


def _scans(held: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"hold": line["hold"], "scanned": line["serial"] or line["lot"]} for line in held["held"]]


def _reads(bench: Bench, pairs: int) -> None:
    """The four traces, each on as many different things; answers of the same size in a shop of any size."""
    plans = list(old_jobs(bench.shop, pairs + 1))
    numbers = [f"{engine_prefix(0)}{one.at + 1:07d}" for one in plans]
    engines = {one.number: one for one in Engine.objects.filter(number__in=numbers).select_related("family", "place")}
    rank = {
        position.name: at
        for at, position in enumerate(family_of(bench.shop.catalogue.family_revisions[0]).map.positions)
    }
    bolts = [part_number(0, 21 + at % 100) for at in range(pairs + 1)]
    parts = Part.objects.in_bulk(bolts, field_name="number")
    lots = {(lot.part_id, lot.code): lot.pk for lot in Lot.objects.filter(code__in=[f"{site}/0000" for site in SITES])}
    for number, one in enumerate(plans):
        engine, part = engines[numbers[number]], parts[bolts[number]]
        lot, serial = lots[part.pk, f"{one.site}/0000"], f"{one.site}/{one.at * 4:07d}"
        sets = part_number(0, 1)
        _read(bench, "engine contents", number, partial(engine_contents, engine),
              partial(twins_of_reads.contents, engine.place_id, rank))  # fmt: skip
        _read(bench, "lot whereabouts", number, partial(lot_whereabouts, lot), partial(twins_of_reads.whereabouts, lot))
        _read(bench, "set history", number, partial(set_history, sets, serial),
              partial(twins_of_reads.history, sets, serial))  # fmt: skip
        _read(bench, "on hand", number, partial(on_hand, part.pk), partial(twins_of_reads.on_hand, part.pk))


def _read(bench: Bench, name: str, number: int, act: Callable[[], Any], twin: Callable[[], Any]) -> None:
    answer, other = pair(bench.samples[name], number, act, twin)
    said = tuple(astuple(one) for one in answer) if isinstance(answer, tuple) else astuple(answer)
    if not said:
        raise OtherAnswer(f"{name}: nothing was found")
    must_equal(bench.samples[name], number, said, other)


def _audits(bench: Bench) -> None:
    """The audit beside its twin; then one row is damaged and both must name the same rows, and repaired again."""
    sample = bench.samples["audit"]
    for number in range(AUDITS + 1):
        found, other = pair(sample, number, audit, twins_of_reads.audit)
        must_equal(sample, number, _names(found), sorted(other))
        if found:
            raise OtherAnswer(f"audit: the measured books are damaged: {found[0]}")
    for change in (1, -1):
        with connection.cursor() as cursor:
            cursor.execute(
                "UPDATE inventory_balance SET amount = amount + %s WHERE id = (SELECT MIN(b.id) FROM inventory_balance b"
                " JOIN inventory_place p ON p.id = b.place_id WHERE p.kind = 'engine' AND NOT b.single)",
                [change],
            )
        found = audit()
        if bool(found) != (change == 1) or _names(found) != sorted(twins_of_reads.audit()):
            raise OtherAnswer(f"audit: a damaged row is named {_names(found)}, by the twin {twins_of_reads.audit()}")


def _names(found: Sequence[Any]) -> list[tuple[str, Any]]:
    return sorted((finding.invariant, finding.row) for finding in found)
