"""Rings in their grooves at a leak test, those that leaked, and what of it is to be told of a lot."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q

from inventory.domain.corrections import CORRECT_FITTING
from inventory.models import Balance
from kits.domain.leaks import RING_KINDS, TESTED_KINDS, groove_of, lacking_test, leak_said
from kits.models import Fitting, Job, LeakTest, LeakTestRing, Removal
from kits.queries.documents import family_of
from kits.queries.job_list import JobList


def rings_standing(job: Job) -> list[Balance]:
    """The rings that sit in the grooves of the engine's cylinders, by position. One query."""
    engine_map = family_of(job.family_revision).map
    rows = Balance.objects.filter(place=job.engine.place_id, amount__gt=0, part__kind__in=RING_KINDS)
    found = [
        row
        for row in rows.select_related("item__part", "item__lot", "spot")
        if engine_map.scope_of(row.spot.name.partition("/")[0]) == "cylinder"
    ]
    return sorted(found, key=lambda row: (row.spot.name, row.item_id))


def fitted_with(job: Job, rings: Collection[Balance]) -> dict[tuple[int, int], str]:
    """(spot, item) → what the ring that sits there was fitted with; empty where nobody said. One query."""
    rows = Fitting.objects.filter(
        spot__in={row.spot_id for row in rings},
        spot__place=job.engine.place_id,
        act__corrected_by__isnull=True,
        correction__isnull=True,
    )
    return {(spot, item): said for spot, item, said in rows.order_by("pk").values_list("spot", "item", "lubricant")}


def newest_leak_test(job: Job) -> LeakTest | None:
    """The newest test that was not taken back. One query."""
    rows = LeakTest.objects.filter(job=job, act__corrected_by__isnull=True)
    return rows.select_related("act").order_by("-pk").first()


def leak_test_lacking(job: Job, listed: JobList) -> str:
    """Why no passed leak test stands where the family asks for one; "" where one stands or none is asked for. Three queries."""
    leak = listed.scope.family.build.leak
    if leak is None or not leak.when or not listed.explosion.closure.places(leak.when):
        return ""
    test = newest_leak_test(job)
    if test is None:
        return lacking_test(None, (), ())
    return lacking_test(test.good, test.why, _moved_since(job, test))


def _moved_since(job: Job, test: LeakTest) -> set[str]:
    """Use positions at which a liner or a ring of one went in or came out after the test: by record, or by the clock."""
    engine_map = family_of(job.family_revision).map
    later = Q(act_id__gt=test.act_id) | Q(act__occurred_at__gt=test.act.occurred_at)
    names: set[str] = set()
    for rows in (Fitting.objects, Removal.objects):
        found = rows.filter(
            later,
            job=job,
            spot__place=job.engine.place_id,
            item__part__kind__in=TESTED_KINDS,
            act__corrected_by__isnull=True,
        ).exclude(act__kind=CORRECT_FITTING)  # nothing was touched: it was recorded wrongly
        names |= set(found.values_list("spot__name", flat=True))
    return {name for name in names if engine_map.scope_of(name.partition("/")[0]) == "cylinder"}


def rings_of(test: LeakTest) -> list[dict[str, Any]]:
    """Every ring of a leak test in its groove, JSON-ready. One query."""
    return [
        {
            "position": row.position,
            "groove": groove_of(row.position),
            "part": row.item.part.number,
            "lot": row.item.lot_code,
            "item": row.item_id,
            "amount": row.amount,
            "lubricant": row.lubricant,
            "leaked": row.leaked,
        }
        for row in test.rings.select_related("item__part", "item__lot").order_by("position", "item_id")
    ]


@dataclass(frozen=True, slots=True)
class Leaked:
    """A ring that leaked, as a leak test found it. `out`: it came out since; `looked`: whole, rolled, cut; empty: not said."""

    job: str
    engine: str
    position: str
    groove: str
    part: str
    lot: str
    item_id: int
    amount: int
    lubricant: str
    tested_at: datetime
    out: bool
    looked: str
    said: str


def leaked_on(job: Job) -> list[Leaked]:
    """The rings that leaked on a job, by any test that was not taken back, oldest first. Two queries."""
    return _leaked(job__pk=job.pk)


def leaks_of_lot(lot_id: int) -> list[Leaked]:
    """Where rings of a lot leaked, oldest first. Two queries at most."""
    return _leaked(item__lot=lot_id)


def _leaked(**which: Any) -> list[Leaked]:
    named = {f"test__{name}" if name.startswith("job") else name: value for name, value in which.items()}
    rows = list(
        LeakTestRing.objects.filter(**named, leaked=True, test__act__corrected_by__isnull=True)
        .select_related("test__act", "test__job__engine", "item__part", "item__lot")
        .order_by("pk")
    )
    outs = _outs(rows) if rows else {}
    found = []
    for row in rows:
        test, place = row.test, row.position.partition("/")[0]
        later = [looked for act, looked in outs.get((test.job_id, row.item_id, row.position), ()) if act > test.act_id]
        looked = next((one for one in later if one), "")
        found.append(
            Leaked(
                job=test.job.number,
                engine=test.job.engine.number,
                position=row.position,
                groove=groove_of(row.position),
                part=row.item.part.number,
                lot=row.item.lot_code,
                item_id=row.item_id,
                amount=row.amount,
                lubricant=row.lubricant,
                tested_at=test.act.occurred_at,
                out=bool(later),
                looked=looked,
                said=leak_said(place, test.job.number, looked),
            )
        )
    return found


def _outs(rows: Collection[LeakTestRing]) -> dict[tuple[int, int, str], list[tuple[int, str]]]:
    """(job, item, position) → act and look of each removal, in order."""
    found: dict[tuple[int, int, str], list[tuple[int, str]]] = {}
    removals = Removal.objects.filter(
        job__in={row.test.job_id for row in rows},
        item__in={row.item_id for row in rows},
        act__corrected_by__isnull=True,
    )
    columns = ("job_id", "item_id", "spot__name", "act_id", "looked")
    for job, item, position, act, looked in removals.order_by("pk").values_list(*columns):
        found.setdefault((job, item, position), []).append((act, looked))
    return found
