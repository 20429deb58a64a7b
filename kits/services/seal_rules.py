"""What a fitting is held against at a sealed joint: its gate and bead, and the sheet's wait before a fill.

Private to services: an open transaction is there.

A product whose sheet with its times is on record on the day asks for gate and bead; before a shop has entered the sheet,
nothing is known to hold the bead against, and its joints are booked as they were.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from inventory.domain.errors import DomainError
from inventory.models import Act
from inventory.queries.sheets import sheets_at
from kits.domain.requirements import Key
from kits.models import Bead
from kits.queries.job_list import JobList
from kits.queries.materials import THROUGH_A_NOZZLE
from kits.queries.sealing import bead_of, gates_of, sealed


@dataclass(frozen=True, slots=True)
class Seals:
    """gated: use position → its joint, where a bead comes first; laid: joints whose bead is laid and not booked in yet.

    fills: positions that are filled; waits: beads that have to cure before a fill, each joint's newest.
    """

    gated: dict[str, str]
    laid: frozenset[str]
    fills: frozenset[str]
    waits: tuple[Bead, ...]


def seals_of(act: Act, listed: JobList, keys: Iterable[Key], poured_parts: Iterable[int]) -> Seals:
    """What the positions of one fitting act are held against. No query where neither sealant nor a fill is fitted."""
    asked = set(keys)
    how = {line.key: line.candidate.amount.how for line in listed.settled.lines if line.key in asked}
    joints = {position: joint.code for joint in listed.scope.family.joints.values() for position in joint.positions}
    beads = {key[0]: joints[key[0]] for key, kind in how.items() if kind in THROUGH_A_NOZZLE and key[0] in joints}
    fills = frozenset(key[0] for key, kind in how.items() if kind == "fill")
    gated: dict[str, str] = {}
    if beads:
        sheets = sheets_at(set(poured_parts), act.occurred_at)
        gated = beads if any(sheet.entries for sheet in sheets.values()) else {}
    return Seals(
        gated,
        frozenset(sealed(listed.job)) if gated else frozenset(),
        fills,
        _curing(listed) if fills else (),
    )


def _curing(listed: JobList) -> tuple[Bead, ...]:
    newest: dict[str, Bead] = {}
    for gate in gates_of(listed.job):
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
