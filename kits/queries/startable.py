"""What can begin at the bench with what lies there: step by step, in order of work."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any

from kits.domain.listing import order_of_work
from kits.domain.startable import Stage, StepKey, prefix, startable
from kits.models import Job, OutsideWork
from kits.queries.job_list import job_list, shown_amount
from kits.queries.served import here_of


def startable_of(job: Job) -> dict[str, Any]:
    """{"job", "startable": how many steps can be worked from the first on, "steps": [{procedure, step, name, can_start, why,
    waits_for}]}. Only what is fitted, on the cart or at the bench counts: what is still held on a shelf is not here."""
    listed = job_list(job)
    here = here_of(listed)
    lacking: dict[StepKey, dict[str, int]] = defaultdict(dict)
    beads: set[StepKey] = set()
    shown: dict[str, str] = {}
    for line in listed.lines:
        key = line.operation, line.step
        if line.how == "bead":
            beads.add(key)
        missing = sum(
            amount - here.get((position, line.part), 0)
            for position, amount in zip(line.keys, line.amounts, strict=True)
        )
        if missing > 0:
            lacking[key][line.part] = lacking[key].get(line.part, 0) + missing
            shown[line.part] = line.base
    for choice in listed.settled.open_choices:
        for position in choice.keys:
            operation, step, _ = listed.explosion.requirements[position].candidates[0].work[0]
            if choice.rule == "exactly-one":
                lacking[operation, step][f"{choice.text} (not chosen)"] = 1
    out = _outside(job)
    rank = order_of_work(listed.scope.operations)
    steps = {(operation.code, step.step): step for operation in listed.scope.operations for step in operation.steps}
    asked = {(line.operation, line.step) for line in listed.lines} | set(lacking)
    standings = startable(
        [
            Stage(
                key,
                tuple((key[0], before) for before in steps[key].after),
                dict(lacking.get(key, {})),
                key in beads,
                max((out[name] for name in ("", f"{key[0]}/{key[1]}") if name in out), default=None),
            )
            for key in sorted(asked, key=lambda key: rank[key])
        ]
    )
    return {
        "job": job.number,
        "startable": prefix(standings),
        "steps": [
            {
                "procedure": one.key[0],
                "step": one.key[1],
                "name": steps[one.key].name,
                "can_start": one.can_start,
                "missing": [
                    {"part": part, "amount": amount, "base": base, "shown": shown_amount(amount, base)}
                    for part, amount in lacking.get(one.key, {}).items()
                    for base in [shown.get(part, "piece")]
                ],
                "why": list(one.why),
                "waits_for": [f"{code}/{step}" for code, step in one.waits_for],
            }
            for one in standings
        ],
    }


def _outside(job: Job) -> dict[str, date]:
    """Step (empty: every step) → the day its piece is due back from outside."""
    found: dict[str, date] = {}
    for row in OutsideWork.objects.filter(job=job, came_back__isnull=True, act__corrected_by__isnull=True):
        found[row.needed_by_step] = max(row.due_on, found.get(row.needed_by_step, row.due_on))
    return found
