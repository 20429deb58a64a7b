"""Liners of the past, read dry and judged each in its own bore, before they went in. Values are invented: new parts near their nominal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from zlib import crc32

from api.demo.files import document, once
from api.demo.rebuild import Rebuild
from kits.domain.facts import Facts, NewPart
from kits.queries.at_positions import kept_on_bench
from kits.queries.documents import family_of
from kits.queries.liners import Readings
from kits.queries.scope import job_by_number
from kits.services.protrusions import judge_protrusion
from kits.services.readings import ReadingIn, record_readings

CLOCK = ("12", "3", "6", "9")
#: Minutes after the start of the day.
READ, JUDGED = 200, 210
NM_OF_UM = 1000
#: So far, in micrometres, a liner or a seat is off its nominal at most.
OFF_MOST_UM = 3


def gauge_liners(job: Rebuild, held: Mapping[str, Any]) -> int:
    """Read and judge every liner that goes in, new or kept, where the family states limits of its height. How many liners."""
    row = job_by_number(job.number)
    family = family_of(row.family_revision)
    sets = {
        one["positions"][0][0]: one["serial"]
        for one in held["held"]
        if job.buyer.parts[one["wanted"]]["kind"] == "matched set"
    } | {thing.position: thing.serial for thing in kept_on_bench(row)}
    if family.facts.protrusion is None or not sets:
        return 0
    what = Readings(row, family)
    gauges = next(
        one for one in document("gauges")["liners"] if job.site in one["sites"] and job.day.isoformat() <= one["until"]
    )
    lines = []
    for position, serial in sorted(sets.items()):
        cylinder = position.partition("/")[0]
        lines += _round(what.height, _nominal(family.facts.liner_height), gauges["liner"], serial, set=serial)
        of_bore = f"{job.row['engine']} {cylinder}"
        lines += _round(what.depth, _nominal(family.facts.block_depth), gauges["bore"], of_bore, place=cylinder)
    fitter, _, _ = job.people()
    once(record_readings, actor=fitter, stamp=job.stamp("read liners", READ), job=job.number, readings=lines)
    for number, (position, serial) in enumerate(sorted(sets.items())):
        once(
            judge_protrusion, actor=fitter, stamp=job.stamp(f"judge {position}", JUDGED + number), job=job.number,
            position=position, set=serial, ring=_ring(family.facts),
        )  # fmt: skip
    return len(sets)


def _round(what: str, nominal_nm: int, gauge: str, of_what: str, **of: Any) -> list[ReadingIn]:
    return [
        ReadingIn(
            what, f"{(nominal_nm // NM_OF_UM + _off(f'{of_what} {point}')) / 1000:.3f} mm", gauge, point=point,
            part_temperature="20 °C", gauge_temperature="20 °C", clean=True, without_rubber=True, **of,
        )
        for point in CLOCK
    ]  # fmt: skip


def _off(of_what: str) -> int:
    """The same for the same liner and point whenever it is read."""
    return crc32(of_what.encode()) % (2 * OFF_MOST_UM + 1) - OFF_MOST_UM


def _nominal(part: NewPart | None) -> int:
    """What its maker calls nominal, else the middle of what a new part may be."""
    if part is None:
        raise ValueError("the demo's families state liner and block")
    if part.nominal_nm is not None:
        return part.nominal_nm
    low, high = part.limits.low_nm, part.limits.high_nm
    if low is None or high is None:
        raise ValueError("a new part of the demo's families has two limits")
    return (low + high) // 2


def _ring(facts: Facts) -> str:
    """The base ring that nominal parts take, where the engine has one."""
    return f"{facts.base_rings.sizes_nm[0] / 1_000_000:.2f} mm" if facts.base_rings is not None else ""
