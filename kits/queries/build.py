"""What was checked on a built engine, and what is still missing: pistons, leak test, first run, what falls due after it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from inventory.models import Balance, Site
from inventory.queries.catalogue import no_such_site
from kits.domain.build_checks import LEAK_CAUTION, RUN_CAUTION, due_lines, missing_items
from kits.domain.checkers import WEEKDAYS, Duty, next_day, on_duty
from kits.models import AfterRunDone, CheckerDuty, FirstRun, Fitting, Job, LeakTest, PistonCheck
from kits.queries.documents import family_of
from kits.queries.job_list import JobList
from kits.queries.leaks import leak_test_lacking, leaked_on, rings_of
from kits.queries.photo_checks import unseen
from kits.queries.service_parts import service_parts


def sets_fitted(job: Job) -> dict[str, Fitting]:
    """Use position → the newest fitting of a matched set on this job that is still there, by position. Two queries."""
    there = set(
        Balance.objects.filter(place=job.engine.place_id, amount__gt=0, part__tracked_by="set").values_list(
            "spot__name", "item"
        )
    )
    rows = Fitting.objects.filter(
        job=job, act__corrected_by__isnull=True, correction__isnull=True, item__part__tracked_by="set", item__member=""
    )
    found = {row.spot.name: row for row in rows.select_related("spot", "fitter", "checker", "corrects").order_by("pk")}
    return {name: row for name, row in sorted(found.items()) if (name, row.item_id) in there}


def pistons_seen(job: Job) -> dict[str, dict[str, Any]]:
    """Use position → {seen, by, missing}: what a second person saw good since the set was fitted. Four queries at most."""
    wanted = family_of(job.family_revision).build.piston_items
    fitted = sets_fitted(job)
    rows = PistonCheck.objects.filter(job=job, act__corrected_by__isnull=True, position__in=fitted)
    seen: dict[str, dict[str, str]] = {name: {} for name in fitted}
    for row in rows.select_related("act__actor").order_by("pk"):
        if row.act_id > fitted[row.position].first_recorded:
            seen[row.position] |= dict.fromkeys(row.items, row.act.actor.username)
    return {
        name: {
            "seen": [item for item in wanted if item in seen[name]],
            "by": sorted(set(seen[name].values())),
            "missing": list(missing_items(wanted, seen[name])),
        }
        for name in fitted
    }


def newest_run(job: Job) -> FirstRun | None:
    """The newest first run that was not taken back. One query."""
    rows = FirstRun.objects.filter(job=job, act__corrected_by__isnull=True)
    return rows.select_related("released_by", "signed_by", "act__actor").order_by("-pk").first()


def unchecked(job: Job, listed: JobList) -> Iterator[dict[str, Any]]:
    """What keeps a job open: pistons and photos that nobody looked at, a leak test that is missing or was not passed."""
    build = listed.scope.family.build
    if build.piston_items:
        for name, check in pistons_seen(job).items():
            if check["missing"]:
                why = f"nobody but the fitter saw: {', '.join(check['missing'])}"
                yield {"what": "piston not checked", "position": name, "why": why}
    for asked, position in unseen(job):
        why = f"nobody but its fitter has seen it: {asked.what}; asked for by {asked.source}"
        yield {"what": "photo check missing", "position": position, "why": why}
    for ring in leaked_on(job):
        if not ring.out:
            why = "it leaked, so it is scrap: take it out and renew it"
            yield {"what": "ring that leaked is still in", "position": ring.position, "part": ring.part, "why": why}
    lacking = leak_test_lacking(job, listed)
    if lacking and build.leak is not None:
        yield {"what": "no passed leak test", "why": f"{lacking}; asked for by {build.leak.source}"}


def after_run(job: Job, today: date, hours_since: int | None = None) -> list[dict[str, Any]]:
    """Dated lines after the first run, done and open, each with what is held for it; empty before it. Three queries."""
    run = newest_run(job)
    if run is None:
        return []
    rows = AfterRunDone.objects.filter(job=job, act__corrected_by__isnull=True).order_by("pk")
    done = {row.what: row.done_on for row in rows if row.act_id > run.act_id}
    works = family_of(job.family_revision).build.after
    held = service_parts([job.engine_id])
    return [
        {
            "what": one.work.what,
            "due_on": one.on,
            "due_hours": one.hours,
            "parts": [
                {
                    "part": part,
                    "amount": amount,
                    "held": kept.shown if kept else "",
                    "held_on": kept.job if kept else "",
                }
                for part, amount in one.work.parts
                for kept in [held.get((job.engine_id, part))]
            ],
            "from": one.work.source,
            "done_on": one.done_on,
            "late": one.late,
        }
        for one in due_lines(works, run.run_on, done, today, hours_since)
    ]


def leak_record(test: LeakTest) -> dict[str, Any]:
    """A leak test, JSON-ready."""
    return {
        "good": test.good,
        "why": test.why,
        **test.typed,
        "wet": test.wet,
        "rings": rings_of(test),
        "by": test.act.actor.username,
        "at": test.act.occurred_at,
        "caution": LEAK_CAUTION,
    }


def run_record(run: FirstRun, limits_from: str) -> dict[str, Any]:
    """A first run, JSON-ready. limits_from: book, edition and page of the family's limits."""
    return {
        "run_on": run.run_on,
        "values": run.values,
        "limits_from": limits_from,
        "leaks": run.leaks,
        "good": run.good,
        "released_by": run.released_by.username if run.released_by else "",
        "early": run.early,
        "signed_by": run.signed_by.username if run.signed_by else "",
        "because": run.because,
        "by": run.act.actor.username,
        "caution": RUN_CAUTION,
    }


def duties_at(site_id: int) -> tuple[Duty, ...]:
    """Who checks at a site by the newest word; empty: the site names nobody. One query."""
    rows = list(CheckerDuty.objects.filter(site=site_id, act__corrected_by__isnull=True).order_by("-act_id", "pk"))
    return tuple(
        Duty(row.person_id, frozenset(row.weekdays), row.stands_in) for row in rows if row.act_id == rows[0].act_id
    )


def checkers_at(code: str, day: date) -> dict[str, Any]:
    """Who may check at a site that day, and when somebody may again; DomainError "not-found". Two queries."""
    site = Site.objects.filter(code=code).first()
    if site is None:
        raise no_such_site(code)
    rows = list(
        CheckerDuty.objects.filter(site=site, act__corrected_by__isnull=True)
        .select_related("person")
        .order_by("-act_id", "pk")
    )
    named = [row for row in rows if row.act_id == rows[0].act_id]
    duties = [Duty(row.person_id, frozenset(row.weekdays), row.stands_in) for row in named]
    logins = {row.person_id: row.person.username for row in named}
    return {
        "on": day,
        "named": [
            {
                "person": row.person.username,
                "weekdays": [WEEKDAYS[number] for number in sorted(row.weekdays)],
                "stands_in": row.stands_in,
            }
            for row in named
        ],
        "may_check": [logins[person] for person in on_duty(duties, day)],
        "next_day": next_day(duties, None, day) if duties else None,
    }
