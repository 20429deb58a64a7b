"""Whether a liner and a piston that were not matched by their maker make a set: by clearance and weight alone. Pure.

The maker's manual overrides every limit here. A set is made of a plain pass only: nobody accepts a doubtful one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.allowance import combined
from kits.domain.facts import Facts
from kits.domain.judging import judge_clearance
from kits.domain.limits import Verdict, worst
from kits.domain.readings import agreed
from kits.domain.taken import Taken


@dataclass(frozen=True, slots=True)
class Weighing:
    """One weighing of the piston that counts. point  what was on the scales with it ("with pin"); marks: why it may not decide."""

    id: int
    point: str
    weight_mg: int
    uncertainty_mg: int
    shown: str
    gauge: str
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Matched:
    """What is on the new set's label, by the readings; `document` says what it rests on, `ids` which readings."""

    bore_nm: int
    piston_nm: int
    weight_mg: int | None
    document: Mapping[str, Any]
    ids: tuple[int, ...]


def match(taken: Sequence[Taken], weighings: Sequence[Weighing], facts: Facts, serial: str) -> Matched:
    """The set that these readings make; taken  of the liner's bore and of the piston, nothing else.

    The weight is asked for where the family limits how far pistons of an engine differ, weighed with what the limit is stated with.
    Raises "match-refused" for anything but a pass, "readings-missing", "readings-disagree", "bore-readings-short", "no-limit",
    "reading-unusable".
    """
    judged = judge_clearance(taken, facts, serial)
    weight_mg, doubts, weights = _weight(weighings, facts, serial)
    verdict = worst((judged.verdict, Verdict.DOUBTFUL if doubts else Verdict.PASS))
    why = [*judged.document["why"], *doubts]
    if verdict is not Verdict.PASS:
        clearance = judged.document["clearance"]
        reasons = f": {'; '.join(why)}" if why else ""
        raise DomainError(
            "match-refused",
            f"Clearance {clearance}: {verdict.value}{reasons}. These do not make a set.",
            ways_out=("Measure again, with a better gauge.", "Try another piston or liner."),
            verdict=verdict.value,
            clearance=clearance,
            limits=judged.document["limits"],
            why=why,
        )
    document = dict(judged.document) | {
        "weight_mg": weight_mg,
        "weighed_with": facts.weight_with,
        "readings": [*judged.document["readings"], *weights],
    }
    ids = (*judged.ids, *(one["id"] for one in weights))
    return Matched(judged.document["bore_mean_nm"], judged.document["piston_nm"], weight_mg, document, ids)


def _weight(
    weighings: Sequence[Weighing], facts: Facts, serial: str
) -> tuple[int | None, tuple[str, ...], list[dict[str, Any]]]:
    """The weight, why it may not decide, and its readings as they are kept."""
    point = f"with {facts.weight_with}" if facts.weight_with else ""
    fitting = [one for one in weighings if one.point == point]
    if not fitting:
        if facts.weight_spread_mg is None:
            return None, (), []
        raise DomainError(
            "readings-missing",
            f"{serial}: the weight of the piston {point or 'alone'} was not read.",
            ways_out=(f'Weigh it, with the point "{point}".',) if point else (),
            what=["weight"],
            point=point,
        )
    counting = [one for one in fitting if not one.marks] or fitting
    found = agreed([one.weight_mg for one in counting], combined([max(one.uncertainty_mg for one in counting)]))
    if found.value is None:
        raise DomainError(
            "readings-disagree",
            f"{serial}: two weighings differ by more than their scales allow.",
            ways_out=("Weigh it a third time.",),
            what="weight",
            readings=[one.id for one in counting],
        )
    said = [
        {"id": one.id, "what": "weight", "point": one.point, "shown": one.shown, "gauge": one.gauge, "doubts": list(one.marks)}
        for one in counting
    ]  # fmt: skip
    return found.value, tuple(dict.fromkeys(mark for one in counting for mark in one.marks)), said
