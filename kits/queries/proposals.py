"""Layouts as they are told: the proposal for a job, with marks and picture, and which sets may replace one of an engine."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import round_half_even
from inventory.domain.text import shown
from inventory.models import Balance
from kits.domain.allowance import FACTOR, RULE
from kits.domain.bench import BoreAt, SetAt, Standing
from kits.domain.engine_map import EngineMap
from kits.domain.layout_miss import Miss
from kits.domain.layout_picture import CAUTION, miss_lines, picture
from kits.domain.layout_placed import Placed, point_said
from kits.domain.liners import gauging_said
from kits.domain.proposal import Proposal, propose, staying
from kits.domain.protrusion import HeightLimits
from kits.domain.weights import Weighed, replacement_window, window_said
from kits.models import Job
from kits.queries.job_list import job_list
from kits.queries.layouts import standing_of
from kits.queries.liners import JobBench, bench_of
from kits.queries.marks import bores_of


def proposal_of(job: Job, on: date) -> dict[str, Any]:
    """The layout proposed for a job on this day, JSON-ready. Refused as `bench_of` is."""
    bench = bench_of(job_list(job, on))
    return document(bench, propose(bench.bench))


def document(its: JobBench, found: Proposal) -> dict[str, Any]:
    """A proposal, JSON-ready."""
    bench = its.bench
    left_out = dict(its.left_out) | dict(found.not_considered)
    body: dict[str, Any] = {
        "job": its.job.number,
        "outcome": found.outcome,
        "why": list(found.why),
        "notes": list(found.notes),
        "missing": list(found.missing),
        "not_considered": [{"serial": serial, "why": why} for serial, why in sorted(left_out.items())],
        "try_next": list(found.try_next),
        "bores": [],
        "ring_nm": 0,
        "shims": 0,
        "turned": 0,
        "largest_step_nm": None,
        "off_target_nm": None,
        "doubtful": [],
        "proved": found.no_layout.proved if found.no_layout else True,
        "miss": None,
        "marks": [],
        "picture": list(CAUTION),
        "gauging": gauging_said(its.family.facts),
        "limits": limits_said(bench.limits) | {"weight_spread_mg": bench.spread_mg},
        "allowance_nm": found.allowance_nm,
        "factor": FACTOR,
        "rule": RULE,
        "readings": list(found.rests_on),
    }
    stands = standing_of(its.family.map)
    if found.no_layout is not None:
        miss = found.no_layout.miss
        return body | {"picture": list(miss_lines(found.no_layout)), "miss": _miss(miss) if miss else None}
    if found.layout is None:
        return body
    layout = found.layout
    stay = {bore.number for bore in bench.bores if bore.standing is not None}
    return body | {
        "bores": [
            _bore(its, one, found.hours, None if at == 0 else layout.steps_nm[at - 1], one.bore in stay)
            for at, one in enumerate(layout.placed)
        ],
        "ring_nm": layout.ring_nm,
        "shims": layout.shims,
        "turned": layout.turned,
        "largest_step_nm": round_half_even(layout.largest_step_nm),
        "off_target_nm": round_half_even(layout.off_target_nm),
        "proved": layout.proved,
        "doubtful": [{"bore": bore, "point": point_said(point, len(found.hours))} for bore, point in layout.doubtful],
        "marks": [_mark(one, its.places[one.bore], its.family.map) for one in layout.placed],
        "picture": list(picture(layout, stands)),
    }


def _bore(its: JobBench, one: Placed, hours: tuple[int, ...], step: Any, stays: bool) -> dict[str, Any]:
    hand = its.at_hand.get(one.serial)
    return {
        "bore": one.bore,
        "position": its.places[one.bore],
        "head": one.head,
        "serial": one.serial,
        "stays": stays,
        "turn_deg": one.turn_deg,
        "shim_nm": one.shim_nm,
        "heights": [{"hour": hour, "nm": height} for hour, height in zip(hours, one.heights_nm, strict=True)],
        "mean_nm": round_half_even(one.mean_nm),
        "step_nm": None if step is None else round_half_even(step),
        "lies_at": hand.place if hand else "",
        "held": hand.held if hand else False,
    }


def _mark(one: Placed, position: str, engine_map: EngineMap) -> dict[str, Any]:
    """What is written on one liner."""
    return {
        "bore": one.bore,
        "position": position,
        "serial": one.serial,
        "line_towards": engine_map.front,
        "turn_deg": one.turn_deg,
        "text": f"{one.bore} {one.serial}, line towards the {engine_map.front}",
    }


def _miss(miss: Miss) -> dict[str, Any]:
    return {
        "total_nm": round_half_even(miss.total_nm),
        "breaks": [
            {"rule": one.rule, "bores": list(one.bores), "by_nm": round_half_even(one.by_nm), "text": one.text}
            for one in miss.breaks
        ],
        "nearest": [
            {"bore": one.bore, "serial": one.serial, "turn_deg": one.turn_deg, "shim_nm": one.shim_nm}
            for one in miss.placed
        ],
        "proved": miss.proved,
    }


def limits_said(limits: HeightLimits) -> dict[str, Any]:
    """Limits as they stand with an answer that rests on them."""
    return {
        "low_nm": limits.low_nm,
        "high_nm": limits.high_nm,
        "within_nm": limits.within_nm,
        "step_nm": limits.step_nm,
        "staircase": limits.staircase,
        "turns_deg": None if limits.turns_deg is None else list(limits.turns_deg),
        "shims_nm": list(limits.shims_nm),
        "rings_nm": list(limits.rings_nm),
        "target_nm": round_half_even(limits.target),
    }


def bore_of(job: Job, serial: str) -> str:
    """The bore that a set sits in, or is given to. DomainError "not-found" for neither."""
    there = Balance.objects.filter(place=job.engine.place_id, item__serial__number=serial, amount__gt=0)
    found = there.values_list("spot__name", flat=True).first()
    found = found or next((place for place, given in bores_of(job).items() if given == serial), None)
    if found is None:
        said = f"Set {shown(serial)} is in no bore of job {job.number}, and given to none."
        raise DomainError("not-found", said, serial=shown(serial))
    return found


def replacements_for(job: Job, position: str, on: date) -> dict[str, Any]:
    """Which sets at hand may replace the one of a bore on this day: by the weight of its piston first, then each by the bore itself.

    The other bores keep what stands in them, or the set that is given to them. DomainError "position-unknown", "not-on-list",
    "no-limit".
    """
    its = bench_of(job_list(job, on))
    its.family.map.position(position)
    bores = _kept(its, position)
    if position not in {bore.position for bore in bores}:
        raise DomainError("not-on-list", f"{shown(position)}: no set is laid out there.", position=shown(position))
    open_bores = [bore.position for bore in bores if bore.standing is None and bore.position != position]
    bench = replace(its.bench, bores=bores)
    known = [weight for weight in staying(bench) if weight is not None]
    unknown = len(staying(bench)) - len(known)
    rest = [Weighed(str(at), weight) for at, weight in enumerate(known)]
    spread = bench.spread_mg
    window = replacement_window(rest, spread) if rest and spread is not None else None
    notes = []
    if spread is None:
        notes.append("The family has no limit for the weights of its pistons.")
    if unknown:
        notes.append(f"The weights of {unknown} pistons that stay are not known: weigh them, or read their labels.")
    if open_bores:
        notes.append(f"{', '.join(open_bores)}: no set is given to it yet, so no bore can be judged.")
    taken = {bore.standing.name for bore in bores if bore.standing is not None}
    spares = []
    for one in bench.sets:
        if one.serial in taken:
            continue
        fits = spread is None or (one.weight_mg is not None and window is not None and window.holds(one.weight_mg))
        found = None if open_bores or not fits else propose(replace(bench, sets=(one,)))
        placed = (
            next((row for row in found.layout.placed if row.serial == one.serial), None)
            if found and found.layout
            else None
        )
        spares.append(
            {
                "serial": one.serial,
                "lies_at": its.at_hand[one.serial].place,
                "weight_mg": one.weight_mg,
                "weight_fits": fits,
                "layout": found.outcome if found else "",
                "turn_deg": placed.turn_deg if placed else None,
                "shim_nm": placed.shim_nm if placed else None,
                "why": _why(one.serial, found) if found else [],
            }
        )
    return {
        "job": job.number,
        "position": position,
        "weighed_with": its.family.facts.weight_with,
        "spread_mg": spread,
        "rest_mg": sorted(known),
        "window": None if window is None else {"low_mg": window.low_mg, "high_mg": window.high_mg},
        "said": window_said(rest, spread) if rest and spread is not None else "",
        "spares": sorted(spares, key=lambda row: (not row["weight_fits"], row["serial"])),
        "not_considered": [{"serial": serial, "why": why} for serial, why in sorted(its.left_out.items())],
        "notes": notes,
    }


def _why(serial: str, found: Proposal) -> list[str]:
    """Why a spare is not certain in its bore."""
    if found.no_layout is not None and found.no_layout.miss is not None:
        left_out = dict(found.not_considered)
        return [left_out[serial]] if serial in left_out else [one.text for one in found.no_layout.miss.breaks]
    return [*found.missing, *found.why]


def _kept(its: JobBench, position: str) -> tuple[BoreAt, ...]:
    """The bores of the bench: the one at `position` free, each other one with the set that is given to it."""
    given = bores_of(its.job)
    sets = {one.serial: one for one in its.bench.sets}
    found = []
    for bore in its.bench.bores:
        serial = given.get(bore.position, "")
        if bore.position == position:
            found.append(replace(bore, standing=None))
        elif bore.standing is None and serial in sets:
            found.append(replace(bore, standing=_as_standing(sets[serial])))
        else:
            found.append(bore)
    return tuple(found)


def _as_standing(one: SetAt) -> Standing:
    return Standing(one.serial, one.heights, weight_mg=one.weight_mg, weighing=one.weighing)
