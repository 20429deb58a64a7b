"""The sealed joints of a job: what each takes, whether it can be closed in time, and how far it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from inventory.domain.errors import DomainError
from inventory.models import Part, SealantSheet
from inventory.queries.days import shop_day
from inventory.queries.prepared import Prepared
from inventory.queries.sheets import entries_of, sheets_at
from inventory.queries.shop import Shop
from kits.domain.curing import Closing, ClosingRules, closing, waits_s
from kits.domain.gates import draw_of
from kits.domain.joints import Joint, sensor_question, unsuitable
from kits.domain.requirements import Key
from kits.domain.sealant import flange_warnings
from kits.models import Bead, Fitting, Gate, Job
from kits.queries.job_list import JobList, job_list
from kits.queries.materials import THROUGH_A_NOZZLE, rules_of, volume_ul


@dataclass(frozen=True, slots=True)
class ListedJoint:
    """A joint as the list asks for it: what stays at each key (µL), the steps at which it is closed, every procedure that asks
    for it; the length of its beads, and of each shape the one that is widest across, in nanometres."""

    joint: Joint
    part: Part
    amounts: tuple[tuple[Key, int], ...]
    steps: frozenset[tuple[str, int]]
    procedures: tuple[str, ...]
    bead_nm: int
    widest: Mapping[str, int]
    is_bead: bool

    @property
    def laid_ul(self) -> int:
        """What stays in the joint."""
        return sum(amount for _, amount in self.amounts)


def rules_of_closing(shop: Shop) -> ClosingRules:
    """The shop's figures of closing a joint."""
    return ClosingRules(shop.bead_nm_per_s, shop.placing_s, shop.bolt_s, shop.bolt_with_helper_s, shop.closing_fraction)


def listed_joints(listed: JobList) -> dict[str, ListedJoint]:
    """The joints that a job's list closes, by code, in map order. DomainError "sealant-two-products", "density-missing"."""
    by_key = {line.key: line.candidate for line in listed.settled.lines}
    keys: dict[str, list[tuple[Key, int]]] = defaultdict(list)
    parts: dict[str, set[str]] = defaultdict(set)
    steps: dict[str, set[tuple[str, int]]] = defaultdict(set)
    where = {position: joint.code for joint in listed.scope.family.joints.values() for position in joint.positions}
    for line in listed.lines:
        for key, amount in zip(line.keys, line.amounts, strict=True):
            code = where.get(key[0])
            if code is None or line.base == "piece":
                continue
            keys[code].append((key, volume_ul(listed.parts[line.part], amount, line.base)))
            parts[code].add(line.part)
            steps[code].add((line.operation, line.step))
    found = {}
    for code, joint in listed.scope.family.joints.items():
        if code not in keys:
            continue
        if len(parts[code]) > 1:
            raise DomainError(
                "sealant-two-products",
                f"{code} cannot be closed with {' and '.join(sorted(parts[code]))}.",
                joint=code,
                products=sorted(parts[code]),
            )
        candidates = [by_key[key] for key, _ in keys[code]]
        amounts = [candidate.amount for candidate in candidates]
        found[code] = ListedJoint(
            joint,
            listed.parts[next(iter(parts[code]))],
            tuple(keys[code]),
            frozenset(steps[code]),
            tuple(sorted({why.operation for candidate in candidates for why in candidate.becauses})),
            sum(amount.length_nm for amount in amounts),
            {one.shape: max(it.across_nm for it in amounts if it.shape == one.shape) for one in amounts if one.shape},
            any(amount.how in THROUGH_A_NOZZLE for amount in amounts),
        )
    return found


def closing_of(
    one: ListedJoint, sheet: SealantSheet | None, shop: Shop, bay: tuple[int, int] | None
) -> tuple[Closing | None, tuple[int, int] | None]:
    """(closing time against the window, (fill after, run after)); None where sheet, table or bay is missing, or for a film."""
    entries = entries_of(sheet)
    if not entries or bay is None or not one.is_bead:
        return None, None
    found = closing(entries, *bay, bead_nm=one.bead_nm, bolts=one.joint.bolts, rules=rules_of_closing(shop))
    return found, waits_s(entries, *bay)


def warnings_of(one: ListedJoint, sheet: SealantSheet | None) -> list[str]:
    """What is said before a bead is laid: flange, gap, no sheet."""
    joint = one.joint
    told = [flange_warnings(across, joint.flange_nm, joint.gap_nm, shape) for shape, across in one.widest.items()]
    said = list(dict.fromkeys(line for lines in told for line in lines))
    if sheet is None:
        said.append(f"no product sheet of {one.part.number} is on record: window and waits are not known")
    return said


def gates_of(job: Job) -> list[Gate]:
    """The gates of a job that count, with their beads, in order. One query."""
    return _GATES(job.pk)


_GATES = Prepared(
    lambda job: (
        Gate.objects.filter(job=job, act__corrected_by__isnull=True)
        .select_related("act", "part", "sheet", "helper", "bead__act__corrected_by", "bead__helper")
        .order_by("act_id")
    ),
    -1,
)


def bead_of(gate: Gate) -> Bead | None:
    """The bead that was laid on a gate and was not taken back; needs `gates_of`, or two queries more."""
    bead = getattr(gate, "bead", None)
    return None if bead is None or hasattr(bead.act, "corrected_by") else bead


def used_at(job: Job, gates: Sequence[Gate]) -> dict[str, int]:
    """Use position → the newest act that fitted something there on this job, for the positions of these gates. One query."""
    names = {position for gate in gates for position, _, _ in gate.positions}
    rows = Fitting.objects.filter(
        job=job, act__corrected_by__isnull=True, correction__isnull=True, spot__name__in=names
    ).order_by("act_id")
    return dict(rows.values_list("spot__name", "act_id"))


def sealed(job: Job) -> dict[str, Bead]:
    """Joint → its bead that was laid in time and is not booked into the engine yet. Three queries at most."""
    gates = gates_of(job)
    used = used_at(job, gates) if gates else {}
    found: dict[str, Bead] = {}
    for gate in gates:
        bead = bead_of(gate)
        if bead is None:
            continue
        found.pop(gate.joint, None)
        fitted = max((used.get(position, 0) for position, _, _ in gate.positions), default=0)
        if not bead.over and fitted < bead.act_id:
            found[gate.joint] = bead
    return found


def answered(job: Job, at: datetime, minutes: int) -> set[str]:
    """Joints whose newest gate was answered at most so many minutes before, and serves no bead and no fitting yet. Two queries."""
    gates = {gate.joint: gate for gate in gates_of(job)}
    used = used_at(job, list(gates.values())) if gates else {}
    return {
        joint
        for joint, gate in gates.items()
        if not hasattr(gate, "bead")
        and gate.act.occurred_at <= at <= gate.act.occurred_at + timedelta(minutes=minutes)
        and all(used.get(position, 0) < gate.act_id for position, _, _ in gate.positions)
    }


def primed(gates: Sequence[Gate], nozzle: str, tube: str) -> bool:
    """Whether the nozzle was cut and primed on this tube for an earlier bead of the job, and has been on no other since."""
    last = [bead.tubes[-1]["tube"] for gate in gates if gate.nozzle == nozzle and (bead := bead_of(gate)) is not None]
    return bool(nozzle) and bool(last) and last[-1] == tube


def joints_of(job: Job, at: datetime, bay: tuple[int, int] | None = None) -> dict[str, Any]:
    """Every joint that the job's list closes, in map order: draw, closing time, window, warnings, gates and beads.

    bay  (millikelvin, tenths of a percent); None: no times of the sheet are given
    """
    listed = job_list(job, shop_day(at))
    joints = listed_joints(listed)
    sheets = sheets_at({one.part.pk for one in joints.values()}, at)
    gates = gates_of(job)
    done = sealed(job)
    rows = []
    for code, one in joints.items():
        sheet = sheets.get(one.part.pk)
        mine = [gate for gate in gates if gate.joint == code]
        rows.append(_joint(listed, one, sheet, bay) | {"gates": [_gate(gate) for gate in mine], "sealed": code in done})
    return {"job": job.number, "joints": rows}


def _joint(
    listed: JobList, one: ListedJoint, sheet: SealantSheet | None, bay: tuple[int, int] | None
) -> dict[str, Any]:
    draw = draw_of(one.laid_ul, rules_of(listed, one.is_bead), primed=False)
    found, waits = closing_of(one, sheet, listed.shop, bay)
    return {
        "joint": one.joint.code,
        "name": one.joint.name,
        "part": one.part.number,
        "laid_ul": draw.laid_ul,
        "drawn_ul": draw.drawn_ul,
        "wanted_ul": -(-draw.wanted_ul.numerator // draw.wanted_ul.denominator),
        "bolts": one.joint.bolts,
        "faces": one.joint.faces,
        "helper_listed": one.joint.helper,
        "sheet": sheet.revision if sheet is not None else None,
        "times": times(found, waits, sheet, bay, one.is_bead),
        "closing": closing_document(found),
        "fill_after_s": waits[0] if waits else None,
        "run_after_s": waits[1] if waits else None,
        "unsuitable": "; ".join(_against(one, sheet)),
        "warnings": warnings_of(one, sheet),
    }


def _against(one: ListedJoint, sheet: SealantSheet | None) -> list[str]:
    """Why the listed sealant does not belong there."""
    cures_by = sheet.cures_by if sheet is not None else None
    faces = unsuitable(one.joint, one.part.number, cures_by, bead=one.is_bead)
    sensors = sensor_question(one.joint, one.part.number, sheet.sensor_safe if sheet is not None else None)
    return [why for why in (faces, sensors) if why]


def times(found: Closing | None, waits: object, sheet: SealantSheet | None, bay: object, is_bead: bool) -> str:
    """In words, what the numbers rest on; never a number that the sheet does not give."""
    if not is_bead:
        return "not a bead"
    if sheet is None:
        return "no sheet"
    if not sheet.entries:
        return "no times on the sheet"
    if bay is None or found is None:
        return "temperature and humidity of the bay are not given"
    if found.window_s is None or waits is None:
        return "outside the sheet"
    return f"sheet revision {sheet.revision}: {sheet.edition}"


def closing_document(found: Closing | None) -> Mapping[str, Any] | None:
    """A closing time as JSON, thousandths of a second; what is allowed rounded down, what is needed up."""
    if found is None:
        return None
    return {
        "window_s": found.window_s,
        "allowed_ms": None if found.allowed_s is None else int(found.allowed_s * 1000),
        "needed_ms": -int(-found.needed_s * 1000 // 1),
        "with_helper_ms": -int(-found.with_helper_s * 1000 // 1),
        "in_time": found.in_time(helper=False),
        "in_time_with_helper": found.in_time(helper=True),
    }


def _gate(gate: Gate) -> dict[str, Any]:
    bead = bead_of(gate)
    return {
        "gate": gate.pk,
        "make": gate.make,
        "opened_at": gate.act.occurred_at,
        "part": gate.part.number,
        "helper": gate.helper.username if gate.helper else None,
        "planned_ul": gate.drawn_ul,
        "bead": None
        if bead is None
        else {
            "started_at": bead.started_at,
            "ended_at": bead.ended_at,
            "drawn_ul": bead.drawn_ul,
            "over": bead.over,
            "fill_from": bead.fill_from,
            "run_from": bead.run_from,
        },
    }
