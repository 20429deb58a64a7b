"""Liners that went in on a job and of whose height nothing is decided, and those that a person let be."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from inventory.models import Balance
from kits.domain.standing_verdicts import SET_KIND, Liner, Said, Undecided, undecided_heights
from kits.models import Fitting, HeightLetBe, Job
from kits.queries.documents import family_of
from kits.queries.standing_verdicts import laid_out, verdicts_on


def heights_open(job: Job, coming: Collection[Liner] = (), said: Sequence[Said] | None = None) -> list[Undecided]:
    """The liners that were fitted on the job, or go in now, whose height in their bore is on no record, or doubtful, but those that a
    person let be; by cylinder. No query where the family states no limits of heights; one where no set was fitted and none goes in.

    coming  what goes in now, in place of what stands there; said: what `verdicts_on` found, where it was asked already
    """
    if family_of(job.family_revision).facts.protrusion is None:
        return []
    now = {one.cylinder for one in coming}
    liners = [*coming, *(one for one in _fitted(job) if one.cylinder not in now)]
    if not liners:
        return []
    rows = list(verdicts_on(job) if said is None else said)
    found = undecided_heights(rows, liners)
    if found:
        found = undecided_heights([*rows, *laid_out(job)], [one.liner for one in found])
    words = words_on_heights(job) if found else {}
    left = [
        one for one in found if one.liner.fitting not in words or not one.answered_by(words[one.liner.fitting].act_id)
    ]
    return sorted(left, key=lambda one: one.liner.cylinder)


def words_on_heights(job: Job) -> dict[int | None, HeightLetBe]:
    """Id of a fitting → the newest word that its liner is let be; corrected ones count for nothing. One query."""
    rows = HeightLetBe.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act__actor")
    return {row.fitting_id: row for row in rows.order_by("pk")}


def heights_let_be(job: Job) -> list[dict[str, Any]]:
    """Words on fittings that count, oldest first, JSON-ready. One query."""
    rows = HeightLetBe.objects.filter(
        job=job,
        act__corrected_by__isnull=True,
        fitting__act__corrected_by__isnull=True,
        fitting__correction__isnull=True,
    ).select_related("act__actor", "fitting__spot", "fitting__item__serial")
    return [
        {
            "position": row.fitting.spot.name,
            "serial": row.fitting.item.serial_number,
            "height": "not recorded" if row.result_id is None else "doubtful",
            "result": row.result_id,
            "by": row.act.actor.username,
            "at": row.act.occurred_at,
            "reason": row.reason,
        }
        for row in rows.order_by("pk")
    ]


def _fitted(job: Job) -> list[Liner]:
    """The newest fitting in each bore of a set that still stands there. Two queries."""
    rows = Fitting.objects.filter(
        job=job, item__part__kind=SET_KIND, act__corrected_by__isnull=True, correction__isnull=True
    )
    newest = {row.spot_id: row for row in rows.select_related("spot", "item__serial", "corrects").order_by("pk")}
    if not newest:
        return []
    stands = Balance.objects.filter(place=job.engine.place_id, spot__in=newest, amount__gt=0)
    there = set(stands.values_list("spot_id", "item_id"))
    return [
        Liner(
            row.spot.name.partition("/")[0],
            row.item.serial_number,
            row.reused,
            row.first_recorded,
            row.pk,
        )
        for spot, row in newest.items()
        if (spot, row.item_id) in there
    ]
