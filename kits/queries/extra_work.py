"""What the owner agreed to spend on extra work, what its parts come to, and what is left."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

from django.db.models import Min

from inventory.domain.units import factor
from inventory.models import Part, SupplierPart
from kits.domain.extra_work import Price, Spending, limit_of, spending
from kits.domain.listing import ListLine
from kits.domain.requirements import Key
from kits.domain.serving import PIECE
from kits.models import Approval, Extra, Job, JobHold
from kits.queries.extra_hours import hours_record
from kits.queries.job_list import Basis, JobList, job_list, list_on, sits_in
from kits.queries.materials import volume_ul


def without_limited(listed: JobList) -> JobList:
    """The list as it would be without the extra work for which the owner named a sum. Three queries."""
    scope = listed.scope
    booked = replace(scope, findings=tuple(one for one in scope.findings if one not in scope.limited))
    basis = Basis(booked, listed.shop, booked.explosion(), listed.parts, sits_in(listed.job))
    return list_on(basis, listed.fit_day)


def extra_of(listed: JobList, booked: JobList) -> set[tuple[Key, str]]:
    """What stands on the list because of the extra work: ((position, make), part)."""
    return _served(listed.lines) - _served(booked.lines)


def _served(lines: Iterable[ListLine]) -> set[tuple[Key, str]]:
    return {(key, line.part) for line in lines for key in line.keys}


def spending_of(listed: JobList, booked: JobList | None = None, asked: Mapping[Part, int] | None = None) -> Spending:
    """Limit, used and unpriced of a job's extra work. Nothing is asked where no limit was named; else five queries.

    asked   pieces of parts that are asked for now, beside the list, because more was found after strip
    What was asked for so before counts as far as it was held or picked; what was damaged, dropped or lost here does not.
    """
    limit = limit_of(listed.scope.limited.values())
    if limit is None:
        return Spending(None, 0, ())
    booked = booked or without_limited(listed)
    extra, parts = _totals(listed), {part.number: part for part in listed.parts.values()}
    for part, amount in [*_found_after_strip(listed.job), *(asked or {}).items()]:
        extra[part.number] = extra.get(part.number, 0) + amount * (part.net_ul or 1 if part.base == PIECE else 1)
        parts[part.number] = part
    return spending(limit, extra, _totals(booked), prices_of(parts.values()))


def _found_after_strip(job: Job) -> Iterator[tuple[Part, int]]:
    """What was asked for beside the list because it was found after strip, and is held or was picked. One query."""
    rows = JobHold.objects.filter(job=job, pick_list__act__extra__reason=Extra.Reason.FOUND)
    for row in rows.select_related("hold__end", "hold__item__part"):
        end = getattr(row.hold, "end", None)
        yield row.hold.item.part, row.hold.amount if end is None else end.picked


def _totals(listed: JobList) -> dict[str, int]:
    """Part → amount of the list: of what is poured from tubes and tins, microlitres."""
    totals: dict[str, int] = defaultdict(int)
    for line in listed.lines:
        part = listed.parts[line.part]
        poured = part.base == "piece" and line.base != "piece"
        totals[line.part] += sum(volume_ul(part, amount, line.base) if poured else amount for amount in line.amounts)
    return dict(totals)


def prices_of(parts: Iterable[Part]) -> dict[str, Price]:
    """The catalogue's price of each part; where it has none, the lowest that a supplier asks. One query at most."""
    wanted = list(parts)
    asked = [part.pk for part in wanted if part.price_coins is None]
    rows = (
        SupplierPart.objects.filter(part__in=asked, price_coins__isnull=False) if asked else SupplierPart.objects.none()
    )
    lowest = dict(rows.values_list("part").annotate(Min("price_coins")).order_by("part"))
    return {part.number: _price(part, lowest.get(part.pk)) for part in wanted}


def _price(part: Part, lowest: int | None) -> Price:
    coins = part.price_coins if part.price_coins is not None else lowest
    if part.base == "piece" and part.net_ul:
        return Price(coins, Fraction(part.net_ul), whole=True)
    return Price(coins, factor(part.unit)[0])


def approvals_record(job: Job, on: date) -> dict[str, Any]:
    """Every word of the owner on the job, and the limit, what is used of it and what is left, in money and in hours.

    on  the day of the question: the list judges stock on it where the day of fitting has passed
    """
    rows = Approval.objects.filter(job=job).select_related("act__actor").prefetch_related("findings").order_by("pk")
    spent = spending_of(job_list(job, on))
    return {
        "job": job.number,
        "approvals": [
            {
                "approval": row.pk,
                "approved": row.approved,
                "given_by": row.given_by,
                "how": row.how,
                "limit_coins": row.limit_coins,
                "limit_s": row.limit_s,
                "findings": sorted(one.pk for one in row.findings.all()),
                "at": row.act.occurred_at,
                "by": row.act.actor.username,
            }
            for row in rows
        ],
        **said(spent),
        **hours_record(job),
    }


def said(spent: Spending) -> dict[str, Any]:
    """What was spent, JSON-ready."""
    return {
        "limit_coins": spent.limit_coins,
        "used_coins": spent.used_coins,
        "left_coins": spent.left_coins,
        "unpriced": list(spent.unpriced),
    }
