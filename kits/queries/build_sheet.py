"""The build sheet: what went into an engine on a job, position by position, who fitted and who checked, what was measured
and accepted for it, and what was tested."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.models import Balance
from kits.models import Fitting, Job, LeakTest
from kits.queries.build import after_run, leak_record, newest_run, pistons_seen, run_record
from kits.queries.documents import family_of
from kits.queries.marks import bores_of
from kits.queries.measured import Measured, measured_on


def build_sheet(job: Job, today: date, hours_since: int | None = None) -> dict[str, Any]:
    """Everything on one sheet, JSON-ready; as many queries for three positions as for two hundred.

    today        for what is late of the work after the first run
    hours_since  running hours since the first run, where somebody read the meter
    """
    tests = LeakTest.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act__actor")
    run = newest_run(job)
    measured = measured_on(job)
    return {
        "job": job.number,
        "engine": job.engine.number,
        "family": job.engine.family.code,
        "state": job.state,
        "positions": _positions(job, measured),
        "results": measured.sheet(),
        "pistons": [{"position": name, **seen} for name, seen in pistons_seen(job).items()],
        "leak_tests": [leak_record(one) for one in tests.order_by("pk")],
        "first_run": run_record(run) if run else None,
        "after_first_run": after_run(job, today, hours_since),
    }


def _positions(job: Job, measured: Measured) -> list[dict[str, Any]]:
    """What was fitted on this job, in order of the fitting; `there`: it still sits where it was fitted."""
    engine_map = family_of(job.family_revision).map
    there = set(Balance.objects.filter(place=job.engine.place_id, amount__gt=0).values_list("spot", "item"))
    bores = bores_of(job)
    rows = Fitting.objects.filter(job=job, act__corrected_by__isnull=True).select_related(
        "act", "item__part", "item__lot", "item__serial", "spot", "fitter", "checker"
    )
    found = []
    for row in rows.order_by("pk"):
        position, part = row.spot.name, row.item.part.number
        serial = row.item.serial.number if row.item.serial else ""
        rests = measured.of(engine_map, position, part, serial)
        found.append(
            _fitted(row, bores.get(position, ""), (row.spot_id, row.item_id) in there)
            | {"results": [one.id for one in rests], "accepted": measured.accepted_for(rests, position, part)}
        )
    return found


def _fitted(row: Fitting, marked_for: str, there: bool) -> dict[str, Any]:
    return {
        "position": row.spot.name,
        "make": row.make,
        "part": row.item.part.number,
        "name": row.item.part.name,
        "lot": row.item.lot.code if row.item.lot else "",
        "serial": row.item.serial.number if row.item.serial else "",
        "amount": row.amount,
        "base": row.item.base,
        "reused": row.reused,
        "marked_for": marked_for,
        "fitted_at": row.act.occurred_at,
        "fitter": row.fitter.username,
        "checker": row.checker.username if row.checker else "",
        "there": there,
    }
