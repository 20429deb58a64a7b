"""A part that a person named for a position at which something is to be bought in: from then on a line like any other. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from kits.domain.procedures import CLASSES, Operation
from kits.domain.requirements import Because, BuyIn, Candidate, Explosion, Requirement
from kits.domain.settled import BUY_IN, Recorded


def to_be_named(explosion: Explosion, position: str, recorded: Iterable[Recorded]) -> BuyIn | None:
    """What a part may be named for at a position: a buy-in that stands there alone, or that a word chose before the listed part."""
    bought = next((one for one in explosion.buy_ins if one.position == position), None)
    listed = any(key[0] == position for key in explosion.requirements)
    said = any(one.alternative == BUY_IN and one.place == position for one in recorded)
    return bought if bought is not None and (said or not listed) else None


def with_named(explosion: Explosion, operations: Sequence[Operation], recorded: Sequence[Recorded]) -> Explosion:
    """The list with the parts that were named for its buy-ins, the newest word of each position; the rest is still to be named.

    A bought part is always new: what it replaces was rejected. It is worked where lines of its group of the map are, else at the first
    step of the job; a job without a step has no list to be on.
    """
    named = {one.place: one.part for one in recorded if not one.choice and one.part}
    if not explosion.buy_ins or not named:
        return explosion
    requirements, conflicts = dict(explosion.requirements), explosion.conflicts
    done: list[BuyIn] = []
    for one in explosion.buy_ins:
        part = named.get(one.position)
        listed = explosion.requirements.get((one.position, 1))
        meant = listed is None or part not in {candidate.part for candidate in listed.candidates}
        work = worked_at(one.position, operations)
        if part is None or not meant or work is None or to_be_named(explosion, one.position, recorded) is None:
            continue
        requirements[one.position, 1] = Requirement(one.position, 1, (_candidate(one, part, work, operations),))
        conflicts = tuple(its for its in conflicts if (its.kind, its.position, its.make) != ("buy-in", one.position, 1))
        done.append(one)
    in_order = sorted(requirements, key=lambda key: (explosion.family.map.order(key[0]), key[1]))
    return replace(
        explosion,
        requirements={key: requirements[key] for key in in_order},
        conflicts=conflicts,
        buy_ins=tuple(one for one in explosion.buy_ins if one not in done),
    )


def _candidate(bought: BuyIn, part: str, work: tuple[str, int, int], operations: Sequence[Operation]) -> Candidate:
    operation, step, _ = work
    revision = next((one.revision for one in operations if one.code == operation), 0)
    because = Because(operation, revision, step, "", f"bought in: {bought.text}", (bought.chain,), "")
    return Candidate(
        part=part,
        amount=bought.amount,
        line_class=CLASSES[0],
        choice="",
        alternative="",
        original_place=False,
        shop_rule=False,
        tools=(),
        notes=(),
        cautions=(),
        work=(work,),
        becauses=(because,),
    )


def worked_at(position: str, operations: Iterable[Operation]) -> tuple[str, int, int] | None:
    """(operation, step, tray) at which what is bought in for a position is worked: that of lines at the position, else in its group of
    the map, else the first step of the first operation that has one; None: the job has no step."""
    group = position.partition("/")[0]
    having = [operation for operation in operations if operation.steps]
    lines = [(operation.code, line) for operation in having for line in operation.lines]
    for near in (
        [(code, line) for code, line in lines if position in line.positions],
        [(code, line) for code, line in lines if any(one.partition("/")[0] == group for one in line.positions)],
    ):
        if near:
            code, line = near[0]
            return code, line.step, line.tray
    return next(((one.code, min(step.step for step in one.steps), 1) for one in having), None)
