"""Verdicts of clearances, ring gaps and heights on a job that stand, for what they forbid."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inventory.models import Balance
from kits.domain.standing_verdicts import BINDS, HEIGHT, Said, heights_that_fail
from kits.models import Job, MeasuredResult
from kits.queries.layouts import layouts_of
from kits.queries.results import ResultRow, rendered, results


def verdicts_on(job: Job) -> list[Said]:
    """Those that are not stale. One query where nothing was judged, three else; where a height fails, those of `layouts_of` too: a
    layout that was accepted since speaks of its sets in their bores."""
    rows = rendered(list(results().filter(job=job, kind__in=sorted(BINDS)).order_by("pk")))
    found = [
        Said(
            id=row.id,
            kind=row.kind,
            subject=row.subject,
            set=row.document.get("set", ""),
            verdict=row.document.get("verdict", ""),
            why=tuple(row.document.get("why", ())),
            put_aside=bool(row.document.get("put_aside")),
        )
        for row in rows
        if not _stale(row)
    ]
    return found + _laid_out(job) if any(one.kind == HEIGHT and one.fails for one in found) else found


def under_liners(job: Job, but: str = "") -> dict[str, dict[str, Any]]:
    """Cylinder → the newest verdict's document on a liner's height there, in good order of readings. Three queries at most.

    but  a cylinder that is left out
    """
    rows = rendered(list(results().filter(job=job, kind=HEIGHT).order_by("pk")))
    found = {row.subject.partition("/")[0]: row.document for row in rows if not _stale(row)}
    return {place: document for place, document in found.items() if place != but}


def cracked_ledges(job: Job) -> set[str]:
    """Cylinders whose ledge is cracked, by the newest verdict on a liner's height there; readings do not matter to a crack."""
    rows = MeasuredResult.objects.filter(job=job, kind=HEIGHT).order_by("pk").values_list("subject", "document")
    newest = {subject.partition("/")[0]: document for subject, document in rows}
    return {place for place, document in newest.items() if document.get("ledge_cracked")}


def _stale(row: ResultRow) -> bool:
    """A height is of one set in one bore: another set judged there since says nothing of it, so only readings make it stale."""
    if row.kind == HEIGHT and row.replaced_by is not None:
        return len(row.why) > 1
    return row.stale


def _laid_out(job: Job) -> list[Said]:
    newest = next(iter(layouts_of(job)), None)
    if newest is None or not newest.stands:
        return []
    verdict = "doubtful" if newest.doubtful else "pass"
    return [Said(newest.id, HEIGHT, place.position, place.serial, verdict, (), False) for place in newest.places]


def heights_failing(job: Job, coming: Mapping[str, str], said: Sequence[Said] | None = None) -> dict[str, Said]:
    """Cylinder → the verdict on the height of the liner that stands there, where it fails. One query more than `verdicts_on`.

    coming  cylinder → serial of a set that goes in now; said: what `verdicts_on` found, where it was asked already
    """
    rows = verdicts_on(job) if said is None else said
    if not any(one.kind == HEIGHT and one.fails for one in rows):
        return {}
    sets = Balance.objects.filter(place=job.engine.place_id, part__kind="matched set", amount__gt=0).order_by("pk")
    there = sets.values_list("spot__name", "item__serial__number")
    standing = {name.partition("/")[0]: serial or "" for name, serial in there}
    return heights_that_fail(rows, standing | dict(coming))
