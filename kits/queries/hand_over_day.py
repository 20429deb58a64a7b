"""The first day on which somebody other than who fitted can check a job at its site: before it, nothing is handed over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import Any

from inventory.models import Person
from kits.domain.checkers import Duty, earliest_day, on_duty
from kits.domain.starts import Start
from kits.models import CheckerDuty, Fitting, Job, OutsideWork
from kits.queries.outside import piece


def hand_over_day(job: Job, on: date, out: Iterable[OutsideWork] = (), steps: Iterable[Start] = ()) -> dict[str, Any]:
    """As things stand on a day: the day planned, who but the fitters checks then, the earliest day, and why it is another.

    out    pieces of the job that are outside; steps: when its steps can begin
    {"planned", "checkers": log-ins, empty where the site names nobody: all with the right, "earliest": None: never, or not known, as it
    stands, "why": empty where the planned day stands}. Three queries.
    """
    planned = job.fit_day(on)
    ready, held_up = _ready(planned, on, list(out), list(steps))
    duties, fitters = _duties({job.site_id}).get(job.site_id, ()), _fitters([job]).get(job.pk, set())
    here = [person for person in on_duty(duties, planned) if person not in fitters]
    names = dict(Person.objects.filter(pk__in=here).values_list("pk", "username"))
    earliest = None if ready is None else earliest_day(duties, fitters, ready)
    unchecked = "" if ready is None else _why(job, ready, earliest)
    return {
        "planned": planned,
        "checkers": [names[person] for person in here],
        "earliest": earliest,
        "why": "; ".join(why for why in (*held_up, unchecked) if why),
    }


def _ready(
    planned: date, on: date, out: Sequence[OutsideWork], steps: Sequence[Start]
) -> tuple[date | None, tuple[str, ...]]:
    """The first day on which the work can be done, and why it is not the planned one; None: no day is known for a step."""
    late = [f"{piece(row)} at {row.spot.place.code} was due {row.due}: not before {on}" for row in out if row.due < on]
    unknown = [f"{one.key[0]}/{one.key[1]}: no day is known" for one in steps if one.day is None]
    if unknown:
        return None, (*late, unknown[0])
    days = [*(row.due for row in out), *(one.day for one in steps if one.day is not None)]
    ready = max([planned, *days])
    last = [f"{one.key[0]}/{one.key[1]} not before {one.day}" for one in steps if one.day == ready > planned]
    return ready, (*late, *last[:1])


def waiting_for_checkers(jobs: Iterable[Job], on: date) -> list[tuple[Job, str]]:
    """Of jobs whose day of fitting has come those at whose site nobody but the fitter checks on that day, with why. Two queries more."""
    here = list(jobs)
    duties, fitters = _duties({job.site_id for job in here}), _fitters(here)
    found = []
    for job in here:
        why = _why(job, on, earliest_day(duties.get(job.site_id, ()), fitters.get(job.pk, set()), on))
        if why:
            found.append((job, why))
    return found


def _why(job: Job, planned: date, earliest: date | None) -> str:
    if earliest == planned:
        return ""
    who = f"nobody but the fitter checks at {job.site.code}"
    if earliest is None:
        return f"{who} on any day: name a checker, or who stands in"
    return f"{who} on {planned}: the step waits, hand-over on {earliest} at the earliest"


def _duties(sites: Collection[int]) -> dict[int, tuple[Duty, ...]]:
    """Site → who checks there by the newest word. One query."""
    rows: dict[int, list[CheckerDuty]] = defaultdict(list)
    for row in CheckerDuty.objects.filter(site__in=sites, act__corrected_by__isnull=True).order_by("-act_id", "pk"):
        rows[row.site_id].append(row)
    return {
        site: tuple(
            Duty(row.person_id, frozenset(row.weekdays), row.stands_in) for row in its if row.act_id == its[0].act_id
        )
        for site, its in rows.items()
    }


def _fitters(jobs: Collection[Job]) -> dict[int, set[int]]:
    """Job → who fitted on it. One query."""
    found: dict[int, set[int]] = defaultdict(set)
    rows = Fitting.objects.filter(
        job__in=[job.pk for job in jobs], act__corrected_by__isnull=True, correction__isnull=True
    )
    for job, fitter in rows.order_by("job_id", "fitter_id").values_list("job_id", "fitter_id").distinct():
        found[job].add(fitter)
    return found
