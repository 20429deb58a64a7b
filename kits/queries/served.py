"""Which positions of a job are served already: held, picked, or fitted."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q

from inventory.models import Hold
from kits.domain.requirements import Key
from kits.models import Fitting, Job, JobHold


@dataclass(frozen=True, slots=True)
class JobPromise:
    """A hold of a job as it stands: open, or ended with what was picked. `shares` are (position, make, amount)."""

    hold: Hold
    wanted: str
    shares: tuple[tuple[str, int, int], ...]
    tray: int
    line: int
    pick_list_id: int | None
    on_approval: bool
    open: bool
    picked: int


def promises_of(job: Job) -> list[JobPromise]:
    """Every hold of a job that is open or was picked, in order of the list. One query."""
    rows = (
        JobHold.objects.filter(job=job)
        .filter(Q(hold__end__isnull=True) | Q(hold__end__how="picked"))
        .select_related(
            "wanted", "hold__item__part", "hold__item__lot", "hold__item__serial", "hold__item__tube",
            "hold__from_spot__place", "hold__to_spot__place", "hold__end",
        )
        .order_by("line", "hold_id")
    )  # fmt: skip
    found = []
    for row in rows:
        end = getattr(row.hold, "end", None)
        found.append(
            JobPromise(
                hold=row.hold,
                wanted=row.wanted.number,
                shares=tuple((share[0], share[1], share[2]) for share in row.positions),
                tray=row.tray,
                line=row.line,
                pick_list_id=row.pick_list_id,
                on_approval=row.on_approval,
                open=end is None,
                picked=end.picked if end is not None else 0,
            )
        )
    return found


def served(promises: list[JobPromise]) -> dict[tuple[Key, str], int]:
    """How much of each (position and make, wanted part) is promised or picked, in the base unit of the list's line.

    A hold picked in part serves its first positions. What stands for several joints at once (a tube) serves each of them whole.
    """
    amounts: dict[tuple[Key, str], int] = defaultdict(int)
    for promise in promises:
        if promise.on_approval:
            continue
        per_piece = sum(share[2] for share in promise.shares) == promise.hold.amount
        left = promise.hold.amount if promise.open else promise.picked
        for position, make, amount in promise.shares:
            part = min(amount, left) if per_piece else amount
            amounts[(position, make), promise.wanted] += part
            if per_piece:
                left -= part
    return dict(amounts)


def fitted(job: Job) -> dict[Key, int]:
    """What was fitted on this job by (position, make), whole base units; corrected fittings do not count. One query."""
    amounts: dict[Key, int] = defaultdict(int)
    rows = Fitting.objects.filter(job=job, act__corrected_by__isnull=True).values_list("spot__name", "make", "amount")
    for position, make, amount in rows:
        amounts[position, make] += amount
    return dict(amounts)
