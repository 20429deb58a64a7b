"""Parts that are held now for work after the first run: asked for on a later job of the engine, as due after first run."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Q

from inventory.domain.quantities import shown_amount
from kits.models import Extra, Job, JobHold


@dataclass(frozen=True, slots=True)
class Kept:
    """So much of a part is held or was picked for the work, on which job."""

    job: str
    shown: str


def service_parts(engine_ids: Collection[int]) -> dict[tuple[int, str], Kept]:
    """(engine, part number) → what is held for it on an open job, the newest where there are several. One query."""
    rows = (
        JobHold.objects.filter(job__engine__in=engine_ids, job__state=Job.State.BOOKED)
        .filter(pick_list__act__extra__reason=Extra.Reason.SERVICE)
        .filter(Q(hold__end__isnull=True) | Q(hold__end__how="picked"))
        .order_by("job_id", "hold_id")
    )
    columns = ("job__engine_id", "wanted__number", "job__number", "hold__amount", "hold__item__base")
    sums: dict[tuple[int, str], tuple[str, int, str]] = {}
    for engine, part, job, amount, base in rows.values_list(*columns):
        before = sums.get((engine, part))
        add = before[1] if before is not None and before[0] == job else 0
        sums[engine, part] = (job, add + amount, base)
    return {key: Kept(job, shown_amount(amount, base)) for key, (job, amount, base) in sums.items()}
