"""Pieces of jobs at outside machinists: what is out, since when, until when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Case, Exists, F, OuterRef, QuerySet, Subquery, Sum, When
from django.db.models.functions import Coalesce

from inventory.domain.errors import DomainError
from inventory.domain.items import Base
from inventory.queries.days import shop_day
from kits.models import Job, OutsideDue, OutsideLoss, OutsideReturn, OutsideWork

_BACK = OutsideReturn.objects.filter(outside_work=OuterRef("pk"), act__corrected_by__isnull=True)
_DUE = OutsideDue.objects.filter(outside_work=OuterRef("pk"), act__corrected_by__isnull=True).order_by("-pk")
_LOST = (
    OutsideLoss.objects.filter(outside_work=OuterRef("pk"), act__corrected_by__isnull=True)
    .order_by()
    .values("outside_work")
    .annotate(pieces=Sum("amount"))
    .values("pieces")
)


def _sent() -> QuerySet[OutsideWork]:
    """What was sent out by an act that counts, with what it is, where it went, who sent it, the newest day `named` for it since, and how
    much of it was `lost` there."""
    rows = OutsideWork.objects.filter(act__corrected_by__isnull=True).order_by("pk")
    rows = rows.annotate(named=Subquery(_DUE.values("due_on")[:1]), lost=Coalesce(Subquery(_LOST), 0))
    return rows.select_related("job", "act__actor", "item__part", "item__lot", "item__serial", "spot__place")


def still_out(jobs: Iterable[Job] | QuerySet[Job]) -> QuerySet[OutsideWork]:
    """What of these jobs is at an outside machinist now. One query."""
    return _sent().filter(~Exists(_BACK), job__in=jobs, amount__gt=F("lost"))


def not_back(job: Job) -> QuerySet[OutsideWork]:
    """What of the job went outside and did not come back, because it is there, or was lost there: so much of each as `away`. One query."""
    away = Case(When(Exists(_BACK), then=F("lost")), default=F("amount"))
    return _sent().filter(job=job).annotate(away=away).filter(away__gt=0)


def sent_out(job: Job, number: int) -> OutsideWork:
    """One piece that was sent out on the job; DomainError "not-found". One query."""
    found = _sent().filter(job=job, pk=number).first()
    if found is None:
        raise DomainError("not-found", f"Job {job.number} has no outside work {number}.", outside_work=number)
    return found


def refuse_not_out(row: OutsideWork) -> None:
    """DomainError "back-already" or "lost-outside" where it is not out any more. One query."""
    if OutsideReturn.objects.filter(outside_work=row, act__corrected_by__isnull=True).exists():
        raise DomainError("back-already", f"{piece(row)} came back already.", outside_work=row.pk)
    if not row.left:
        raise DomainError(
            "lost-outside",
            f"{piece(row)} is on record as lost at {row.spot.place.code}.",
            ways_out=("It was found after all: correct the act that says it is lost.",),
            outside_work=row.pk,
        )


def piece(row: OutsideWork) -> str:
    """The piece as a person is told."""
    pieces = row.left or row.amount
    count = f"{pieces} of " if pieces != 1 and row.item.base == Base.PIECE else ""
    return f"{count}{row.item.called}"


def latest_due(job: Job) -> date | None:
    """The latest day on which a piece that is out is due back; None when nothing is out. One query."""
    return max((row.due for row in still_out([job])), default=None)


def _record(row: OutsideWork, back_on: date | None, losses: list[OutsideLoss]) -> dict[str, Any]:
    """One piece, JSON-ready; `back_on` is None while it is out, or once all of it is lost."""
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
        "losses": [
            {
                "act": one.act_id,
                "amount": one.amount,
                "said_by": one.said_by,
                "reason": one.reason,
                "on": shop_day(one.act.occurred_at),
            }
            for one in losses
        ],
    }


def outside_of(job: Job) -> list[dict[str, Any]]:
    """Everything that was sent out on the job, in order. Two queries where something was lost, else one."""
    rows = list(_sent().filter(job=job).annotate(back=_BACK.order_by("-pk").values("back_on")[:1]))
    losses: dict[int, list[OutsideLoss]] = {row.pk: [] for row in rows if row.left < row.amount}
    if losses:
        counting = OutsideLoss.objects.filter(outside_work__in=losses, act__corrected_by__isnull=True)
        for one in counting.select_related("act").order_by("pk"):
            losses[one.outside_work_id].append(one)
    return [_record(row, row.back, losses.get(row.pk, [])) for row in rows]
