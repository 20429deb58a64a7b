"""Parts of a finished list that lack the companion which a replacement notice asks for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from inventory.domain.companions import Alone, alone, differing
from inventory.models import Part
from inventory.queries.replacements import companions_of
from kits.domain.procedures import Operation
from kits.queries.job_list import JobList, sits_in
from kits.queries.served import JobPromise
from kits.queries.substitutes import Substitution


def alone_on(
    listed: JobList, promises: Sequence[JobPromise], swaps: Mapping[str, Substitution], part_ids: Iterable[int]
) -> tuple[Alone, ...]:
    """What the finished list brings without its companion: the list with everything that is issued in place of something.

    part_ids   parts of the list and those that replacement notices join with them
    What stays in the engine counts too. One query where no notice names a companion, else two.
    """
    rules = companions_of(part_ids)
    if not rules:
        return ()
    renewed = {line.position for line in listed.settled.lines} - {one.position for one in listed.taken_off.taken}
    renewed -= listed.scope.not_needed.keys()
    amounts: dict[str, int] = defaultdict(int)
    for position, part in sits_in(listed.job).items():
        amounts[part] += position not in renewed
    for line in listed.lines:
        amounts[line.part] += line.amount if line.base == "piece" else 0
    for one in promises:
        issued = one.hold.item.part.number
        if not one.on_approval and issued != one.wanted and not one.poured:
            _swap(amounts, one.wanted, issued, one.hold.amount if one.open else one.picked)
    for wanted, swap in swaps.items():
        for instead, pieces in swap.parts:
            _swap(amounts, wanted, instead.number, pieces)
    return alone(rules, amounts)


def _swap(amounts: dict[str, int], wanted: str, issued: str, pieces: int) -> None:
    if wanted != issued:
        amounts[wanted] -= pieces
        amounts[issued] += pieces


def questions_of(operation: Operation, parts: Mapping[str, Part]) -> tuple[str, ...]:
    """Either/or alternatives of a procedure that bring other companions than the notices ask for. One query."""
    rules = companions_of(part.pk for part in parts.values())
    groups: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for line in operation.lines if rules else ():
        if line.choice and line.amount.base == "piece":
            groups[f"{line.choice} {line.alternative}"][line.part] += line.amount.amount * len(line.positions)
    return differing(rules, groups)
