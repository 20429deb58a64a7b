"""What a fitting is held against at a sealed joint: its gate and bead, and the sheet's waits before a fill and a start.

Private to services: an open transaction is there.

A product whose sheet with its times is on record on the day asks for gate and bead; before a shop has entered the sheet,
nothing is known to hold the bead against, and its joints are booked as they were.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any

from inventory.domain.errors import DomainError
from inventory.models import Act, Item, Person
from inventory.queries.sheets import sheets_at
from kits.domain.joints import Joint, sensor_question
from kits.domain.requirements import Key
from kits.models import Bead, Job
from kits.queries.job_list import JobList
from kits.queries.materials import THROUGH_A_NOZZLE
from kits.queries.sealing import bead_of, gates_of, sealed


@dataclass(frozen=True, slots=True)
class Seals:
    """gated: use position → its joint, where a bead comes first; laid: joints whose bead is laid and not booked in yet.

    fills: positions that are filled; waits: beads that have to cure before a fill, each joint's newest.
    sensors: positions where sensors ask for a safe sealant → the joint; safe: part id → what its sheet says of that.
    """

    gated: dict[str, str]
    laid: frozenset[str]
    fills: frozenset[str]
    waits: tuple[Bead, ...]
    sensors: dict[str, Joint]
    safe: dict[int, bool | None]


def seals_of(act: Act, listed: JobList, keys: Iterable[Key], poured_parts: Iterable[int]) -> Seals:
    """What the positions of one fitting act are held against. No query where neither sealant nor a fill is fitted."""
    asked = set(keys)
    how = {line.key: line.candidate.amount.how for line in listed.settled.lines if line.key in asked}
    joints = {position: joint.code for joint in listed.scope.family.joints.values() for position in joint.positions}
    beads = {key[0]: joints[key[0]] for key, kind in how.items() if kind in THROUGH_A_NOZZLE and key[0] in joints}
    fills = frozenset(key[0] for key, kind in how.items() if kind == "fill")
    sensors = {
        position: joint
        for joint in listed.scope.family.joints.values()
        if joint.sensor_safe
        for position in joint.positions
        if position in {key[0] for key in asked}
    }
    gated: dict[str, str] = {}
    sheets = sheets_at(set(poured_parts), act.occurred_at) if beads or sensors else {}
    if beads:
        gated = beads if any(sheet.entries for sheet in sheets.values()) else {}
    return Seals(
        gated,
        frozenset(sealed(listed.job)) if gated else frozenset(),
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


def unsealed(seals: Seals, position: str) -> DomainError | None:
    """A bead that was not laid through its gate, or not in time."""
    joint = seals.gated.get(position)
    if joint is None or joint in seals.laid:
        return None
    return DomainError(
        "gate-missing",
        f"{position}: no bead is laid in time for {joint}; the sealed joint stays closed.",
        ways_out=("Answer the questions of its gate, lay the bead, then fit it.",),
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
    began = at if run_on == at.date() else datetime.combine(run_on, time.min, tzinfo=UTC)
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
