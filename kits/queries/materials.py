"""What is poured: which open tubes serve which joints, and how many closed tubes, tins or bottles go on the cart."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inventory.domain.allocation import Lot, Need, allocate
from inventory.domain.errors import DomainError
from inventory.models import Part
from inventory.queries.stock import Standing
from kits.domain.listing import ListLine
from kits.domain.requirements import Key
from kits.domain.rests import Pouring
from kits.domain.sealant import SealantRules, volume_of
from kits.domain.tubes import JointDraw, JointPlan, OpenTube, Rest, plan_tubes
from kits.queries.job_list import JobList

#: Measured out through a nozzle that is primed; all else is poured or brushed.
THROUGH_A_NOZZLE = frozenset({"bead"})


@dataclass(frozen=True, slots=True)
class TubePromise:
    """An open tube as a whole, or closed ones: which joints they serve, as (position, make, amount in the list's unit)."""

    item_id: int
    spot_id: int
    amount: int
    joints: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True)
class MaterialPlan:
    """The tubes of one product for a job. `missing`: closed ones that the shelves lack; `draws`: what each joint takes."""

    part: Part
    line: int
    step: str
    tubes: tuple[TubePromise, ...]
    missing: int
    unserved: tuple[str, ...]
    draws: tuple[JointPlan, ...]


def volume_ul(part: Part, amount: int, base: str) -> int:
    """An amount of a poured part in microlitres; milligrams by its density. DomainError "density-missing"."""
    found = volume_of(amount, base, part.density_mg_per_ml)
    if found is None:
        raise DomainError("density-missing", f"{part.number} is listed by weight and has no density.", part=part.number)
    return found


def rules_of(listed: JobList, nozzle: bool) -> SealantRules:
    """The shop's figures; what is not pressed through a nozzle is not primed."""
    it = listed.shop
    return SealantRules(it.waste, it.prime_ul if nozzle else 0, it.dead_share, it.tube_margin)


def weighable(part: Part, nozzle: bool) -> bool:
    """What a nozzle gives is known by weight alone: where a tube cannot be weighed, nobody knows what it holds once it is open."""
    return not nozzle or bool(part.density_mg_per_ml and part.empty_mg is not None)


def is_poured(listed: JobList, line: ListLine) -> bool:
    """Poured from a tube, tin or bottle that is counted in pieces."""
    return line.base != "piece" and listed.parts[line.part].base == "piece"


def nozzle_of(listed: JobList, key: Key) -> str:
    """Positions of one group of the family's map are laid through one nozzle."""
    return listed.scope.family.map.position(key[0]).group


def pouring_of(listed: JobList, lines: Iterable[ListLine]) -> dict[str, Pouring]:
    """How the parts of these lines are poured that come in tubes, by number: by the same figures as `material_plans` has them."""
    nozzles: dict[str, bool] = {}
    for line in lines:
        if is_poured(listed, line):
            nozzles[line.part] = nozzles.get(line.part, False) or line.how in THROUGH_A_NOZZLE
    return {
        number: Pouring(
            part.net_ul or 0,
            rules_of(listed, nozzle),
            listed.fit_day,
            part.density_mg_per_ml,
            weighable(part, nozzle),
        )
        for number, nozzle in nozzles.items()
        for part in [listed.parts[number]]
    }


def material_plans(listed: JobList, lines: Iterable[ListLine], rests: Sequence[Rest] = ()) -> list[MaterialPlan]:
    """Plan the tubes for lines that are poured from tubes, tins or bottles counted in pieces; by part, in order of work.

    rests   what the job's own tubes give beyond what they were brought for (`Served.rests`): it is used before another tube is brought
    """
    by_part: dict[str, list[ListLine]] = defaultdict(list)
    for line in lines:
        by_part[line.part].append(line)
    return [_plan(listed, listed.parts[number], members, rests) for number, members in by_part.items()]


def _plan(listed: JobList, part: Part, lines: Sequence[ListLine], rests: Sequence[Rest]) -> MaterialPlan:
    nozzle = any(line.how in THROUGH_A_NOZZLE for line in lines)
    shares = {key: amount for line in lines for key, amount in zip(line.keys, line.amounts, strict=True)}
    draws = [
        JointDraw(f"{key[0]}#{key[1]}", part.number, volume_ul(part, amount, line.base), nozzle_of(listed, key))
        for line in lines
        for key, amount in zip(line.keys, line.amounts, strict=True)
    ]
    mine = [row for row in listed.standings if row.part_id == part.pk and row.free and not row.stopped]
    opened = {row.tube_number: row for row in mine if row.tube_number and row.free == row.amount}
    known = weighable(part, nozzle)
    plan = plan_tubes(
        draws,
        [
            OpenTube(
                row.tube_number,
                part.number,
                row.amount if known else None,
                part.net_ul or 0,
                row.tube_opened_on,
                row.tube_use_by,
            )
            for row in opened.values()
        ],
        {part.number: part.net_ul or 0},
        listed.fit_day,
        rules_of(listed, nozzle),
        [rest for rest in rests if rest.product == part.number],
    )
    own = {rest.key for rest in rests}
    serves: dict[str, list[tuple[str, int, int]]] = defaultdict(list)
    for joint in plan.joints:
        position, _, make = joint.joint.rpartition("#")
        for tube in (key for key in joint.tubes if key not in own):
            serves[tube].append((position, int(make), shares[position, int(make)]))
    closed = _closed(listed, part, mine, plan.new_tubes.get(part.number, 0))
    tubes = [
        TubePromise(opened[key].item_id, opened[key].spot_id, opened[key].amount, tuple(serves[key]))
        for key in serves
        if key in opened
    ]
    new = [key for key in serves if key not in opened]
    for key, (item_id, spot_id) in zip(new, closed, strict=False):
        tubes.append(TubePromise(item_id, spot_id, 1, tuple(serves[key])))
    unserved = tuple(dict.fromkeys(share[0] for key in new[len(closed) :] for share in serves[key]))
    first = lines[0]
    return MaterialPlan(
        part=part,
        line=first.number,
        step=f"{first.operation}/{first.step}",
        tubes=tuple(tubes),
        missing=len(new) - min(len(new), len(closed)),
        unserved=unserved,
        draws=plan.joints,
    )


def _closed(listed: JobList, part: Part, rows: Sequence[Standing], count: int) -> list[tuple[int, int]]:
    """(item, spot) of each closed tube, first to expire first against the day of fitting."""
    if not count:
        return []
    need = Need(part.number, part.pk, count, listed.fit_day, listed.job.number, listed.shop.margin_days)
    lots = [
        Lot(
            row.item_id, row.part_id, row.lot_code or row.identity, row.free, row.use_by, row.received_on, row.walk_order,
            row.spot_id, row.stopped,
        )
        for row in rows
        if not row.tube_number
    ]  # fmt: skip
    given = allocate([need], lots).lines
    return [(line.item_id, line.spot_id) for line in given for _ in range(line.quantity)]
