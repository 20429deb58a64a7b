"""Plugs, dowels and oil jets of a job: counted out, counted back, missing."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from kits.domain.washed_out import Count, Tally, tally
from kits.models import HotWash, Job, WashedCount
from kits.queries.documents import family_of


def counts_of(job: Job) -> list[Count]:
    """Every count of the job, oldest first. One query."""
    rows = WashedCount.objects.filter(job=job).order_by("pk")
    return [Count(*row) for row in rows.values_list("name", "count", "back", "recount")]


def tally_of(job: Job) -> tuple[Tally, ...]:
    """How each kind of the family's list stands on this job."""
    return tally(family_of(job.family_revision).washed_out, counts_of(job))


def said(stands: tuple[Tally, ...]) -> list[dict[str, Any]]:
    """Tallies, JSON-ready."""
    return [
        {
            "name": one.name,
            "listed": one.listed,
            "counted": one.counted,
            "out": one.out,
            "back": one.back,
            "missing": one.missing,
        }
        for one in stands
    ]


def hot_washes_of(job: Job) -> list[HotWash]:
    """Hot washes that were not taken back, in order of their moment. One query."""
    rows = HotWash.objects.filter(job=job, act__corrected_by__isnull=True)
    return list(rows.select_related("act__actor").order_by("act__occurred_at", "pk"))


def washed_at(job: Job) -> dict[str, list[datetime]]:
    """Piece → when it came out of each hot wash. One query."""
    found: dict[str, list[datetime]] = {}
    rows = HotWash.objects.filter(job=job, act__corrected_by__isnull=True)
    for piece, out_at in rows.values_list("piece", "act__occurred_at"):
        found.setdefault(piece, []).append(out_at)
    return found


def record(job: Job) -> dict[str, Any]:
    """How it stands, who counted what when, and the hot washes. Three queries."""
    rows = WashedCount.objects.filter(job=job).select_related("act__actor").order_by("pk")
    return {
        "job": job.number,
        "washed_out": said(tally_of(job)),
        "hot_washes": [
            {"piece": one.piece, "by": one.act.actor.username, "out_at": one.act.occurred_at}
            for one in hot_washes_of(job)
        ],
        "counts": [
            {
                "name": one.name,
                "count": one.count,
                "back": one.back,
                "recount": one.recount,
                "by": one.act.actor.username,
                "at": one.act.occurred_at,
                "reason": one.act.reason,
            }
            for one in rows
        ],
    }
