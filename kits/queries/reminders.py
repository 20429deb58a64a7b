"""Open reminders of a job, or of the shop: what should be back, decided or done by a day.

- candidates that went along on approval and were not chosen: one day after the choice
- holds past the day until which they were to last
- pieces at an outside machinist past the day they are due back: who sent it is told by name, and what it re-dates
- tools on loan after the day of fitting; plugs, dowels and jets that are out on it
- extra work that waits for the owner's word: from the day it was found
- a site at which nobody but the fitter checks that day: from the day of fitting, with the day of the hand-over
- lines of purchase orders that are to come after the supplier's newest promise, of the job they are for
- credit for what went back to a supplier, after 60 days; it belongs to no job
- deposits at suppliers whose old unit is here, missing or not tied to them: from a week before the limit; of a job, where it is for one
- what is in the van and did not come as its note said: from the day on which the receiver signed, until it is explained; a note that nobody
  signed for: the day after it should have been there, or after it left; of a job, where a line is for one
- two devices told different stories about one thing: from the day on which the second came, until the parts manager answers
- work after the first run past its day, of closed jobs too: `kits/queries/service_due.py` has the letter to the owner
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.domain.money import format_money
from inventory.domain.old_units import WARNED_DAYS, Risk
from inventory.models import Balance
from inventory.queries.clashes import open_clashes
from inventory.queries.days import shop_day
from inventory.queries.deliveries import credits_awaited
from inventory.queries.old_units import at_risk
from inventory.queries.orders import late_lines
from inventory.queries.transfers import late_notes
from kits.domain.reminders import DAY, Kind, Open, reminders
from kits.domain.washed_out import Count, tally
from kits.models import (
    Approval,
    FindingWithdrawal,
    Job,
    JobFinding,
    JobHold,
    ToolLoan,
    WashedCount,
)
from kits.queries.chosen import counting
from kits.queries.documents import family_of
from kits.queries.hand_over_day import waiting_for_checkers
from kits.queries.outside import piece, still_out
from kits.queries.service_due import services_due
from kits.queries.to_return import to_return
from kits.queries.unread_numbers import unread_notices


def reminders_on(on: date, job: Job | None = None) -> list[dict[str, Any]]:
    """What is late on a day, of one job or of all that are booked, the oldest first, JSON-ready.

    36 queries at most, one more where a candidate lies there, and the list of each job whose candidates lie at its bench although a choice was made.
    """
    jobs = Job.objects.filter(state=Job.State.BOOKED)
    if job is not None:
        jobs = jobs.filter(pk=job.pk)
    found = reminders(
        [
            *_candidates(jobs, on),
            *_lapsed(jobs),
            *_tools(jobs),
            *_outside(jobs, on),
            *_owners(jobs),
            *_washed(jobs),
            *_checkers(jobs, on),
            *_service(on, job),
            *_orders(on, job),
            *_credits(on, job),
            *_deposits(on, job),
            *_clashes(job),
            *_notes(job),
            *_notices(on, job),
        ],
        on,
    )
    return [
        {
            "job": one.job,
            "kind": one.kind.value,
            "what": one.what,
            "late_from": one.late_from,
            "days": one.days,
            "number": one.number,
            "told": one.told,
        }
        for one in found
    ]


def _notices(on: date, job: Job | None) -> Iterator[Open]:
    for one in unread_notices() if job is None else ():
        what = f"{one['old']}, {one['numbers']}: {one['why']}; withdraw notice {one['replacement']}, and enter it with the right number"
        yield Open("", Kind.NOTICE, what, on, one["replacement"])


def _candidates(jobs: QuerySet[Job], on: date) -> Iterator[Open]:
    lying = Balance.objects.filter(Q(place=OuterRef("job__cart")) | Q(place=OuterRef("job__bench")), amount__gt=0)
    rows = (
        JobHold.objects.filter(job__in=jobs, on_approval=True, hold__end__how="picked")
        .filter(Exists(lying.filter(item=OuterRef("hold__item"))))
        .select_related("job__engine__family", "job__family_revision", "hold")
        .order_by("job_id", "hold_id")
    )
    of_job: dict[Job, list[JobHold]] = defaultdict(list)
    for row in rows:
        of_job[row.job].append(row)
    chosen = _choice_days(of_job)
    for job, holds in of_job.items():
        back = {row["item"]: row for row in to_return(job, on)["lying"]} if chosen[job.pk] else {}
        outward = family_of(job.family_revision).map.outward
        for item_id, thing in back.items():
            places = {
                place
                for row in holds
                if row.hold.item_id == item_id
                for share in row.positions
                for place in outward(share[0])
            }
            days = [day for place, day in chosen[job.pk].items() if place in places]
            if days:
                what = f"{thing['shown']} {thing['part']} at {thing['place']}"
                yield Open(job.number, Kind.CANDIDATE, what, max(days) + DAY, item_id)


def _choice_days(of_job: dict[Job, list[JobHold]]) -> dict[int, dict[str, date]]:
    """Job → place → day of its newest choice."""
    days: dict[int, dict[str, date]] = defaultdict(dict)
    for row in counting(of_job):
        days[row.job_id][row.place or "ENGINE"] = shop_day(row.act.occurred_at)
    return days


def _lapsed(jobs: QuerySet[Job]) -> Iterator[Open]:
    rows = JobHold.objects.filter(job__in=jobs, hold__end__isnull=True)
    for hold, number, part, until in rows.values_list("hold", "job__number", "hold__item__part__number", "hold__until"):
        if until is not None:
            yield Open(number, Kind.LAPSED, f"{part}, held until {until}", until + DAY, hold)


def _tools(jobs: QuerySet[Job]) -> Iterator[Open]:
    rows = ToolLoan.objects.filter(job__in=jobs, back__isnull=True)
    for loan, number, tool, fit_on in rows.values_list("pk", "job__number", "tool", "job__fit_on"):
        yield Open(number, Kind.TOOL, tool, fit_on + DAY, loan)


def _outside(jobs: QuerySet[Job], on: date) -> Iterator[Open]:
    for out in still_out(jobs):
        late = (
            f"{piece(out)} at {out.spot.place.code}, due {out.due}: what needs it, and the hand-over, not before {on}"
        )
        yield Open(out.job.number, Kind.OUTSIDE, late, out.due + DAY, out.pk, out.act.actor.username)


def _owners(jobs: QuerySet[Job]) -> Iterator[Open]:
    rows = (
        JobFinding.objects.filter(job__in=jobs, extra_work=True, act__corrected_by__isnull=True)
        .exclude(Exists(FindingWithdrawal.objects.filter(finding=OuterRef("pk"))))
        .exclude(Exists(Approval.objects.filter(findings=OuterRef("pk"))))
    )
    for finding, number, code, place, at in rows.values_list("pk", "job__number", "code", "place", "act__occurred_at"):
        yield Open(number, Kind.OWNER, f"{code} at {place}", shop_day(at), finding)


def _checkers(jobs: QuerySet[Job], on: date) -> Iterator[Open]:
    for job, why in waiting_for_checkers(jobs.filter(fit_on__lte=on).select_related("site"), on):
        yield Open(job.number, Kind.CHECKER, why, job.fit_on)


def _service(on: date, job: Job | None) -> Iterator[Open]:
    for one in services_due(on, job):
        so = f"the engine is here on {one.back_on}" if one.back_on else "the engine is not back: letter to the owner"
        for line in one.late:
            parts = f" ({'; '.join(line.parts)})" if line.parts else ""
            yield Open(one.job.number, Kind.SERVICE, f"{line.what}, due {line.due_on}{parts}; {so}", line.due_on + DAY)


def _orders(on: date, job: Job | None) -> Iterator[Open]:
    for one in late_lines(on, job.number if job else ""):
        what = f"{one.outstanding} of {one.part} from {one.supplier}, order {one.order}, promised {one.promised_on}"
        yield Open(one.job, Kind.ORDER, what, one.promised_on + DAY, one.line)


def _credits(on: date, job: Job | None) -> Iterator[Open]:
    for one in credits_awaited(on) if job is None else ():
        what = f"{one.supplier} owes {format_money(one.awaited_coins)} for {one.part}, sent back {one.returned_on} by {one.note}"
        yield Open("", Kind.CREDIT, what, one.late_from, one.line)


def _deposits(on: date, job: Job | None) -> Iterator[Open]:
    """One that was sent back after its limit cannot be sent any more: whether it is lost is the supplier's word, and awaited."""
    found, _ = at_risk(on, WARNED_DAYS)
    for one in found:
        if one.why == Risk.SENT_LATE or (job is not None and one.job != job.number):
            continue
        tag = f", tag {one.tag}" if one.tag else ""
        what = (
            f"{one.supplier} keeps {format_money(one.outstanding_coins)} for {one.part}{tag}: to be sent back by {one.due_on};"
            f" {one.why}"
        )
        yield Open(one.job, Kind.DEPOSIT, what, one.due_on - WARNED_DAYS * DAY, one.deposit)


def _clashes(job: Job | None) -> Iterator[Open]:
    for one in open_clashes() if job is None else ():
        late, first = one.late.act, one.first
        what = (
            f"{one.item.called}: {first.kind} by {first.actor.username}{_by(first.device)} stands;"
            f" {one.late.kind} by {late.actor.username}{_by(late.device)} was refused: which is true?"
        )
        yield Open("", Kind.CLASH, what, shop_day(late.recorded_at), one.pk)


def _notes(job: Job | None) -> Iterator[Open]:
    for one in late_notes():
        kind = Kind.UNEXPLAINED if one.unexplained else Kind.ON_THE_WAY
        for number in one.jobs or ("",):
            if job is None or number == job.number:
                yield Open(number, kind, one.what, one.late_from, one.note)


def _by(device: str) -> str:
    return f" on {device}" if device else ""


def _washed(jobs: QuerySet[Job]) -> Iterator[Open]:
    counts: dict[Job, list[Count]] = defaultdict(list)
    rows = WashedCount.objects.filter(job__in=jobs).select_related("job__family_revision").order_by("pk")
    for row in rows:
        counts[row.job].append(Count(row.name, row.count, row.back, row.recount))
    for job, made in counts.items():
        for one in tally(family_of(job.family_revision).washed_out, made):
            if one.missing:
                yield Open(job.number, Kind.WASHED, f"{one.name}: {one.missing} out", job.fit_on)
