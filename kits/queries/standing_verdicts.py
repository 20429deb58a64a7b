"""Verdicts of clearances, ring gaps and heights on a job that stand, for what they forbid."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from inventory.models import Balance
from inventory.queries import by_hand
from inventory.queries.stock import Standing
from kits.domain.as_judged import AsJudged
from kits.domain.families import Family
from kits.domain.sizes import keeps_cuts
from kits.domain.standing_verdicts import (
    BINDS,
    HEIGHT,
    OF_THE_SET,
    SET_KIND,
    Said,
    heights_against,
    judged_again_first,
    why_in_no_bore,
)
from kits.models import Job, MeasuredResult
from kits.queries.documents import family_of
from kits.queries.layouts import layouts_of
from kits.queries.results import ResultRow, rendered, results


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A set that stands on a shelf and goes into no engine of the family by what was measured of it; without a serial, a part that a
    replacement notice leaves to other engines."""

    serial: str
    part: str
    why: str


def verdicts_on(job: Job, serials: Collection[int] = ()) -> list[Said]:
    """Those that count on a job: of the job, and what was judged of sets (by id of their serials) on others.

    One query where nothing was judged, five else; where a height fails or is to be judged again, those of `layouts_of` too: a layout
    that was accepted since speaks of its sets in their bores.
    """
    mine = Q(job=job, kind__in=sorted(BINDS))
    about = Q(serial__in=set(serials), kind__in=OF_THE_SET) if serials else Q()
    rows = list(results().filter(mine | about).order_by("pk"))
    found = _said(rows, family_of(job.family_revision), job.number)
    return found + laid_out(job) if _asks_of_layout(found) else found


def _asks_of_layout(said: Sequence[Said]) -> bool:
    return any(one.kind == HEIGHT and not one.lets_in for one in said)


def sets_that_fail(family: Family, sets: Mapping[int, str], job: str = "") -> dict[str, str]:
    """Serial → why the set goes into no engine of the family, by what was judged of it on any job. One query where nothing was
    judged of these, four else.

    sets  id of the serial → serial; job: number of the job that asks
    """
    if not sets:
        return {}
    judged = [row[0] for row in by_hand.rows(_JUDGED.format(by_hand.marks(len(sets))), [*OF_THE_SET, *sets])]
    if not judged:
        return {}
    said = _said(list(results().filter(pk__in=judged).order_by("pk")), family, job)
    return {serial: why for serial in sets.values() if (why := why_in_no_bore(said, serial))}


#: By hand: asked at every list and every hold with sets in it, and nearly always there is nothing.
_JUDGED = "SELECT id FROM kits_measuredresult WHERE kind IN (%s, %s) AND serial_id IN ({})"


def sort_out(family: Family, rows: Sequence[Standing], job: str) -> tuple[tuple[Standing, ...], tuple[LeftOut, ...]]:
    """What may be promised to a job of all that stands on shelves, and the sets that may not. No query where no set stands there."""
    sets = {row.serial_id: row for row in rows if row.serial_id is not None and row.kind == SET_KIND}
    why = sets_that_fail(family, {one: row.serial for one, row in sets.items()}, job)
    if not why:
        return tuple(rows), ()
    out = tuple(LeftOut(row.serial, row.part, why[row.serial]) for row in sets.values() if row.serial in why)
    return tuple(row for row in rows if row.serial not in why), out


def _said(rows: Sequence[MeasuredResult], family: Family, job: str) -> list[Said]:
    acts = {row.pk: row.act_id for row in rows}
    return [
        Said(
            id=row.id,
            kind=row.kind,
            subject=row.subject,
            set=row.document.get("set", ""),
            verdict=row.document.get("verdict", ""),
            why=tuple(row.document.get("why", ())),
            put_aside=bool(row.document.get("put_aside")),
            job="" if row.job == job else row.job,
            other_limits=row.other_limits,
            again="; ".join(one.text for one in row.again),
            act=acts[row.id],
            stood=_stood(row),
        )
        for row in rendered(rows, family, job)
        if not _stale(row) and not _what_if(row, family)
    ]


def _what_if(row: ResultRow, family: Family) -> bool:
    """A height on a seat that was to be cut deeper: nobody made that cut, or it was entered and closed what was read before it."""
    return row.kind == HEIGHT and bool(row.document["cut_nm"]) and keeps_cuts(family.sizes, row.subject)


def _stood(row: ResultRow) -> AsJudged | None:
    said = row.document
    if row.kind != HEIGHT or said["over_deck"]:
        return None
    return AsJudged(said["turn_deg"], said["shim_nm"], said["ring_nm"])


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
    """A height is of one set in one bore: another set judged there since says nothing of it, so only readings make it stale. What was
    judged by other limits, or is to be judged again, is told apart, not left out: what failed goes on failing until then."""
    why = len(row.why) - bool(row.other_limits) - len(row.again)
    return why > (row.kind == HEIGHT and row.replaced_by is not None)


def laid_out(job: Job) -> list[Said]:
    """What the accepted layout that counts says of each set in its bore, those that stay included. The queries of `layouts_of`."""
    newest = next(iter(layouts_of(job)), None)
    if newest is None or newest.withdrawn or len(newest.why) > len(newest.again):
        return []
    verdict = "doubtful" if newest.doubtful else "pass"
    return [
        Said(
            newest.id, HEIGHT, at.position, at.serial, verdict, (), False,
            again=newest.again_at(at.position), act=newest.act_id, accepted=True,
        )
        for at in (*newest.places, *newest.kept)
    ]  # fmt: skip


def heights_speaking(job: Job, coming: Mapping[str, str], said: Sequence[Said] | None = None) -> dict[str, Said]:
    """Cylinder → the verdict on the height of the liner that stands there, where it fails or is to be judged again. Two queries more
    than `verdicts_on`, those of `layouts_of` too where a layout was accepted.

    coming  cylinder → serial of a set that goes in now; said: what `verdicts_on` found, where it was asked already
    """
    rows = list(verdicts_on(job) if said is None else said)
    if not _asks_of_layout(rows):
        rows += laid_out(job)
    if not _asks_of_layout(rows):
        return {}
    return heights_against(rows, sets_standing(job) | dict(coming))


def sets_to_judge_again(job: Job) -> list[Said]:
    """Verdicts of the job, but on heights, on the sets that stand in the engine, which are to be judged again. One query more than
    `verdicts_on`."""
    said = [one for one in verdicts_on(job) if one.kind != HEIGHT]
    return judged_again_first(said, sets_standing(job)) if any(one.again for one in said) else []


def sets_standing(job: Job) -> dict[str, str]:
    """Cylinder → serial of the set that stands there, "" where our records do not know it. One query."""
    sets = Balance.objects.filter(place=job.engine.place_id, part__kind="matched set", amount__gt=0).order_by("pk")
    there = sets.values_list("spot__name", "item__serial__number")
    return {name.partition("/")[0]: serial or "" for name, serial in there}
