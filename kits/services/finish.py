"""Closing and cancelling a job; positions that get nothing; tools counted back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from inventory.domain.errors import DomainError
from inventory.domain.items import said
from inventory.models import Act, HoldEnd, Person
from inventory.queries.days import shop_day
from inventory.queries.stock import in_place
from inventory.services import holding
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job, JobEnd, NotNeeded, ToolBack, ToolLoan
from kits.queries.at_positions import emptied
from kits.queries.job_list import job_list
from kits.queries.marks import marked_sets
from kits.queries.not_needed import positions_asked
from kits.queries.open_lines import open_lines
from kits.queries.outside import piece, still_out
from kits.queries.scope import scope_of
from kits.queries.served import fitted, promises_of
from kits.queries.washed_out import tally_of
from kits.services.checking import must_be_checker
from kits.services.giving import Given, customers_at, hand_back
from kits.services.maker_stops import refuse_stopped_job
from kits.services.renewals import refuse_left_old
from kits.services.shared import check_positions, open_job, touch


def mark_not_needed(*, actor: Person, stamp: Stamp, job: str, positions: Mapping[str, str]) -> Done:
    """Positions that get nothing, each with its because (use position → words).

    Raises "reason-missing", "position-unknown", "not-on-list" for what nothing asks for and nothing was taken out of (a finding that comes later
    would ask for it in vain), "always-new" where the joint was opened and a part of it is never used again.
    """

    def work(act: Act) -> Body:
        if not positions or any(not because.strip() for because in positions.values()):
            raise DomainError("reason-missing", "Every position that gets nothing needs its because.")
        row = open_job(job)
        check_positions(row, sorted(positions))
        refuse_left_old(act, row, positions)
        _refuse_unlisted(row, positions)
        NotNeeded.objects.bulk_create(
            [NotNeeded(job=row, act=act, position=name, because=because) for name, because in sorted(positions.items())]
        )
        touch(row)
        return {"not_needed": dict(sorted(positions.items()))}

    return run(
        "mark not needed",
        work,
        actor=actor,
        stamp=stamp,
        request={"job": job, "positions": dict(positions)},
        subject=job,
    )


def _refuse_unlisted(job: Job, positions: Iterable[str]) -> None:
    asked = {*positions_asked(scope_of(job).unnamed(with_waiting=True)), *emptied(job)}
    if strange := sorted({*positions} - asked):
        raise DomainError(
            "not-on-list",
            f"Nothing is listed for {', '.join(strange[:6])}: there is nothing that it does not need.",
            positions=strange,
        )


def tools_back(*, actor: Person, stamp: Stamp, job: str, tools: Sequence[str]) -> Done:
    """Special tools counted back. Raises "not-on-loan" for a tool the job has not got."""

    def work(act: Act) -> Body:
        row = open_job(job)
        loans = {loan.tool: loan for loan in ToolLoan.objects.filter(job=row, back__isnull=True)}
        strange = sorted(set(tools) - loans.keys())
        if strange:
            raise DomainError("not-on-loan", f"Job {job} has not got {strange[0]}.", tools=strange)
        ToolBack.objects.bulk_create([ToolBack(loan=loans[tool], act=act) for tool in sorted(set(tools))])
        touch(row)
        return {"back": sorted(set(tools)), "still_out": sorted(loans.keys() - set(tools))}

    return run("tools back", work, actor=actor, stamp=stamp, request={"job": job, "tools": sorted(tools)}, subject=job)


def close_job(*, actor: Person, stamp: Stamp, job: str, checker: Person) -> Done:
    """Close a job: every listed position is fitted, reused or not needed because; nothing is left on cart or bench.

    Raises "stopped-by-maker"; "job-not-done" naming every open line; "same-person"; "may-not-check"; "not-on-duty". Outcome: {"job", "fitted": positions}.
    """

    def work(act: Act) -> Body:
        if checker.pk == actor.pk:
            raise DomainError("same-person", "Another person checks a job before it is closed.", person=str(actor))
        row = open_job(job)
        today = shop_day(act.occurred_at)
        must_be_checker(row.site, checker, today)
        refuse_stopped_job(job_list(row, today, stock=False))
        left = open_lines(row, today)
        if left:
            raise DomainError(
                "job-not-done", f"{len(left)} lines are open; the first: {_said(left[0])}.", job=job, open=left
            )
        JobEnd.objects.create(job=row, act=act, checker=checker)
        Job.objects.filter(pk=row.pk).update(state=Job.State.CLOSED)
        touch(row)
        return {"job": job, "fitted": len({one.key for one in fitted(row)})}

    return run("close job", work, actor=actor, stamp=stamp, request={"job": job, "checker": checker.pk}, subject=job)


def _said(line: Body) -> str:
    rest = ", ".join(
        str(line[name])
        for name in ("position", "part", "tool", "piece", "name", "serial", "identity", "why")
        if line.get(name)
    )
    return f"{line['what']} ({rest})"


def cancel_job(*, actor: Person, stamp: Stamp, job: str, reason: str, signed_by: str = "") -> Done:
    """Cancel a job: its holds are released, the customer's own parts at the bench and in quarantine go back against a signature.

    signed_by  name of who signed for them; kept with what was given back, and in no outcome
    The cart and the bench must hold nothing else: return it first. Plugs and dowels that are out of the block are the customer's too,
    and no set goes back with a bore mark on it.
    Raises "job-not-empty" naming what is there and what is still outside, "mark-not-cleaned", "not-signed", "reason-missing". Outcome:
    {"released": holds, "given_back": [{part, item, amount, from}], "washed_out": name → pieces given back loose}.
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Cancelling a job needs a reason.")
        row = open_job(job)
        opened = [one.hold for one in promises_of(row) if one.open]
        own = customers_at(row, also=[(hold.item.part_id, row.site_id) for hold in opened])
        opened = [one.hold for one in promises_of(row) if one.open]
        _refuse_not_empty(row, own)
        painted = marked_sets(row)
        if painted:
            raise DomainError(
                "mark-not-cleaned",
                f"Set {painted[0].serial} carries a bore mark of job {job}: clean it off and say so.",
                ways_out=("Record that the mark was cleaned off.",),
                sets=[one.serial for one in painted],
            )
        loose = {one.name: one.missing for one in tally_of(row) if one.missing}
        if (own or loose) and not signed_by.strip():
            raise DomainError(
                "not-signed",
                "The owner's own parts go back against a signature.",
                items=[one.item.pk for one in own],
                washed_out=loose,
            )
        holding.end(act, opened, HoldEnd.How.RELEASED, f"job {job} was cancelled")
        given = hand_back(act, row, own, signed_by) if own or loose else []
        JobEnd.objects.create(job=row, act=act, cancelled=True, reason=reason)
        Job.objects.filter(pk=row.pk).update(state=Job.State.CANCELLED)
        touch(row)
        return {"released": [hold.pk for hold in opened], "given_back": given, "washed_out": loose}

    request = {"job": job, "reason": reason, "signed_by": signed_by}
    return run("cancel job", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _refuse_not_empty(job: Job, own: Sequence[Given]) -> None:
    """Nothing of the shop's stays with a cancelled job, and nothing of it is still outside. DomainError "job-not-empty"."""
    customers = {(one.item.pk, one.spot.place.code): one.amount for one in own}
    things: list[Body] = [
        {"place": row.place_code, "item": row.item_id, "part": row.part, "identity": row.identity, "amount": shops}
        for row in in_place([job.cart_id, job.bench_id])
        if (shops := row.amount - customers.get((row.item_id, row.place_code), 0)) > 0
    ]
    tools = sorted(ToolLoan.objects.filter(job=job, back__isnull=True).values_list("tool", flat=True))
    out = [
        {"piece": piece(one), "with": one.spot.place.code, "due_on": one.due, "outside_work": one.pk}
        for one in still_out([job])
    ]
    if things or tools or out:
        raise DomainError(
            "job-not-empty",
            f"Still to come back from job {job.number}: "
            + "; ".join(
                [
                    *(", ".join(filter(None, (one["part"], said(one["identity"])))) for one in things),
                    *(f"tool {tool}" for tool in tools),
                    *(f"{one['piece']}, which is with {one['with']}" for one in out),
                ]
            )
            + ".",
            ways_out=(
                "Return what was not used, by the returns table.",
                "Count the tools back.",
                "Have what is outside brought back.",
            ),
            things=things,
            tools=tools,
            outside=out,
        )
