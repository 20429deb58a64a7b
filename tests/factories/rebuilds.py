"""Rebuild jobs of the demo shop's catalogue, step by step through the real services."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import Permission
from django.db.models import Q

from inventory.models import Item, Part, Person
from inventory.services.open_tube import open_tube
from inventory.services.receive import ReceiveLine, receive
from kits.models import Engine, Job
from kits.queries.job_list import JobList, job_list
from kits.queries.scope import job_by_number
from kits.services.fit import FitIn, fit
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, book_job
from kits.services.pick_kit import Scan, hand_over, pick
from tests.factories.looks import looked_at
from tests.factories.sealing import dry_jacket, sealed, sealed_positions
from tests.factories.shop import home_of, stand
from tests.factories.stores import NOON, sheets_read, stamp

BEFORE = datetime(2024, 12, 2, 9, 0, tzinfo=UTC)


def person(name: str, *rights: str) -> Person:
    """Somebody by name, made once, with these rights of the rebuilds."""
    found, _ = Person.objects.get_or_create(username=name)
    if rights:
        found.user_permissions.add(*Permission.objects.filter(codename__in=rights))
        found = Person.objects.get(pk=found.pk)
    return found


def shelve(pieces: Mapping[str, int], site: str = "TB") -> None:
    """Put pieces (litres of what is kept by volume) of parts on their shelves, a lot each."""
    for number, count in pieces.items():
        stand(Part.objects.get(number=number), count, person("receiver"), BEFORE, site=site)


def shelve_lot(number: str, count: int, lot: str, *, cure: str = "", printed_on: date | None = None) -> None:
    """A lot of its own."""
    part = Part.objects.get(number=number)
    stand(part, count, person("receiver"), BEFORE, site="TB", lot=lot, cure=cure, printed_on=printed_on)


def shelve_sets(number: str, *serials: str) -> None:
    """Matched sets by serial."""
    stand(Part.objects.get(number=number), 1, person("receiver"), BEFORE, site="TB", serials=serials)


def receive_at(number: str, lines: Sequence[ReceiveLine], site: str = "TB") -> None:
    """Receive lines as they are given onto the shelf of that part's kind."""
    part = Part.objects.get(number=number)
    receive(actor=person("receiver"), stamp=stamp(BEFORE), supplier="Saltby", place=home_of(part, site), lines=lines)


def book(
    number: str = "J1",
    engine: str = "A4-020543",
    operations: Sequence[str] = ("P1",),
    findings: Iterable[tuple[str, str]] = (),
    fit_on: date = date(2025, 1, 20),
    at: datetime = NOON,
    **more: Any,
) -> Job:
    """Book a job; the engine is made where it is new."""
    book_job(
        actor=person("clerk"),
        stamp=stamp(at),
        number=number,
        engine_number=engine,
        site="TB",
        operations=operations,
        strip_on=date(2025, 1, 10),
        fit_on=fit_on,
        findings=[FindingIn(code, place) for code, place in findings],
        new_engine=not Engine.objects.filter(number=engine).exists(),
        **more,
    )
    return job_by_number(number)


#: The day of nearly everything here.
TODAY = NOON.date()


def listed(job: Job, on: date = TODAY) -> JobList:
    """The list of a job now."""
    return job_list(job_by_number(job.number), on)


def parts_on(job: Job) -> dict[str, int]:
    """Part → amount of a job's list, in the list's base units."""
    totals: dict[str, int] = {}
    for line in listed(job).lines:
        totals[line.part] = totals.get(line.part, 0) + line.amount
    return totals


def hold(job: Job, **more: Any) -> dict[str, Any]:
    """Hold what the list still asks for."""
    return hold_kit(actor=person("keeper"), stamp=stamp(), job=job.number, **more).body


def held(body: Mapping[str, Any]) -> dict[str, int]:
    """Part → pieces of a hold's outcome."""
    totals: dict[str, int] = {}
    for row in body["held"]:
        totals[row["part"]] = totals.get(row["part"], 0) + row["amount"]
    return totals


def missing(body: Mapping[str, Any]) -> dict[str, int]:
    """Part → pieces that a hold's outcome names as short."""
    totals: dict[str, int] = {}
    for row in body["shorts"]:
        totals[row["part"]] = totals.get(row["part"], 0) + row["amount"]
    return totals


def label(row: Mapping[str, Any]) -> str:
    """What a scan of a held thing reads."""
    return str(row.get("serial") or row.get("tube") or row["lot"] or row["part"])


def take(body: Mapping[str, Any], only: Iterable[str] | None = None, amounts: Mapping[str, int] | None = None) -> Any:
    """Pick the lines of a hold's outcome (of these parts); `amounts`: part → pieces counted, where not the whole line."""
    wanted = None if only is None else set(only)
    scans = [
        Scan(row["hold"], label(row), (amounts or {}).get(row["part"]))
        for row in body["held"]
        if wanted is None or row["part"] in wanted
    ]
    return pick(actor=person("keeper"), stamp=stamp(), pick_list=body["pick_list"], scans=scans)


def give(body: Mapping[str, Any], missing: Sequence[str] | None = None) -> Any:
    """Hand the cart over; without `missing`, what was short when it was held is named."""
    if missing is None:
        missing = sorted({row["wanted"] for row in body.get("shorts", ())})
    sheets_read(person("fitter"))
    looked_at(body["pick_list"])
    return hand_over(
        actor=person("keeper"),
        stamp=stamp(),
        pick_list=body["pick_list"],
        received_by=person("fitter", "act_fit"),
        missing=missing,
    )


def at_bench(job: Job, **more: Any) -> dict[str, Any]:
    """Hold, pick and hand over everything the shelves have; the hold's outcome."""
    body = hold(job, **more)
    take(body)
    give(body)
    return body


def item_at(body: Mapping[str, Any], position: str) -> int:
    """The item that was held for a position."""
    return next(int(row["item"]) for row in body["held"] for share in row["positions"] if share[0] == position)


def put_in(job: Job, *fittings: tuple[str, int] | FitIn, checker: bool = True, at: datetime = NOON) -> Any:
    """Fit (position, item) pairs, one piece each."""
    return fit(
        actor=person("fitter"),
        stamp=stamp(at),
        job=job.number,
        fittings=[one if isinstance(one, FitIn) else FitIn(*one) for one in fittings],
        checker=person("checker", "act_check") if checker else None,
    )


def put_all_in(job: Job, body: Mapping[str, Any], but: Iterable[str] = ()) -> None:
    """Open the tubes and fit everything that a hold brought, but at these positions; sealed joints last, by their gates."""
    left_out = set(but)
    joints = sealed_positions(job) - left_out
    parts = {part.number: part for part in Part.objects.filter(number__in={row["part"] for row in body["held"]})}
    fittings, tubes = [], {}
    for row in body["held"]:
        part = parts[row["part"]]
        if part.base == "piece" and part.net_ul and not row["tube"]:
            tubes |= {share[0]: opened(job, row["item"], f"{job.number}/{row['hold']}") for share in row["positions"]}
        elif row["tube"]:
            tubes |= {share[0]: row["item"] for share in row["positions"]}
        else:
            fittings += [FitIn(share[0], row["item"], share[2], share[1]) for share in row["positions"]]
    for line in listed(job).lines:
        for key, amount in zip(line.keys, line.amounts, strict=True):
            if key[0] in tubes and line.base != "piece":
                fittings.append(FitIn(key[0], tubes[key[0]], amount, key[1]))
    put_in(job, *(one for one in fittings if one.position not in left_out | joints))
    if joints:
        dry_jacket(job, person("fitter"))
        put_in(job, *sealed(job, {one: tubes[one] for one in joints}, person("fitter")))


def opened(job: Job, item_id: int, number: str) -> int:
    """Open a closed tube at the job's bench; the item of the open one."""
    body = open_tube(
        actor=person("fitter"), stamp=stamp(), item_id=item_id, place=job.bench.code, tube_number=number
    ).body
    return int(body["item"])


def lying_at(job: Job) -> dict[str, int]:
    """Part → amount on the job's cart and bench."""
    places = Q(balances__place=job.cart_id) | Q(balances__place=job.bench_id)
    rows = Item.objects.filter(places, balances__amount__gt=0).values_list("part__number", "balances__amount")
    totals: dict[str, int] = {}
    for part, amount in rows:
        totals[part] = totals.get(part, 0) + amount
    return totals


def later(days: int) -> datetime:
    """Noon, so many days on."""
    return NOON + timedelta(days=days)
