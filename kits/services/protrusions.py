"""The height of a liner over its block, judged from what was read, and kept as a result of the job."""

from __future__ import annotations

from dataclasses import replace

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from inventory.models import Act, Person
from inventory.queries.catalogue import matched_set
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.as_judged import AsJudged
from kits.domain.families import Family
from kits.domain.limits import worst
from kits.domain.liners import Under, check_under, limits_of, lowered, recut_most_nm, said, stands, stands_directly
from kits.domain.protrusion import Judgement, microns
from kits.domain.seat import SeatJudged
from kits.domain.sizes import keeps_cuts, may_be_cut_nm
from kits.domain.standing_verdicts import HEIGHT
from kits.models import Job
from kits.queries.as_judged import stands_otherwise
from kits.queries.documents import family_of
from kits.queries.liners import RING, SHIM, Readings, names_of
from kits.queries.sizes import entries_of
from kits.queries.standing_verdicts import cracked_ledges, under_liners
from kits.services.results import record_result
from kits.services.shared import check_positions, open_job, touch

#: Said with a verdict on a cut that nobody made yet.
WHAT_IF = "a question: once the seat is cut, enter the cut and read the seat again"


def judge_protrusion(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    position: str,
    set: str = "",
    turn_deg: int = 0,
    shim: str = "",
    ring: str = "",
    cut: str = "",
    ledge_cracked: bool | None = None,
) -> Done:
    """Judge a set in a bore, or the liner that stands there, and keep the verdict.

    set       serial of a matched set; empty: the liner that was read by its bore, or gauged over the deck
    turn_deg  clockwise seen from the head, from how it was read
    shim, ring  the nominal of what lies under it, as typed ("0.05 mm"); where it was read for this cylinder, the height counts with that,
              and with what its gauge may be off
    cut       a question: were the seat recut so much deeper than it was read. Where the family keeps such cuts the verdict binds nothing: the
              cut is entered when it is made, and the seat read again
    ledge_cracked  None: as the newest verdict there says it. A crack does not heal because nobody speaks of it: False says that it is whole

    Outcome: {"result", "position", "set", "verdict": pass, doubtful or fail, "why", "points": [{hour, height_nm, verdict}], "notes",
    "allowance_nm", "factor", "rule", ...}. Three points only, a gauge out of date or a temperature that is missing on an alloy block
    never pass, nor does one that was fitted there and stands otherwise than it is judged. Raises "position-unknown", "not-found", "no-limit", "height-not-read", "heights-unusable", "stack-refused" and those
    of amounts.
    """

    def work(act: Act) -> Body:
        row = open_job(job)
        check_positions(row, [position])
        cracked = position.partition("/")[0] in cracked_ledges(row) if ledge_cracked is None else ledge_cracked
        under = Under(_nm(shim), _nm(ring), _nm(cut), cracked)
        body, ids = _judged(row, position, set, turn_deg, under)
        result = record_result(act, row, HEIGHT, position, body, ids)
        touch(row)
        return {"result": result.pk, **body}

    request = {
        "job": job, "position": position, "set": set, "turn_deg": turn_deg, "shim": shim, "ring": ring, "cut": cut,
        "ledge_cracked": ledge_cracked,
    }  # fmt: skip
    return run("judge protrusion", work, actor=actor, stamp=stamp, request=request, subject=job)


def _judged(job: Job, position: str, serial: str, turn_deg: int, under: Under) -> tuple[Body, tuple[int, ...]]:
    family = family_of(job.family_revision)
    limits = limits_of(family.facts)
    entries = entries_of(job.engine_id)
    check_under(under, may_be_cut_nm(family.sizes, entries, position, family.map, recut_most_nm(family.facts)), limits)
    readings, names = Readings(job, family), names_of(family.map.position(position))
    under = replace(
        under,
        shim=readings.piece(SHIM, names[0], under.shim_nm, limits.shims_nm),
        ring=readings.piece(RING, names[0], under.ring_nm, limits.rings_nm),
    )
    if serial:
        row = matched_set(serial)
        readings.of_sets(row.serial.part, [row.serial.number])
        liner = readings.liner(row.serial.number)
    else:
        liner = readings.liner_at(names)
    block, over_deck = readings.block(names), readings.over_deck(names)
    directly = not serial and not liner.points and bool(over_deck.points)
    if directly and (turn_deg or replace(under, shim=None, ring=None) != Under()):
        raise DomainError("heights-unusable", "A liner that was gauged over the deck is judged as it stands.")
    found = stands_directly(over_deck, limits) if directly else stands(liner, block, turn_deg, under, limits)
    rings = family.facts.base_rings
    if rings is not None and rings.alike and under.ring_nm:
        found = replace(found, judgement=lowered(found.judgement, _other_rings(job, family, position, under)))
    seat = readings.seat(names, block)
    if seat.why and not (directly and not block.points):
        found = replace(found, judgement=_with_seat(found.judgement, seat))
    found = replace(found, ids=tuple(sorted({*found.ids, *seat.ids})))
    if not directly:
        judged = AsJudged(turn_deg, under.shim_nm, under.ring_nm)
        unlike = stands_otherwise(job, family, position, serial, judged)
        found = replace(found, judgement=lowered(found.judgement, [f"it stands otherwise: {one}" for one in unlike]))
    if under.cut_nm and keeps_cuts(family.sizes, position):
        found = replace(found, notes=(*found.notes, WHAT_IF))
    body = {"position": position, "set": serial, "over_deck": directly, **said(found, turn_deg, under)}
    return body, found.ids


def _with_seat(found: Judgement, seat: SeatJudged) -> Judgement:
    return Judgement(
        worst((found.verdict, seat.verdict)), found.points, (*found.why, *(f"seat: {one}" for one in seat.why))
    )


def _other_rings(job: Job, family: Family, position: str, under: Under) -> list[str]:
    """Liners under the same head that were judged on another base ring."""
    mine = family.map.position(position).holder
    head = family.map.outward(mine)[1]
    return [
        f"{place} was judged on a base ring of {microns(document['ring_nm'])}, this one on {microns(under.ring_nm)}: all must be alike"
        for place, document in sorted(under_liners(job, mine).items())
        if family.map.contains(head, place) and document["ring_nm"] not in (0, under.ring_nm)
    ]


def _nm(text: str) -> int:
    return read_amount(text, Dimension.LENGTH).amount if text else 0
