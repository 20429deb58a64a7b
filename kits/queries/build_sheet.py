"""The build sheet: what went into an engine on a job, position by position, who fitted and who checked, what was measured
and accepted for it, and what was tested."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any

from inventory.domain.items import Tracked
from inventory.models import Balance
from kits.domain.engine_map import ENGINE
from kits.models import Fitting, Job, LeakTest
from kits.queries.build import after_run, leak_record, newest_run, pistons_seen, run_record
from kits.queries.documents import family_of
from kits.queries.heights import heights_let_be
from kits.queries.marks import bores_of
from kits.queries.measured import Measured, measured_on
from kits.queries.photo_checks import photos_of
from kits.queries.readings import ReadingRow, readings_of
from kits.queries.rubber import is_rubber
from kits.queries.substitute_words import Agreed


def build_sheet(job: Job, today: date, hours_since: int | None = None) -> dict[str, Any]:
    """Everything on one sheet, JSON-ready; as many queries for three positions as for two hundred.

    today        for what is late of the work after the first run
    hours_since  running hours since the first run, where somebody read the meter
    """
    tests = LeakTest.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act__actor")
    run = newest_run(job)
    measured, readings = measured_on(job), readings_of(job=job)
    return {
        "job": job.number,
        "engine": job.engine.number,
        "family": job.engine.family.code,
        "state": job.state,
        "positions": _positions(job, measured, readings),
        "readings": readings,
        "results": measured.sheet(),
        "heights_let_be": heights_let_be(job),
        "pistons": [{"position": name, **seen} for name, seen in pistons_seen(job).items()],
        "photo_checks": photos_of(job),
        "leak_tests": [leak_record(one) for one in tests.order_by("pk")],
        "first_run": run_record(run, family_of(job.family_revision).build.run_source) if run else None,
        "after_first_run": after_run(job, today, hours_since),
    }


def _positions(job: Job, measured: Measured, readings: Sequence[ReadingRow]) -> list[dict[str, Any]]:
    """What was fitted on this job, in order of the fitting; `there`: it still sits where it was fitted.

    readings   ids of those that are of the position, of its cylinder, main or valve, or of the set that sits there
    """
    engine_map = family_of(job.family_revision).map
    there = set(Balance.objects.filter(place=job.engine.place_id, amount__gt=0).values_list("spot", "item"))
    bores = bores_of(job)
    counted = Fitting.objects.filter(job=job, act__corrected_by__isnull=True, correction__isnull=True).select_related(
        "act", "item__part", "item__lot", "item__serial", "spot", "fitter", "checker", "instead_of"
    )
    rows = list(counted.order_by("pk"))
    agreed = Agreed(job, rows)
    found = []
    for row in rows:
        position, part = row.spot.name, row.item.part.number
        serial = row.item.serial_number
        rests = measured.of(engine_map, position, part, serial)
        found.append(
            _fitted(row, bores.get(position, ""), (row.spot_id, row.item_id) in there)
            | {
                "instead_of": agreed.said(row),
                "readings": [one.id for one in readings if _is_of(row, (one.place, one.set), engine_map.outward)],
                "results": [one.id for one in rests],
                "accepted": measured.accepted_for(rests, position, part),
            }
        )
    return found


def _fitted(row: Fitting, marked_for: str, there: bool) -> dict[str, Any]:
    return {
        "position": row.spot.name,
        "make": row.make,
        "item": row.item_id,
        "part": row.item.part.number,
        "name": row.item.part.name,
        "lot": row.item.lot_code,
        "lot_unknown": row.item.part.tracked_by == Tracked.LOT and row.item.lot is None,
        "serial": row.item.serial_number,
        "amount": row.amount,
        "base": row.item.base,
        "reused": row.reused,
        "lubricant": row.lubricant,
        "open": _open(row),
        "marked_for": marked_for,
        "fitted_at": row.act.occurred_at,
        "fitter": row.fitter.username,
        "checker": row.checker.username if row.checker else "",
        "there": there,
    }


def _open(row: Fitting) -> list[str]:
    """What nobody can show of a fitting: marks of an old part, what rubber was fitted with."""
    unsaid = is_rubber(row.item.part) and not row.lubricant
    return [*([row.doubtful] if row.doubtful else []), *(["not said what it was fitted with"] if unsaid else [])]


def _is_of(row: Fitting, names: Iterable[str], outward: Callable[[str], tuple[str, ...]]) -> bool:
    """Whether a reading names the position, the narrowest place that holds it, or the set; the whole engine is neither."""
    mine = {row.spot.name, *(place for place in outward(row.spot.name)[1:2] if place != ENGINE)}
    if row.item.serial is not None:
        mine.add(row.item.serial.number)
    return not mine.isdisjoint(names)
