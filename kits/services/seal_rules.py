"""What a fitting is held against at a sealed joint: its gate and bead, and the sheet's waits before a fill and a start.

Private to services: an open transaction is there.

Every joint that is closed by a bead or a film asks for its gate, whether a product sheet is on record or not; a bead is laid and
weighed besides. Without a sheet nothing is known of its times, and none is held against it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from inventory.domain.errors import DomainError
from inventory.models import Act, Item, Person
from inventory.queries.days import shop_day, start_of
from inventory.queries.sheets import sheets_at
from kits.domain.joints import Joint, sensor_question
from kits.domain.leaks import TESTED_KINDS, lacking_test
from kits.domain.requirements import Key
from kits.models import Bead, Job
from kits.queries.job_list import JobList
from kits.queries.leaks import leak_test_lacking
from kits.queries.materials import THROUGH_A_NOZZLE
from kits.queries.sealing import answered, bead_of, gates_of, sealed


@dataclass(frozen=True, slots=True)
class Seals:
    """gated: use position → its joint, which has a gate; ready: joints whose bead is laid, or whose film may be, and not booked yet.

    films: joints that are closed by a film, which is booked in as it is laid.

    fills: positions that are filled; waits: beads that have to cure before a fill, each joint's newest.
    sensors: positions where sensors ask for a safe sealant → the joint; safe: part id → what its sheet says of that.
    """

    gated: dict[str, str]
    ready: frozenset[str]
    films: frozenset[str]
    fills: frozenset[str]
    waits: tuple[Bead, ...]
    sensors: dict[str, Joint]
    safe: dict[int, bool | None]


def seals_of(act: Act, listed: JobList, keys: Iterable[Key], poured_parts: Iterable[int]) -> Seals:
    """What the positions of one fitting act are held against. No query where neither sealant nor a fill is fitted."""
    asked = set(keys)
    amounts = {line.key: line.candidate.amount for line in listed.settled.lines if line.key in asked}
    how = {key: amount.how for key, amount in amounts.items()}
    joints = {position: joint.code for joint in listed.scope.family.joints.values() for position in joint.positions}
    gated = {key[0]: joints[key[0]] for key, one in amounts.items() if one.base != "piece" and key[0] in joints}
    beads = {joints[key[0]] for key, kind in how.items() if kind in THROUGH_A_NOZZLE and key[0] in joints}
    films = frozenset(gated.values()) - beads
    fills = frozenset(key[0] for key, kind in how.items() if kind == "fill")
    sensors = {
        position: joint
        for joint in listed.scope.family.joints.values()
        if joint.sensor_safe
        for position in joint.positions
        if position in {key[0] for key in asked}
    }
    sheets = sheets_at(set(poured_parts), act.occurred_at) if sensors else {}
    ready: set[str] = set(sealed(listed.job)) if gated else set()
    if films:
        ready |= films & answered(listed.job, act.occurred_at, listed.shop.gate_minutes)
    return Seals(
        gated,
        frozenset(ready),
        films,
        fills,
        _curing(listed.job) if fills else (),
        sensors,
        {part: sheet.sensor_safe for part, sheet in sheets.items()},
    )


def harms_sensors(seals: Seals, item: Item, position: str) -> DomainError | None:
    """A sealant of which nobody can show that it is safe for the sensors behind the joint."""
    joint = seals.sensors.get(position)
    why = sensor_question(joint, item.part.number, seals.safe.get(item.part_id)) if joint is not None else ""
    if not why or item.base == "piece":
        return None
    ways = ("Enter what its product sheet says.", "Use a product that is safe for sensors.")
    return DomainError("sealant-harms-sensors", f"{position}: {why}.", ways_out=ways, position=position)


def _curing(job: Job) -> tuple[Bead, ...]:
    newest: dict[str, Bead] = {}
    for gate in gates_of(job):
        bead = bead_of(gate)
        if bead is not None and not bead.over and gate.sheet is not None and gate.sheet.entries:
            newest[gate.joint] = bead
    return tuple(newest.values())


def untested(job: Job, listed: JobList, coming: Mapping[str, Item]) -> dict[str, str]:
    """Use position → why it is not closed yet: the family's leak test comes first, and none that was passed stands.

    coming  position → what goes in there by this act: a liner or a ring of one cannot have been tested yet
    """
    leak = listed.scope.family.build.leak
    asked = leak.before & set(coming) if leak is not None else frozenset()
    why = leak_test_lacking(job, listed) if asked else ""
    if asked and not why:
        scope_of = listed.scope.family.map.scope_of
        new = [
            position
            for position, item in coming.items()
            if item.part.kind in TESTED_KINDS and scope_of(position.partition("/")[0]) == "cylinder"
        ]
        why = lacking_test(True, (), new)
    return dict.fromkeys(asked, why) if why else {}


def not_tested(shut: Mapping[str, str], position: str) -> DomainError | None:
    """What closes the engine below its liners before they were shown to be tight."""
    if position not in shut:
        return None
    return DomainError(
        "leak-test-missing",
        f"{position}: {shut[position]}; it is closed only after one that was passed.",
        ways_out=("Test the water jacket, look below each liner, and record it.",),
        position=position,
    )


def unsealed(seals: Seals, position: str) -> DomainError | None:
    """A bead that was not laid through its gate, or not in time; a film whose gate was not answered just before."""
    joint = seals.gated.get(position)
    if joint is None or joint in seals.ready:
        return None
    film = joint in seals.films
    what = f"the gate of {joint} was not answered just before" if film else f"no bead is laid in time for {joint}"
    laying = "lay the film and fit it" if film else "lay the bead, then fit it"
    return DomainError(
        "gate-missing",
        f"{position}: {what}; the sealed joint stays closed.",
        ways_out=(f"Answer the questions of its gate, {laying}.",),
        position=position,
        joint=joint,
    )


def filled_early(seals: Seals, position: str, at: datetime, signed: bool) -> DomainError | None:
    """A fill before the sealant has cured by its sheet, or in a bay for which the sheet gives no time; a signature lets it pass."""
    if position not in seals.fills or signed:
        return None
    for bead in seals.waits:
        if bead.fill_from is None or at < bead.fill_from:
            said = (
                bead.fill_from.isoformat() if bead.fill_from else "a moment that its sheet does not give for this bay"
            )
            return DomainError(
                "filled-early",
                f"{position}: the bead of {bead.gate.joint} is to cure until {said}.",
                ways_out=("Wait.", "Let a second person sign it, with the reason."),
                position=position,
                joint=bead.gate.joint,
                fill_from=bead.fill_from.isoformat() if bead.fill_from else None,
            )
    return None


def too_early(job: Job, run_on: date, at: datetime) -> list[dict[str, Any]]:
    """The joints whose sheet does not let the engine run yet: [{"joint", "run_from"}], None where the sheet gives no time for the bay.

    at   when it ran, if `run_on` is that day; of a day before only its beginning is certain
    """
    began = at if run_on == shop_day(at) else start_of(run_on)
    return [
        {"joint": bead.gate.joint, "run_from": bead.run_from.isoformat() if bead.run_from else None}
        for bead in _curing(job)
        if bead.run_from is None or began < bead.run_from
    ]


def refuse_early_run(early: Sequence[Mapping[str, Any]], actor: Person, signed_by: Person | None, because: str) -> None:
    """A start before every bead has cured by its sheet is signed by a second person, with the reason. DomainError "run-early",
    "reason-missing", "same-person"."""
    if not early:
        return
    if signed_by is None:
        said = "; ".join(
            f"{one['joint']}: {'from ' + one['run_from'] if one['run_from'] else 'the sheet gives no time for that bay'}"
            for one in early
        )
        raise DomainError(
            "run-early",
            f"By the product sheet the engine does not run yet: {said}.",
            ways_out=("Wait.", "Let a second person sign it, with the reason."),
            joints=[dict(one) for one in early],
        )
    if signed_by.pk == actor.pk:
        raise DomainError("same-person", "Who signs is another person than who starts the engine.", person=str(actor))
    if not because.strip():
        raise DomainError("reason-missing", "Why did it run before the sealant had cured by its sheet?")
