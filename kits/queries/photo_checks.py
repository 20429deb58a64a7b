"""Checks with a photo of a job: what was fitted and is not seen good yet, and what was looked at."""

from __future__ import annotations

from typing import Any

from inventory.models import Balance
from kits.domain.photo_checks import PhotoCheck, open_checks
from kits.models import Fitting, Job, PhotoLook
from kits.queries.documents import family_of


def fitted_at(job: Job, positions: frozenset[str]) -> dict[str, Fitting]:
    """Use position → the newest fitting there on this job of what still sits there. Two queries."""
    there = set(
        Balance.objects.filter(place=job.engine.place_id, spot__name__in=positions, amount__gt=0).values_list(
            "spot__name", "item"
        )
    )
    rows = Fitting.objects.filter(
        job=job, spot__name__in=positions, act__corrected_by__isnull=True, correction__isnull=True
    )
    newest = {row.spot.name: row for row in rows.select_related("spot", "corrects").order_by("pk")}
    return {name: row for name, row in newest.items() if (name, row.item_id) in there}


def unseen(job: Job) -> list[tuple[PhotoCheck, str]]:
    """What was fitted on the job and nobody else has seen good since. Three queries; none where the family asks for nothing."""
    checks = family_of(job.family_revision).build.photo_checks
    if not checks:
        return []
    fitted = fitted_at(job, frozenset().union(*(check.positions for check in checks)))
    newest = {
        (row.what, row.position): row
        for row in PhotoLook.objects.filter(job=job, position__in=fitted).order_by("pk")
        if row.act_id > fitted[row.position].first_recorded
    }
    return open_checks(checks, fitted, [key for key, row in newest.items() if row.good])


def photos_of(job: Job) -> list[dict[str, Any]]:
    """Every look, oldest first, JSON-ready. One query."""
    return [
        {
            "what": row.what,
            "position": row.position,
            "photo_ref": row.photo_ref,
            "good": row.good,
            "note": row.note,
            "by": row.act.actor.username,
            "at": row.act.occurred_at,
        }
        for row in PhotoLook.objects.filter(job=job).select_related("act__actor").order_by("pk")
    ]
