"""Which positions of a job are served already: held, picked, or fitted."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from inventory.domain.shelf_life import usable_on
from inventory.models import Balance, Hold
from inventory.queries import by_hand
from inventory.queries.held import with_what_and_where
from kits.domain.requirements import Key
from kits.domain.serving import FILLED, PIECE, Demand, FittedAt, Lying, Promised, Served, serve, stand_ins, still_fitted
from kits.models import Fitting, Job, JobHold
from kits.queries.at_positions import old_at_bench
from kits.queries.job_list import JobList
from kits.queries.materials import is_poured, nozzle_of, pouring_of


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
        return _poured(item.tube_id, item.part.net_ul, item.base, self.shares, self.hold.amount)


def _poured(
    tube: int | None, net_ul: int | None, base: str, shares: Sequence[tuple[str, int, int]], amount: int
) -> bool:
    return tube is not None or bool(net_ul and base == PIECE and sum(share[2] for share in shares) != amount)


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


def promised_of(job: Job) -> list[Promised]:
    """The same holds as plain values, without where they lie. One query, by hand: every list and every hand-over asks for it."""
    found = []
    for row in by_hand.rows(_PROMISED, [job.pk]):
        hold, item, part, wanted, text, asked, picked, pick_list, on_approval, tube, net_ul, base, *rest = row
        part_id, lot_id, opened_on, *last_days = rest
        shares = tuple(tuple(share) for share in (json.loads(text) if isinstance(text, str) else text))
        found.append(
            Promised(
                name=hold, item=item, part=part, wanted=wanted, shares=shares, amount=asked if picked is None else picked,
                open=picked is None, newness=pick_list or 0, tube=tube is not None,
                poured=_poured(tube, net_ul, base, shares, asked), product=(part_id, lot_id or 0),
                on_approval=bool(on_approval), asked=asked, opened_on=opened_on,
                use_by=last_days[0] if tube is not None else last_days[1],
            )
        )  # fmt: skip
    return found


_PROMISED = """
    SELECT k.hold_id, h.item_id, p.number, w.number, k.positions, h.amount, e.picked, k.pick_list_id, k.on_approval, i.tube_id,
           p.net_ul, i.base, i.part_id, i.lot_id, t.opened_on, t.use_by, l.expires_on
    FROM kits_jobhold k
    JOIN inventory_hold h ON h.id = k.hold_id
    JOIN inventory_item i ON i.id = h.item_id
    JOIN inventory_part p ON p.id = i.part_id
    JOIN inventory_part w ON w.id = k.wanted_id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    LEFT JOIN inventory_holdend e ON e.hold_id = k.hold_id
    WHERE k.job_id = %s AND (e.hold_id IS NULL OR e.how = 'picked') ORDER BY k.line, k.hold_id"""


def served(listed: JobList, promised: Sequence[Promised] | None = None) -> Served:
    """What of a job's list is fitted, lies on its cart or bench, or is promised; and what is there to no purpose.

    promised  those of `promised_of` that count; all where it is not given
    Seven queries at most; one where nothing was held or fitted yet.
    """
    job = listed.job
    was_promised, was_fitted, lies, was_removed = by_hand.rows(
        _HAS, [job.pk, job.pk, job.cart_id, job.bench_id, job.pk]
    )[0]
    if promised is None:
        promised = promised_of(job) if was_promised else []
    lines = (*listed.lines, *listed.candidates)
    return serve(
        [
            Demand(
                key,
                line.part,
                amount,
                line.base,
                poured,
                line.how == FILLED,
                nozzle_of(listed, key) if poured else "",
            )
            for line in lines
            for poured in [is_poured(listed, line)]
            for key, amount in zip(line.keys, line.amounts, strict=True)
        ],
        promised,
        fitted(job, listed.explosion.requirements.keys()) if was_fitted else [],
        _lying(job, old_at_bench(job) if was_removed else {}, listed.fit_day) if lies else [],
        pouring_of(listed, lines),
    )


#: What a job has none of need not be read.
_HAS = """
    SELECT EXISTS (SELECT 1 FROM kits_jobhold WHERE job_id = %s), EXISTS (SELECT 1 FROM kits_fitting WHERE job_id = %s),
           EXISTS (SELECT 1 FROM inventory_balance WHERE place_id IN (%s, %s) AND amount > 0),
           EXISTS (SELECT 1 FROM kits_removal WHERE job_id = %s)"""


def here_of(listed: JobList) -> Mapping[tuple[Key, str], int]:
    """What of a job's list is fitted, on the cart or at the bench: what is still held on a shelf is not here."""
    return served(listed, [one for one in promised_of(listed.job) if not one.open]).amounts


def stand_ins_of(promises: Sequence[JobPromise]) -> dict[str, set[str]]:
    """Listed part → parts that were promised for it."""
    return stand_ins((one.wanted, one.hold.item.part.number) for one in promises)


def lying_new(job: Job) -> list[Lying]:
    """What lies on the job's cart and bench and never was in the engine, item by item. Four queries at most."""
    return _lying(job, old_at_bench(job))


def _lying(job: Job, old: Mapping[int, int], day: date | None = None) -> list[Lying]:
    """With a day: what is stopped, or past its use-by on that day, is unfit."""
    return [
        Lying(
            item, part, int(amount) - old.get(item, 0), tube is not None, (part_id, lot or 0),
            unfit=day is not None and (bool(stopped) or not usable_on(tube_use_by if tube is not None else use_by, day)),
            opened_on=opened_on,
        )
        for item, part, tube, part_id, lot, opened_on, tube_use_by, use_by, stopped, amount in by_hand.rows(
            _LIES, [job.cart_id, job.bench_id]
        )
        if amount > old.get(item, 0)
    ]  # fmt: skip


_LIES = f"""
    SELECT i.id, p.number, i.tube_id, i.part_id, i.lot_id, t.opened_on, t.use_by, l.expires_on, {by_hand.STOPPED}, SUM(b.amount)
    FROM inventory_balance b
    JOIN inventory_item i ON i.id = b.item_id
    JOIN inventory_part p ON p.id = i.part_id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_tube t ON t.id = i.tube_id
    WHERE b.place_id IN (%s, %s) AND b.amount > 0
    GROUP BY i.id, p.id, l.id, t.id ORDER BY i.id"""


def fitted(job: Job, listed: Collection[Key] = ()) -> list[FittedAt]:
    """What was fitted on this job and stands in the engine, whole base units; corrected fittings do not count. Two queries.

    listed  keys of the list: what came out of a joint that is made once more was fitted all the same
    """
    ins = Fitting.objects.filter(job=job, act__corrected_by__isnull=True, correction__isnull=True).order_by("pk")
    rows = [
        FittedAt((position, make), item, part, amount)
        for position, make, item, part, amount in ins.values_list(
            "spot__name", "make", "item_id", "item__part__number", "amount"
        )
    ]
    if not rows:
        return []
    stands = Balance.objects.filter(place=job.engine.place_id, amount__gt=0)
    names = stands.values_list("spot__name", "item_id", "amount")
    return still_fitted(rows, {(position, item): amount for position, item, amount in names}, listed)
