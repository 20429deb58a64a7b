"""Which positions of a job are served already: held, picked, or fitted."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import Q, Sum

from inventory.models import Balance, Hold
from inventory.queries import by_hand
from inventory.queries.held import with_what_and_where
from kits.domain.requirements import Key
from kits.domain.serving import PIECE, Demand, Event, FittedAt, Lying, Promised, Served, serve, stand_ins, still_fitted
from kits.models import Fitting, Job, JobHold, Removal
from kits.queries.at_positions import old_at_bench
from kits.queries.job_list import JobList


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

    @property
    def poured(self) -> bool:
        """A tube, tin or bottle that stands for whole joints: what it serves is no count of pieces."""
        item = self.hold.item
        if item.tube_id is not None:
            return True
        return bool(item.part.net_ul and item.base == PIECE and sum(one[2] for one in self.shares) != self.hold.amount)


def promises_of(job: Job) -> list[JobPromise]:
    """Every hold of a job that is open or was picked, in order of the list. Three queries, one where there is none."""
    rows = list(
        JobHold.objects.filter(job=job)
        .filter(Q(hold__end__isnull=True) | Q(hold__end__how="picked"))
        .select_related("wanted", "hold__end")
        .order_by("line", "hold_id")
    )
    with_what_and_where([row.hold for row in rows])
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


def served(listed: JobList, promises: Sequence[JobPromise] | None = None) -> Served:
    """What of a job's list is fitted, lies on its cart or bench, or is promised; and what is there to no purpose.

    Seven queries at most, ten without `promises` (those of `promises_of`); one where nothing was held or fitted yet.
    """
    job = listed.job
    promised, was_fitted, lies = by_hand.rows(_HAS, [job.pk, job.pk, job.cart_id, job.bench_id])[0]
    held = promises if promises is not None else promises_of(job) if promised else []
    lines = (*listed.lines, *listed.candidates)
    return serve(
        [
            Demand(key, line.part, amount, line.base, line.base != PIECE and listed.parts[line.part].base == PIECE)
            for line in lines
            for key, amount in zip(line.keys, line.amounts, strict=True)
        ],
        [_promised(one) for one in held],
        fitted(job, listed.explosion.requirements.keys()) if was_fitted else [],
        lying_new(job) if lies else [],
    )


#: What a job has none of need not be read.
_HAS = """
    SELECT EXISTS (SELECT 1 FROM kits_jobhold WHERE job_id = %s), EXISTS (SELECT 1 FROM kits_fitting WHERE job_id = %s),
           EXISTS (SELECT 1 FROM inventory_balance WHERE place_id IN (%s, %s) AND amount > 0)"""


def _promised(one: JobPromise) -> Promised:
    item = one.hold.item
    return Promised(
        name=one.hold.pk,
        item=item.pk,
        part=item.part.number,
        wanted=one.wanted,
        shares=one.shares,
        amount=one.hold.amount if one.open else one.picked,
        open=one.open,
        newness=one.pick_list_id or 0,
        tube=item.tube_id is not None,
        poured=one.poured,
        product=(item.part_id, item.lot_id or 0),
    )


def stand_ins_of(promises: Sequence[JobPromise]) -> dict[str, set[str]]:
    """Listed part → parts that were promised for it."""
    return stand_ins(_promised(one) for one in promises)


def lying_new(job: Job) -> list[Lying]:
    """What lies on the job's cart and bench and never was in the engine, item by item. Four queries at most."""
    rows = (
        Balance.objects.filter(place__in=[job.cart_id, job.bench_id], amount__gt=0)
        .values_list("item_id", "part__number", "item__tube_id", "part_id", "item__lot_id")
        .annotate(total=Sum("amount"))
        .order_by("item_id")
    )
    found = list(rows)
    old = old_at_bench(job) if found else {}
    return [
        Lying(item_id, part, amount - old.get(item_id, 0), tube_id is not None, (part_id, lot_id or 0))
        for item_id, part, tube_id, part_id, lot_id, amount in found
        if amount > old.get(item_id, 0)
    ]


def fitted(job: Job, listed: Collection[Key] = ()) -> list[FittedAt]:
    """What was fitted on this job and is still in, whole base units; corrected fittings do not count. Two queries.

    listed  keys of the list: what came out of a joint that is made once more was fitted all the same
    """
    ins = Fitting.objects.filter(job=job, act__corrected_by__isnull=True)
    outs = Removal.objects.filter(job=job, act__corrected_by__isnull=True)
    events = [
        Event(act, (position, make), item, part, amount)
        for act, position, make, item, part, amount in ins.order_by("pk").values_list(
            "act_id", "spot__name", "make", "item_id", "item__part__number", "amount"
        )
    ]
    if events:
        events += [
            Event(act, (position, 0), item, "", -amount)
            for act, position, item, amount in outs.values_list("act_id", "spot__name", "item_id", "amount")
        ]
    return still_fitted(events, listed)
