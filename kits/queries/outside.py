"""Pieces of jobs at outside machinists: what is out, since when, until when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from inventory.domain.errors import DomainError
from inventory.domain.items import Base
from kits.models import Job, OutsideDue, OutsideReturn, OutsideWork

_BACK = OutsideReturn.objects.filter(outside_work=OuterRef("pk"), act__corrected_by__isnull=True)
_DUE = OutsideDue.objects.filter(outside_work=OuterRef("pk"), act__corrected_by__isnull=True).order_by("-pk")


def _sent() -> QuerySet[OutsideWork]:
    """What was sent out by an act that counts, with what it is, where it went, who sent it, and the newest day `named` for it since."""
    rows = OutsideWork.objects.filter(act__corrected_by__isnull=True).order_by("pk")
    rows = rows.annotate(named=Subquery(_DUE.values("due_on")[:1]))
    return rows.select_related("job", "act__actor", "item__part", "item__lot", "item__serial", "spot__place")


def still_out(jobs: Iterable[Job] | QuerySet[Job]) -> QuerySet[OutsideWork]:
    """What of these jobs is at an outside machinist now. One query."""
    return _sent().filter(~Exists(_BACK), job__in=jobs)


def sent_out(job: Job, number: int) -> OutsideWork:
    """One piece that was sent out on the job; DomainError "not-found". One query."""
    found = _sent().filter(job=job, pk=number).first()
    if found is None:
        raise DomainError("not-found", f"Job {job.number} has no outside work {number}.", outside_work=number)
    return found


def is_out(row: OutsideWork) -> bool:
    """Whether the piece is out still: no return of it counts. One query."""
    return not OutsideReturn.objects.filter(outside_work=row, act__corrected_by__isnull=True).exists()


def piece(row: OutsideWork) -> str:
    """The piece as a person is told."""
    count = f"{row.amount} of " if row.amount != 1 and row.item.base == Base.PIECE else ""
    return f"{count}{row.item.called}"


def latest_due(job: Job) -> date | None:
    """The latest day on which a piece that is out is due back; None when nothing is out. One query."""
    return max((row.due for row in still_out([job])), default=None)


def _record(row: OutsideWork, back_on: date | None) -> dict[str, Any]:
    """One piece, JSON-ready; `back_on` is None while it is out."""
    return {
        "id": row.pk,
        "machinist": row.spot.place.code,
        "item": row.item_id,
        "part": row.item.part.number,
        "identity": row.item.identity,
        "amount": row.amount,
        "positions": list(row.positions),
        "needed_by": list(row.needed_by),
        "work": row.work,
        "sent_by": row.act.actor.username,
        "sent_on": row.sent_on,
        "due_on": row.due,
        "back_on": back_on,
    }


def outside_of(job: Job) -> list[dict[str, Any]]:
    """Everything that was sent out on the job, in order. One query."""
    rows = _sent().filter(job=job).annotate(back=_BACK.order_by("-pk").values("back_on")[:1])
    return [_record(row, row.back) for row in rows]
