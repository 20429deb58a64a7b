"""Engines on record: by number, with near misses; who owns them and when they were last here; which of them hold a lot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q, QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.items import Base
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.domain.text import shown
from inventory.domain.whereabouts import Whereabouts
from inventory.queries.search import by_nearness
from kits.domain import engine_numbers
from kits.models import Engine, EngineFamily, Job


@dataclass(frozen=True, slots=True)
class NearEngine:
    """An engine whose number is close to what was typed; owner's id (personal data stands with the owner), last job."""

    number: str
    family: str
    owner_id: int | None
    owner: str
    last_job: str
    last_job_on: date | None


@dataclass(frozen=True, slots=True)
class EngineContact:
    """An engine, who owns it, and what was known of it when it was last here; hours and kilometres as at arrival."""

    place_id: int
    number: str
    family: str
    owner_id: int | None
    owner: str
    last_job: str
    last_job_on: date | None
    hours: Decimal | None
    kilometres: int | None


@dataclass(frozen=True, slots=True)
class LotEngine:
    """An engine that holds pieces of a lot: `amount` for certain at `positions`, `possible` with the lot unknown."""

    engine: EngineContact
    amount: int
    positions: tuple[str, ...]
    possible: int
    possible_positions: tuple[str, ...]


def engine_by_number(text: str) -> Engine:
    """An engine with family, place and owner, forgiving of case, spaces and dashes; DomainError "engine-unknown" names near ones.

    Two queries where it is found at once.
    """
    number = text
    families = list(EngineFamily.objects.order_by("prefix"))
    try:
        number = engine_numbers.parse_engine_number(text, {row.prefix: row.width for row in families}).text
    except DomainError:
        number = text[:40]
    found = Engine.objects.select_related("family", "place", "owner").filter(number=number).first()
    if found is None:
        near = [one.number for one in near_engines(text)]
        raise DomainError(
            "engine-unknown",
            f"Engine {shown(text)} is not on record." + (f" Near: {', '.join(near)}." if near else ""),
            ways_out=tuple(f"Is it {number}?" for number in near),
            engine=shown(text),
            near=near,
        )
    return found


def near_engines(text: str, limit: int = 6) -> tuple[NearEngine, ...]:
    """Engines on record whose numbers differ from the text by a slip of the hand, nearest first. Four queries at most.

    Where the text begins like the numbers of a family, only that family is searched.
    """
    known = Engine.objects.order_by("pk")
    try:
        key = compare_key(text)
    except DomainError:
        return ()
    families = [row for row in EngineFamily.objects.all() if key.startswith(compare_key(row.prefix))]
    if families:
        known = known.filter(family__in=families)
    numbers = engine_numbers.near_engines(text, known.values_list("number", flat=True), limit)
    contacts = {one.number: one for one in _contacts(Q(number__in=numbers))} if numbers else {}
    return tuple(
        NearEngine(one.number, one.family, one.owner_id, one.owner, one.last_job, one.last_job_on)
        for one in (contacts[number] for number in numbers)
    )


def search_engines(rows: QuerySet[Engine], text: str) -> QuerySet[Engine]:
    """Of these engines those that a person may mean: this one however it is written, near ones, those with the text in them; each with its
    `rank`."""
    near = [one.number for one in near_engines(text)]
    with suppress(DomainError):
        near.insert(0, engine_by_number(text).number)
    return by_nearness(rows.filter(Q(number__in=near) | Q(number__icontains=text.strip())), ("number", near))


def engines_at(place_ids: Collection[int]) -> tuple[EngineContact, ...]:
    """The engines that are these places, by number. Two queries."""
    return _contacts(Q(place__in=set(place_ids)))


def engines_with_lot(found: Whereabouts) -> tuple[LotEngine, ...]:
    """The engines that a lot is in now (of kits, what came out of them), and those that hold pieces of its part with the lot unknown. Two queries.

    Beads out of an opened tube count as one each: the amount of a sealant in an engine is not a number of pieces.
    """
    certain: dict[int, list[tuple[str, int]]] = defaultdict(list)
    possible: dict[int, list[tuple[str, int]]] = defaultdict(list)
    for row in found.engines:
        certain[row.place_id].append((row.spot, row.amount))
    for tube in found.tubes:
        if tube.kind == PlaceKind.ENGINE:
            certain[tube.place_id].append((tube.spot, 1))
    for inner in found.out_of_kits:
        if inner.kind == PlaceKind.ENGINE:
            certain[inner.place_id].append((inner.spot, inner.amount if inner.base == Base.PIECE else 1))
    for maybe in found.possible:
        if maybe.kind == PlaceKind.ENGINE:
            possible[maybe.place_id].append((maybe.spot, maybe.amount))
    return tuple(
        LotEngine(
            engine,
            sum(amount for _, amount in certain[engine.place_id]),
            tuple(sorted({spot for spot, _ in certain[engine.place_id]})),
            sum(amount for _, amount in possible[engine.place_id]),
            tuple(sorted({spot for spot, _ in possible[engine.place_id]})),
        )
        for engine in engines_at(certain.keys() | possible.keys())
    )


def _contacts(which: Q) -> tuple[EngineContact, ...]:
    engines = list(Engine.objects.filter(which).select_related("family", "owner").order_by("number"))
    last = last_jobs(engines)
    return tuple(_contact(engine, last.get(engine.pk)) for engine in engines)


def last_jobs(engines: Collection[Engine]) -> dict[int, Job]:
    """The last job of each engine, by the engine's id; cancelled ones are none. One query."""
    jobs = Job.objects.filter(engine__in=engines).exclude(state=Job.State.CANCELLED)
    return {job.engine_id: job for job in jobs.order_by("strip_on", "pk")}


def _contact(engine: Engine, job: Job | None) -> EngineContact:
    return EngineContact(
        place_id=engine.place_id,
        number=engine.number,
        family=engine.family.code,
        owner_id=engine.owner_id,
        owner=engine.owner.name if engine.owner else "",
        last_job=job.number if job else "",
        last_job_on=job.strip_on if job else None,
        hours=job.hours if job else None,
        kilometres=job.kilometres if job else None,
    )
