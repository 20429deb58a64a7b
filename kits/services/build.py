"""Checks of a built engine: each piston, the leak test, the first run, what follows it; and who checks at a site."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.quantities import read_amount
from inventory.domain.text import shown
from inventory.domain.units import Dimension
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.build_checks import holders, judge_run, why_leaks
from kits.domain.checkers import WEEKDAYS
from kits.models import AfterRunDone, CheckerDuty, FirstRun, Fitting, Job, LeakTest, LeakTestRing, PistonCheck
from kits.queries.build import newest_run, pistons_seen, sets_fitted
from kits.queries.documents import family_of
from kits.queries.leaks import fitted_with, rings_of, rings_standing
from kits.queries.scope import job_by_number
from kits.services.booking import site_of
from kits.services.checking import must_be_checker
from kits.services.seal_rules import refuse_early_run, too_early
from kits.services.shared import check_positions, open_job, touch


@dataclass(frozen=True, slots=True)
class PistonIn:
    """What was seen good of the piston of the set at this use position."""

    position: str
    items: Sequence[str]
    note: str = ""


def record_piston_checks(*, actor: Person, stamp: Stamp, job: str, checks: Sequence[PistonIn]) -> Done:
    """A second person looks at pistons after they were fitted; `actor` is the checker, never who fitted at that cylinder.

    What is not named good stays missing, and keeps the job open. Raises ManyErrors: "position-unknown", "position-empty" (no set
    was fitted there on this job), "check-item-unknown", "same-person"; "may-not-check", "not-on-duty" for the whole act.
    Outcome: {"pistons": [{position, seen, by, missing}]}.
    """

    def work(act: Act) -> Body:
        if not checks:
            raise DomainError("nothing-given", "No piston was looked at.")
        row = open_job(job)
        must_be_checker(row.site, actor, shop_day(act.occurred_at))
        check_positions(row, [one.position for one in checks])
        _check_pistons(row, actor, checks)
        PistonCheck.objects.bulk_create(
            [
                PistonCheck(job=row, act=act, position=one.position, items=sorted(set(one.items)), note=one.note)
                for one in checks
            ]
        )
        touch(row)
        seen = pistons_seen(row)
        return {"pistons": [{"position": one.position, **seen[one.position]} for one in checks]}

    request = {"job": job, "checks": [asdict(one) for one in checks]}
    return run("check pistons", work, actor=actor, stamp=stamp, request=request, subject=job)


def _check_pistons(job: Job, actor: Person, checks: Sequence[PistonIn]) -> None:
    family = family_of(job.family_revision)
    wanted, fitted = family.build.piston_items, sets_fitted(job)
    mine = set(
        Fitting.objects.filter(
            job=job, fitter=actor, act__corrected_by__isnull=True, correction__isnull=True
        ).values_list("spot__name", flat=True)
    )
    cylinders = holders(family.map, mine)
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(checks, 1):
        strange = sorted(set(one.items) - set(wanted))
        where = one.position
        if where not in fitted:
            errors.append(
                (number, DomainError("position-empty", f"{where}: no set was fitted on this job.", position=where))
            )
        elif strange:
            errors.append((number, _unknown_item(strange[0], wanted)))
        elif not cylinders.isdisjoint(holders(family.map, [where])):
            errors.append(
                (
                    number,
                    DomainError(
                        "same-person", f"{where}: {actor} fitted there; another person checks.", position=where
                    ),
                )
            )
    if errors:
        raise ManyErrors(tuple(errors))


def _unknown_item(item: str, wanted: Sequence[str]) -> DomainError:
    return DomainError(
        "check-item-unknown",
        f"{shown(item)} is not on the list of the engine family: {', '.join(wanted) or 'it has none'}.",
        item=shown(item),
        known=list(wanted),
    )


def record_leak_test(
    *, actor: Person, stamp: Stamp, job: str, pressure: str, held: str, drop: str, temperature: str,
    wet: Sequence[str] = (),
) -> Done:  # fmt: skip
    """A pressure test of the water jacket before the sump goes on, with the limits of the family's document.

    pressure, held, drop, temperature  as typed, with units; wet: use positions of the sets below which water was seen
    Every ring that stands in a groove of a cylinder is kept with its lot and lubricant. After a leak all rings at that cylinder
    are scrap. Raises "no-limit" where the family has no limits for it. Outcome: {"good", "why", "rings": [{position, groove, part,
    lot, item, amount, lubricant, leaked}], "counts": it was a test at all}.
    """
    request = {
        "job": job, "pressure": pressure, "held": held, "drop": drop, "temperature": temperature, "wet": sorted(wet),
    }  # fmt: skip

    def work(act: Act) -> Body:
        row = open_job(job)
        limits = family_of(row.family_revision).build.leak
        if limits is None:
            raise DomainError(
                "no-limit",
                f"{row.engine.family.code} has no limits for a leak test.",
                ways_out=("Enter them from the maker's manual in a new revision of the family.",),
            )
        check_positions(row, sorted(wet))
        pressure_pa = read_amount(pressure, Dimension.PRESSURE).amount
        held_s = read_amount(held, Dimension.TIME).amount
        drop_pa = read_amount(drop, Dimension.PRESSURE).amount
        temperature_mk = read_amount(temperature, Dimension.TEMPERATURE, allow_negative=True).amount
        why, counts = why_leaks(limits, pressure_pa, held_s, drop_pa, sorted(wet))
        test = LeakTest.objects.create(
            job=row, act=act, pressure_pa=pressure_pa, held_s=held_s, drop_pa=drop_pa, temperature_mk=temperature_mk,
            typed={"pressure": pressure, "held": held, "drop": drop, "temperature": temperature},
            wet=sorted(wet), good=not why, why=list(why),
        )  # fmt: skip
        _keep_rings(row, test)
        touch(row)
        rings = rings_of(test)
        return {"good": not why, "counts": counts, "why": list(why), "rings": rings, "limits_from": limits.source}

    return run("leak test", work, actor=actor, stamp=stamp, request=request, subject=job)


def _keep_rings(job: Job, test: LeakTest) -> None:
    """Every ring as it stands in its groove; those at the cylinders below which it was wet are the ones that leaked."""
    rings, wet = rings_standing(job), {name.partition("/")[0] for name in test.wet}
    with_what = fitted_with(job, rings)
    LeakTestRing.objects.bulk_create(
        [
            LeakTestRing(
                test=test, item=row.item, position=row.spot.name, amount=row.amount,
                lubricant=with_what.get((row.spot_id, row.item_id), ""), leaked=row.spot.name.partition("/")[0] in wet,
            )
            for row in rings
        ]
    )  # fmt: skip


def record_first_run(
    *, actor: Person, stamp: Stamp, job: str, run_on: date, values: Mapping[str, str], leaks: str = "",
    released_by: Person | None = None, signed_by: Person | None = None, because: str = "",
) -> Done:  # fmt: skip
    """The first run of a built engine: each value as typed against the family's limits; a value on the limit is good.

    It ran at the moment of the act, or at some time of `run_on` where that is a day before.
    released_by  who released the engine; only when every value is good and nothing leaks ("run-not-good")
    signed_by, because  a second person's signature for a start before the sealant has cured by its sheet ("run-early")
    Raises ManyErrors naming every value that cannot be read or that the family does not ask for ("check-item-unknown");
    "dates-turned" for a run before the strip; "same-person", "reason-missing", "may-not-check".
    Outcome: {"good", "values": [...], "early": [{"joint", "run_from"}], "released_by"}.
    """
    request = {
        "job": job, "run_on": run_on, "values": dict(values), "leaks": leaks,
        "released_by": released_by.pk if released_by else None, "signed_by": signed_by.pk if signed_by else None,
        "because": because,
    }  # fmt: skip

    def work(act: Act) -> Body:
        row = _not_cancelled(job)
        if not row.strip_on <= run_on <= shop_day(act.occurred_at):
            raise DomainError(
                "dates-turned",
                f"The first run is after the strip ({row.strip_on}) and not after {shop_day(act.occurred_at)}.",
                run_on=run_on.isoformat(),
            )
        early = too_early(row, run_on, act.occurred_at)
        if signed_by is not None:
            must_be_checker(row.site, signed_by, shop_day(act.occurred_at))
        refuse_early_run(early, actor, signed_by, because)
        said = _judged(row, values)
        good = all(one["good"] for one in said) and not leaks.strip()
        if released_by is not None:
            must_be_checker(row.site, released_by, shop_day(act.occurred_at))
            if not good:
                bad = [f"{one['name']}: {one['why']}" for one in said if not one["good"]]
                bad += [f"leaks: {leaks}"] if leaks.strip() else []
                raise DomainError("run-not-good", f"The engine is not released: {'; '.join(bad)}.", values=said)
        FirstRun.objects.create(
            job=row, act=act, run_on=run_on, values=said, leaks=leaks, good=good, released_by=released_by,
            early=early, signed_by=signed_by if early else None, because=because if early else "",
        )  # fmt: skip
        touch(row)
        by = released_by.username if released_by else ""
        return {"good": good, "values": said, "early": early, "released_by": by}

    return run("first run", work, actor=actor, stamp=stamp, request=request, subject=job, reason=because)


def _judged(job: Job, values: Mapping[str, str]) -> list[Body]:
    limits = family_of(job.family_revision).build.run
    known = {limit.name: limit for limit in limits}
    measured: dict[str, int] = {}
    errors: list[tuple[int, DomainError]] = []
    for number, (name, typed) in enumerate(values.items(), 1):
        try:
            if name not in known:
                raise _unknown_item(name, list(known))
            cold = known[name].dimension is Dimension.TEMPERATURE
            measured[name] = read_amount(typed, known[name].dimension, allow_negative=cold).amount
        except DomainError as error:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))
    return [
        {
            "name": one.name, "typed": values.get(one.name, ""), "value": one.value,
            "good": one.good, "why": one.why,
        }
        for one in judge_run(limits, measured)
    ]  # fmt: skip


def _not_cancelled(number: str) -> Job:
    """The job, locked; it may be closed: engines run after they are built."""
    job = job_by_number(number)
    locks.row("kits_job", [job.pk])
    job.refresh_from_db(fields=["state", "version"])
    if job.state == Job.State.CANCELLED:
        raise DomainError("job-ended", f"Job {number} is {job.state}.", job=number, state=job.state)
    return job


def record_after_run(*, actor: Person, stamp: Stamp, job: str, what: str, done_on: date, note: str = "") -> Done:
    """Work that fell due after the first run was done: re-tightening, valve clearance, running-in oil and filter.

    Raises "check-item-unknown", "run-missing" (there was no first run), "done-already", "dates-turned".
    Outcome: {"what", "done_on"}.
    """
    request = {"job": job, "what": what, "done_on": done_on, "note": note}

    def work(act: Act) -> Body:
        row = _not_cancelled(job)
        known = [one.what for one in family_of(row.family_revision).build.after]
        if what not in known:
            raise _unknown_item(what, known)
        first = newest_run(row)
        if first is None:
            raise DomainError("run-missing", f"Job {job} has no first run on record.", job=job)
        if not first.run_on <= done_on <= shop_day(act.occurred_at):
            raise DomainError(
                "dates-turned", f"{what}: done after the first run on {first.run_on}, not later than today.",
                done_on=done_on.isoformat(),
            )  # fmt: skip
        rows = AfterRunDone.objects.filter(job=row, what=what, act__corrected_by__isnull=True)
        if rows.filter(act_id__gt=first.act_id).exists():
            raise DomainError("done-already", f"{what} was done already.", what=what)
        AfterRunDone.objects.create(job=row, act=act, what=what, done_on=done_on, note=note)
        touch(row)
        return {"what": what, "done_on": done_on.isoformat()}

    return run("work after first run", work, actor=actor, stamp=stamp, request=request, subject=job)


@dataclass(frozen=True, slots=True)
class DutyIn:
    """`weekdays` by name; empty with `stands_in`: any day, for a named checker who is away."""

    person: Person
    weekdays: Sequence[str] = field(default=())
    stands_in: bool = False


def name_checkers(*, actor: Person, stamp: Stamp, site: str, checkers: Sequence[DutyIn]) -> Done:
    """Say who checks at a site and on which weekdays, and who stands in; replaces what was said before.

    An empty list leaves it to everybody with the right to check. Raises ManyErrors: "may-not-check", "duty-unreadable".
    Outcome: {"site", "checkers": [{person, weekdays, stands_in}]}.
    """
    rows = [
        {"person": one.person.username, "weekdays": list(one.weekdays), "stands_in": one.stands_in} for one in checkers
    ]

    def work(act: Act) -> Body:
        where = site_of(site)
        locks.name("checkers", where.code)
        errors = [(number, why) for number, one in enumerate(checkers, 1) if (why := _wrong_duty(one)) is not None]
        if errors:
            raise ManyErrors(tuple(errors))
        CheckerDuty.objects.bulk_create(
            [
                CheckerDuty(
                    site=where, act=act, person=one.person, stands_in=one.stands_in,
                    weekdays=sorted({WEEKDAYS.index(day) for day in one.weekdays}),
                )
                for one in checkers
            ]
        )  # fmt: skip
        return {"site": where.code, "checkers": rows}

    return run("name checkers", work, actor=actor, stamp=stamp, request={"site": site, "checkers": rows}, subject=site)


def _wrong_duty(one: DutyIn) -> DomainError | None:
    if not one.person.has_perm("kits.act_check"):
        return DomainError("may-not-check", f"{one.person} may not check.", person=str(one.person))
    strange = [day for day in one.weekdays if day not in WEEKDAYS]
    if strange or bool(one.weekdays) == one.stands_in:
        return DomainError(
            "duty-unreadable",
            f"{one.person}: weekdays by name ({', '.join(WEEKDAYS)}), or standing in; one of the two.",
            person=str(one.person),
            weekdays=list(one.weekdays),
        )
    return None
