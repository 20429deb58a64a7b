"""Engines that were changed in the field: what their number says of their parts needs a person's word."""

from __future__ import annotations

from collections.abc import Iterable

from kits.domain.requirements import Conflict, Explosion, Key
from kits.domain.settled import Recorded, Settled


def number_questions(explosion: Explosion, settled: Settled, recorded: Iterable[Recorded]) -> tuple[Conflict, ...]:
    """One conflict for each choice, and each position outside a choice, at which the engine number decided.

    A recorded word on the choice, or on the position, answers it. In map order.
    """
    said = {(one.choice, one.place) for one in recorded}
    ruled_out = {one.choice for one in explosion.ruled_out if one.choice}
    asked: dict[tuple[str, str], tuple[Key, str, str]] = {}
    for line in settled.lines:
        candidate = line.candidate
        numbers = [because.numbers for because in candidate.becauses if because.numbers]
        if not numbers and candidate.choice not in ruled_out:
            continue
        holders = (line.position, *explosion.family.map.outward(line.position))
        places = holders if candidate.choice else (line.position,)
        if any((candidate.choice, place) in said for place in places):
            continue
        name = (candidate.choice, "" if candidate.choice else line.position)
        asked.setdefault(name, (line.key, line.part, numbers[0] if numbers else line.reason))
    return tuple(
        Conflict(
            "number-in-doubt",
            *key,
            f"{explosion.engine_number.text} was changed in the field: {part} by its number ({why}), a person confirms",
            (part,),
            True,
        )
        for key, part, why in asked.values()
    )
