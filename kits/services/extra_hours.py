"""Hours worked on extra work: an entry is made within what the owner agreed to, and reversed where it was wrong."""

from __future__ import annotations

from datetime import date

from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.extra_hours import Worked, purses, read_time, refuse_entry
from kits.models import FindingWithdrawal, Job, JobFinding, WorkedTime, WorkedTimeReversal
from kits.queries.extra_hours import purse_document, words_of, worked_on
from kits.services.shared import open_job, touch


def enter_hours(*, actor: Person, stamp: Stamp, job: str, finding: int, person: Person, day: date, time: str) -> Done:
    """So long a person worked on a finding of extra work on a day.

    time  as typed, with its unit ("1.5 h", "45 min"); kept in whole seconds
    Outcome: {"entry", "finding", "person", "worked_on", "time_s", "hours": of the approval that it is taken from}. Raises "not-found",
    "not-extra-work", "withdrawn-already", "owner-not-asked", "hours-over-limit", "dates-turned", "job-ended", those of amounts.
    """

    def work(act: Act) -> Body:
        row = open_job(job)
        time_s = read_time(time)
        if not row.strip_on <= day <= shop_day(act.occurred_at):
            raise DomainError(
                "dates-turned",
                f"Work on {day} is before the strip ({row.strip_on}) or after {shop_day(act.occurred_at)}.",
                worked_on=str(day),
            )
        found = _finding(row, finding)
        words, worked = words_of(row), worked_on(row)
        new = Worked(found.pk, person.pk, day.toordinal(), time_s)
        refuse_entry(new, words, worked)
        entry = WorkedTime.objects.create(
            job=row, act=act, finding=found, person=person, worked_on=day, time_s=time_s, typed=time
        )
        touch(row)
        purse = next(one for one in purses(words, [*worked, new]) if one.approval == words[found.pk].approval)
        return {
            "entry": entry.pk, "finding": found.pk, "person": person.username, "worked_on": day, "time_s": time_s,
            "hours": purse_document(purse),
        }  # fmt: skip

    request = {"job": job, "finding": finding, "person": person.pk, "day": day, "time": time}
    return run("enter hours", work, actor=actor, stamp=stamp, request=request, subject=job)


def _finding(job: Job, number: int) -> JobFinding:
    found = JobFinding.objects.filter(job=job, pk=number, act__corrected_by__isnull=True).first()
    if found is None:
        raise DomainError("not-found", f"Job {job.number} has no finding {number}.", finding=number)
    if not found.extra_work:
        raise DomainError("not-extra-work", f"{found.code} at {found.place} was booked with the job.", finding=number)
    if FindingWithdrawal.objects.filter(finding=found).exists():
        raise DomainError("withdrawn-already", f"{found.code} at {found.place} was withdrawn.", finding=number)
    return found


def reverse_hours(*, actor: Person, stamp: Stamp, job: str, entry: int, reason: str) -> Done:
    """An entry was wrong: it counts for nothing from now on, and stays to be read.

    Outcome: {"entry", "time_s"}. Raises "not-found", "reason-missing", "withdrawn-already", "job-ended".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Why is the entry wrong?")
        row = open_job(job)
        found = WorkedTime.objects.filter(job=row, pk=entry).first()
        if found is None:
            raise DomainError("not-found", f"Job {job} has no entry {entry} of hours.", entry=entry)
        if WorkedTimeReversal.objects.filter(entry=found).exists():
            raise DomainError("withdrawn-already", f"Entry {entry} was reversed already.", entry=entry)
        WorkedTimeReversal.objects.create(entry=found, act=act, reason=reason)
        touch(row)
        return {"entry": found.pk, "time_s": found.time_s}

    request = {"job": job, "entry": entry, "reason": reason}
    return run("reverse hours", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)
