"""What a job costs, from the value of everything that came to its bench and went from there."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from inventory.models import Item
from inventory.queries.value_points import entries_of
from inventory.queries.value_walk import AsOf
from kits.domain.job_costs import job_costs
from kits.models import Job


def costs_of(job: Job, as_of: AsOf) -> dict[str, Any]:
    """Every item with what the job is charged for it, by part and item, and the sums. JSON-ready; twenty-one queries at most.

    {"job", "method", "items": [{item, part, lot, serial, member, base, issued, returned, unknown, net_coins, coins: those of
    `Account`}], "issued_coins", "credited_coins", "net_coins"}
    """
    method, entries = entries_of(frozenset((job.bench_id, job.cart_id)), as_of)
    found = job_costs(entries, job.bench_id, job.cart_id)
    items = Item.objects.filter(pk__in=found).select_related("part", "lot", "serial")
    told: list[dict[str, Any]] = []
    for item in sorted(items, key=lambda one: (one.part.number, one.pk)):
        cost = found[item.pk]
        told.append(
            {
                "item": item.pk,
                "part": item.part.number,
                "lot": item.lot_code,
                "serial": item.serial_number,
                "member": item.member,
                "base": item.base,
                "issued": cost.issued,
                "returned": cost.returned,
                "unknown": cost.unknown,
                "net_coins": cost.net,
                "coins": {
                    **asdict(cost.coins),
                    "came": cost.coins.came,
                    "went": cost.coins.went,
                    "still_here": cost.coins.still_here,
                },
            }
        )
    issued = sum(row["coins"]["issued"] for row in told)
    credited = sum(row["coins"]["returned"] for row in told)
    return {
        "job": job.number,
        "method": method.value,
        "items": told,
        "issued_coins": issued,
        "credited_coins": credited,
        "net_coins": issued - credited,
    }
