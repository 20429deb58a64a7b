"""Closing and cancelling a job; positions that get nothing; tools counted back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, HoldEnd, Item, Person
from inventory.queries.stock import in_place
from inventory.services import holding, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Found, Job, JobEnd, NotNeeded, ToolBack, ToolLoan
from kits.queries.job_list import job_list
from kits.queries.marks import marked_sets
from kits.queries.open_lines import open_lines
from kits.queries.served import fitted, promises_of
from kits.queries.washed_out import tally_of
from kits.services.checking import must_be_checker
from kits.services.maker_stops import refuse_stopped_job
from kits.services.shared import check_positions, open_job, touch


def mark_not_needed(*, actor: Person, stamp: Stamp, job: str, positions: Mapping[str, str]) -> Done:
    """Listed positions that get nothing, each with its because (use position → words)."""

    def work(act: Act) -> Body:
        if not positions or any(not because.strip() for because in positions.values()):
            raise DomainError("reason-missing", "Every position that gets nothing needs its because.")
        row = open_job(job)
        check_positions(row, sorted(positions))
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
        must_be_checker(row.site, checker, act.occurred_at.date())
        refuse_stopped_job(job_list(row, stock=False))
        left = open_lines(row)
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


def cancel_job(*, actor: Person, stamp: Stamp, job: str, reason: str, owner_signed: bool = False) -> Done:
    """Cancel a job: its holds are released, the owner's own parts at the bench go back against a signature.

    The cart and the bench must hold nothing else: return it first. Plugs and dowels that are out of the block are the owner's too,
    and no set goes back with a bore mark on it.
    Raises "job-not-empty" naming what is there, "mark-not-cleaned", "not-signed", "reason-missing". Outcome: {"released": holds, "given_back": [...],
    "washed_out": name → pieces given back loose}.
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "Cancelling a job needs a reason.")
        row = open_job(job)
        opened = [one.hold for one in promises_of(row) if one.open]
        locks.scarcer((hold.item.part_id, row.site_id) for hold in opened)
        opened = [one.hold for one in promises_of(row) if one.open]
        owners = set(
            Found.objects.filter(job=row, whose="customer", act__corrected_by__isnull=True).values_list(
                "item_id", flat=True
            )
        )
        rows = in_place([row.cart_id, row.bench_id])
        shop_things = [one for one in rows if one.item_id not in owners]
        tools = sorted(ToolLoan.objects.filter(job=row, back__isnull=True).values_list("tool", flat=True))
        if shop_things or tools:
            raise DomainError(
                "job-not-empty",
                f"{len(shop_things)} things and {len(tools)} tools are still with job {job}: return them first.",
                things=[
                    {"place": one.place_code, "item": one.item_id, "identity": one.identity, "amount": one.amount}
                    for one in shop_things
                ],
                tools=tools,
            )
        painted = marked_sets(row)
        if painted:
            raise DomainError(
                "mark-not-cleaned",
                f"Set {painted[0].serial} carries a bore mark of job {job}: clean it off and say so.",
                ways_out=("Record that the mark was cleaned off.",),
                sets=[one.serial for one in painted],
            )
        loose = {one.name: one.missing for one in tally_of(row) if one.missing}
        if (rows or loose) and not owner_signed:
            raise DomainError(
                "not-signed",
                "The owner's own parts go back against a signature.",
                items=[one.item_id for one in rows],
                washed_out=loose,
            )
        holding.end(act, opened, HoldEnd.How.RELEASED, f"job {job} was cancelled")
        given = _give_back(act, row, [one.item_id for one in rows])
        JobEnd.objects.create(job=row, act=act, cancelled=True, reason=reason)
        Job.objects.filter(pk=row.pk).update(state=Job.State.CANCELLED)
        touch(row)
        return {"released": [hold.pk for hold in opened], "given_back": given, "washed_out": loose}

    request = {"job": job, "reason": reason, "owner_signed": owner_signed}
    return run("cancel job", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _give_back(act: Act, job: Job, item_ids: Sequence[int]) -> list[Body]:
    owner = things.books_only(PlaceKind.OWNER)
    items = {item.pk: item for item in Item.objects.filter(pk__in=item_ids).select_related("part")}
    rows = Balance.objects.filter(place__in=[job.cart_id, job.bench_id], item__in=items, amount__gt=0).select_related(
        "spot__place"
    )
    post(act, [Move(items[row.item_id], row.amount, row.spot, owner) for row in rows])
    return [{"part": items[row.item_id].part.number, "item": row.item_id, "amount": row.amount} for row in rows]
