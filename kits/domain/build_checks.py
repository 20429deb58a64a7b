"""Whether a built engine is right: each piston looked at, the leak test, the first run, and what falls due after it.

Cautions to show beside this: pressure test at low pressure only, as the maker says, with a guard, and water rather than air where the
maker allows it; release it before anything is opened. First start: fire extinguisher, exhaust extraction, hands clear of belts, stop
device tested, oil pressure seen first. The maker's manual overrides every limit here.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kits.domain.build_facts import AfterRun, LeakLimits, RunLimit
from kits.domain.engine_map import EngineMap

LEAK_CAUTION = (
    "Low pressure only, as the maker says, behind a guard; water rather than air where the maker allows. "
    "Release the pressure before opening anything."
)
RUN_CAUTION = "Fire extinguisher at hand, exhaust drawn off, hands clear of belts, stop device tested; oil pressure is seen first."


def missing_items(wanted: Sequence[str], seen: Collection[str]) -> tuple[str, ...]:
    """Items of a piston's check that nobody has seen good, in the order of the list."""
    return tuple(item for item in wanted if item not in seen)


def holders(engine_map: EngineMap, positions: Iterable[str]) -> set[str]:
    """The cylinders (mains, …) of use positions. Rod, cap and shells of a cylinder are looked at with its piston, though they stand in
    another group of the map: who fitted one of them there checks none of it."""
    return {engine_map.position(name).holder for name in positions if engine_map.is_position(name)}


def why_leaks(
    limits: LeakLimits, pressure_pa: int, held_s: int, drop_pa: int, wet: Sequence[str]
) -> tuple[tuple[str, ...], bool]:
    """(what speaks against the test, whether it counts as a test at all).

    wet  places below which water was seen. A pressure above or below the maker's, or too short a time, is no test: it has to be made
    again. A value on a limit passes, one pascal or second beyond does not.
    """
    no_test = []
    if pressure_pa < limits.pressure_least_pa:
        no_test.append("the pressure was less than the maker asks for" if pressure_pa > 0 else "there was no pressure")
    if pressure_pa > limits.pressure_most_pa:
        no_test.append("the pressure was more than the maker allows")
    if held_s < limits.hold_least_s:
        no_test.append("the pressure was not held long enough")
    leaks = [f"wet below {place}" for place in wet]
    if drop_pa > limits.drop_most_pa:
        leaks.append("the pressure dropped by more than the limit")
    return (*no_test, *leaks), not no_test


@dataclass(frozen=True, slots=True)
class RunValue:
    """A value of the first run against its limit; `value` None: not measured. A value on the limit is good."""

    name: str
    value: int | None
    good: bool
    why: str


def judge_run(limits: Sequence[RunLimit], measured: Mapping[str, int]) -> tuple[RunValue, ...]:
    """Every value that the family asks for, in its order; one that was not measured is not good."""
    found = []
    for limit in limits:
        value = measured.get(limit.name)
        why = ""
        if value is None:
            why = "not measured"
        elif limit.low is not None and value < limit.low:
            why = "below the limit"
        elif limit.high is not None and value > limit.high:
            why = "above the limit"
        found.append(RunValue(limit.name, value, not why, why))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Due:
    """Work after the first run: `on` the last day for it, None where only hours count; `done_on` None while it is open."""

    work: AfterRun
    on: date | None
    hours: int | None
    done_on: date | None
    late: bool


def due_lines(
    works: Sequence[AfterRun],
    run_on: date,
    done: Mapping[str, date],
    today: date,
    hours_since: int | None = None,
) -> tuple[Due, ...]:
    """What falls due after the first run on `run_on`: due = done + open.

    done         what → the day on which it was done
    hours_since  running hours since the first run, None where nobody read the meter
    Late: open, and its last day is past (that day itself still counts) or its hours are passed.
    """
    lines = []
    for work in works:
        on = run_on + timedelta(days=work.days) if work.days is not None else None
        past_day = on is not None and today > on
        past_hours = work.hours is not None and hours_since is not None and hours_since > work.hours
        done_on = done.get(work.what)
        lines.append(Due(work, on, work.hours, done_on, done_on is None and (past_day or past_hours)))
    return tuple(lines)
