"""The build sheet: what went into an engine on a job, position by position, who fitted and who checked, and what was tested."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.models import Balance
from kits.models import Fitting, Job, LeakTest
from kits.queries.at_positions import bores_of
from kits.queries.build import after_run, leak_record, newest_run, pistons_seen, run_record


def build_sheet(job: Job, today: date, hours_since: int | None = None) -> dict[str, Any]:
    """Everything on one sheet, JSON-ready; as many queries for three positions as for two hundred.

    today        for what is late of the work after the first run
    hours_since  running hours since the first run, where somebody read the meter
    """
    tests = LeakTest.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act__actor")
    run = newest_run(job)
    return {
        "job": job.number,
        "engine": job.engine.number,
        "family": job.engine.family.code,
        "state": job.state,
        "positions": _positions(job),
        "pistons": [{"position": name, **seen} for name, seen in pistons_seen(job).items()],
        "leak_tests": [leak_record(one) for one in tests.order_by("pk")],
        "first_run": run_record(run) if run else None,
        "after_first_run": after_run(job, today, hours_since),
    }


def _positions(job: Job) -> list[dict[str, Any]]:
    """What was fitted on this job, in order of the fitting; `there`: it still sits where it was fitted."""
    there = set(Balance.objects.filter(place=job.engine.place_id, amount__gt=0).values_list("spot", "item"))
    bores = bores_of(job)
    rows = Fitting.objects.filter(job=job, act__corrected_by__isnull=True).select_related(
        "act", "item__part", "item__lot", "item__serial", "spot", "fitter", "checker"
    )
    return [
        {
            "position": row.spot.name,
            "make": row.make,
            "part": row.item.part.number,
            "name": row.item.part.name,
            "lot": row.item.lot.code if row.item.lot else "",
            "serial": row.item.serial.number if row.item.serial else "",
            "amount": row.amount,
            "base": row.item.base,
            "reused": row.reused,
            "marked_for": bores.get(row.spot.name, ""),
            "fitted_at": row.act.occurred_at,
            "fitter": row.fitter.username,
            "checker": row.checker.username if row.checker else "",
            "there": (row.spot_id, row.item_id) in there,
        }
        for row in rows.order_by("pk")
    ]
