"""What can begin at the bench with what lies there, and when the rest can: step by step, in order of work."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from inventory.domain.quantities import shown_amount
from kits.domain.listing import order_of_work
from kits.domain.pieces import steps_needing
from kits.domain.procedures import Step
from kits.domain.startable import Stage, Standing, StepKey, before, prefix, startable
from kits.domain.starts import Awaited, Start, Work, starts
from kits.models import Job, OutsideWork
from kits.queries.hand_over_day import hand_over_day
from kits.queries.job_list import JobList, job_list, to_buy_in
from kits.queries.outside import piece, still_out
from kits.queries.scope import Scope
from kits.queries.served import here_of
from kits.queries.shorts import arriving

_Lacking = Mapping[StepKey, Mapping[str, int]]


def startable_of(job: Job, on: date) -> dict[str, Any]:
    """{"job", "on", "startable": how many steps can be worked from the first on, "steps": [{procedure, step, name, can_start, missing,
    why, waits_for, start_on, because, overdue}], "hand_over"}: every step with something to do on this job.

    can_start  only what is fitted, on the cart or at the bench counts: what is still held on a shelf is not here
    start_on   the first day on which it can begin, as seen on a day: what lies in the shop is here that day, what is short arrives when
               it is bought that day, or by the van where another site has all of it, a piece outside is back on the day it is due. None: something of it has no known day
    """
    listed = job_list(job, on)
    steps = {(one.code, step.step): step for one in listed.scope.operations for step in one.steps}
    rank = order_of_work(listed.scope.operations)
    order = sorted(steps, key=lambda key: rank[key])
    lacking, shown, beads = _lacking(listed)
    out = {row: _needed_by(row, listed.scope) for row in still_out([job])}
    asked = (
        {(line.operation, line.step) for line in listed.lines}
        | lacking.keys()
        | {k for its in out.values() for k in its}
    )
    after = {key: tuple((key[0], one) for one in steps[key].after) for key in order}
    standings = startable(
        [
            Stage(
                key, after[key], lacking.get(key, {}), key in beads,
                tuple(f"{piece(row)} is out until {row.due}" for row, needing in out.items() if key in needing),
                key in asked, _as_written(lacking.get(key, {}), shown),
            )
            for key in order
        ]
    )  # fmt: skip
    awaited = _awaited(listed, out, on)
    days = {one.key: one for one in starts([Work(key, after[key], tuple(awaited.get(key, ()))) for key in order], on)}
    return {
        "job": job.number,
        "on": on,
        "startable": prefix(standings),
        "steps": [_step(one, days[one.key], steps[one.key], lacking.get(one.key, {}), shown) for one in standings],
        "hand_over": hand_over_day(job, on, out, [days[one.key] for one in standings]),
    }


def _lacking(listed: JobList) -> tuple[_Lacking, dict[str, str], set[StepKey]]:
    """What of each step's lines is not here; how a part's amount is shown; the steps in which a bead is laid."""
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
    for operation, step, text in _unchosen(listed):
        lacking[operation, step][f"{text} (not chosen)"] = 1
    for operation, step, text in _unnamed(listed):
        lacking[operation, step][text] = 1
    return dict(lacking), shown, beads


def _as_written(lacking: Mapping[str, int], base_of: Mapping[str, str]) -> dict[str, str]:
    """What is not here as people write it, by part."""
    return {part: shown_amount(amount, base_of.get(part, "piece")) for part, amount in lacking.items()}


def _unchosen(listed: JobList) -> Iterable[tuple[str, int, str]]:
    """Choices that have to be made before their step: operation, step, the choice in words."""
    for choice in listed.settled.open_choices:
        for position in choice.keys:
            operation, step, _ = listed.explosion.requirements[position].candidates[0].work[0]
            if choice.rule == "exactly-one":
                yield operation, step, choice.text


def _unnamed(listed: JobList) -> Iterable[tuple[str, int, str]]:
    """What is to be bought in and has no part yet: operation, step, and what it is in words."""
    for one in to_buy_in(listed):
        operation, _, step = one["step"].rpartition("/")
        if operation:
            yield operation, int(step), f"{one['text']} for {one['position']} (to be bought in, no part is named)"


def _needed_by(row: OutsideWork, scope: Scope) -> frozenset[StepKey]:
    """The steps that cannot begin without a piece: those that a person named, else by the positions at which it sat."""
    lines: dict[StepKey, list[str]] = {(one.code, step.step): [] for one in scope.operations for step in one.steps}
    if row.needed_by:
        return frozenset(key for key in lines if f"{key[0]}/{key[1]}" in row.needed_by)
    for operation in scope.operations:
        for line in operation.lines:
            lines[operation.code, line.step] += line.positions
    return steps_needing(row.positions, lines, scope.family.pieces)


def _awaited(listed: JobList, out: Mapping[OutsideWork, Iterable[StepKey]], on: date) -> dict[StepKey, list[Awaited]]:
    """What each step waits for that is not in the shop: what is short, and pieces that are outside. A measured or personal choice
    has no day of its own: it is made when somebody makes it. Of what is to be bought in and has no part yet no day is known."""
    found: dict[StepKey, list[Awaited]] = defaultdict(list)
    for (operation, step), part, amount, base, day in arriving(listed, on):
        found[operation, step].append(Awaited(f"{shown_amount(amount, base)} {part} bought on {on}", day))
    for operation, step, text in _unnamed(listed):
        found[operation, step].append(Awaited(text, None))
    for row, needing in out.items():
        for key in needing:
            found[key].append(Awaited(f"{piece(row)} at {row.spot.place.code}", row.due, due=True))
    return found


def missing_for(listed: JobList, keys: frozenset[StepKey], tube_of: frozenset[str], also: str = "") -> list[str]:
    """What steps and those before them lack: neither fitted, nor on the cart or at the bench, not chosen, or outside; each in words.

    tube_of  use positions whose sealant is looked at by itself; also: a use position that is needed, whatever step brings its part
    """
    after = {
        (one.code, step.step): [(one.code, number) for number in step.after]
        for one in listed.scope.operations
        for step in one.steps
    }
    wanted = keys | before(after, keys)
    here = here_of(listed)
    found = []
    for line in listed.lines:
        where = line.operation, line.step
        earlier = "" if where in keys else f" (step {where[0]}/{where[1]} before it)"
        for key, amount in zip(line.keys, line.amounts, strict=True):
            missing = amount - here.get((key, line.part), 0)
            if missing > 0 and key[0] not in tube_of and (where in wanted or key[0] == also):
                found.append(f"{shown_amount(missing, line.base)} {line.part} for {key[0]}{earlier}")
    found += [
        f"{text} (step {code}/{step}): not chosen" for code, step, text in _unchosen(listed) if (code, step) in wanted
    ]
    found += [f"{text} (step {code}/{step})" for code, step, text in _unnamed(listed) if (code, step) in wanted]
    for row in still_out([listed.job]):
        if wanted & _needed_by(row, listed.scope):
            found.append(f"{piece(row)}, which is at {row.spot.place.code} until {row.due}")
    return list(dict.fromkeys(found))


def _step(
    one: Standing, start: Start, step: Step, lacking: Mapping[str, int], shown: Mapping[str, str]
) -> dict[str, Any]:
    return {
        "procedure": one.key[0],
        "step": one.key[1],
        "name": step.name,
        "can_start": one.can_start,
        "missing": [
            {"part": part, "amount": amount, "base": base, "shown": shown_amount(amount, base)}
            for part, amount in lacking.items()
            for base in [shown.get(part, "piece")]
        ],
        "why": list(one.why),
        "waits_for": [f"{code}/{number}" for code, number in one.waits_for],
        "start_on": start.day,
        "because": list(start.because),
        "overdue": list(start.overdue),
    }
