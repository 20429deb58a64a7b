"""What a family's document says of checking a built engine: each piston, the leak test, the first run, and what follows it.

Every limit is a fact of the engine family, from its maker's manual, which overrides every default; nothing is assumed where the
document is silent. The words of `from` (book, edition, page) are shown beside each limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import parse_quantity, read_amount, to_base
from inventory.domain.units import Dimension
from kits.domain.engine_map import EngineMap
from kits.domain.fact_values import positions
from kits.domain.photo_checks import PhotoCheck, read_photo_checks
from kits.domain.reading import LONGEST_NAME, Reader

#: Names of the facts that are read here.
BUILD_FACTS = ("piston_checks", "photo_checks", "leak_test", "first_run", "after_first_run")
_S_PER_HOUR = 3600


@dataclass(frozen=True, slots=True)
class LeakLimits:
    """A leak test of the water jacket: this pressure at least and at most, for this long at least, with at most this drop (in pascal,
    seconds). Too little pressure presses no water past a ring, so nothing is said by it.

    when  the finding that asks for the test; empty: it may be made, no finding asks for it
    before  use positions that are closed only after it, such as the joint of the sump; empty: it is asked for when the job ends
    """

    pressure_least_pa: int
    pressure_most_pa: int
    hold_least_s: int
    drop_most_pa: int
    when: str
    source: str
    before: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class RunLimit:
    """One value of the first run, in base units of `dimension`; None where there is no limit on that side. `unit` is a Rec 20 code."""

    name: str
    dimension: Dimension
    unit: str
    low: int | None
    high: int | None


@dataclass(frozen=True, slots=True)
class AfterRun:
    """Work that falls due after the first run: so many days, or so many running hours, whichever comes first.

    parts  (part number, amount as typed) that it takes
    """

    what: str
    days: int | None
    hours: int | None
    parts: tuple[tuple[str, str], ...]
    source: str


@dataclass(frozen=True, slots=True)
class BuildFacts:
    """All of it; empty where the document is silent."""

    piston_items: tuple[str, ...] = ()
    leak: LeakLimits | None = None
    run: tuple[RunLimit, ...] = ()
    run_source: str = ""
    after: tuple[AfterRun, ...] = ()
    photo_checks: tuple[PhotoCheck, ...] = ()


def read_build_facts(
    facts: Mapping[str, Any], findings: Mapping[str, Any], engine_map: EngineMap, reader: Reader
) -> BuildFacts:
    """Read `piston_checks`, `photo_checks`, `leak_test`, `first_run` and `after_first_run` of a family's facts; problems go to `reader`."""
    run, source = _run(facts.get("first_run"), reader)
    return BuildFacts(
        piston_items=reader.texts(facts, "piston_checks", "facts"),
        photo_checks=read_photo_checks(facts, engine_map, reader),
        leak=_leak(facts.get("leak_test"), findings, engine_map, reader),
        run=run,
        run_source=source,
        after=tuple(
            _after(one, f"after_first_run {number}", reader)
            for number, one in enumerate(reader.listing(facts, "after_first_run", "facts"), 1)
        ),
    )


def _amount(document: Mapping[str, Any], key: str, where: str, dimension: Dimension, reader: Reader) -> int:
    text = reader.text(document, key, where)
    try:
        return read_amount(text, dimension).amount if text else 0
    except DomainError as error:
        reader.problem(where, f"{key!r}: {error.message}")
        return 0


def _leak(value: Any, findings: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> LeakLimits | None:
    if value is None:
        return None
    where = "leak_test"
    entry = reader.mapping(
        value,
        where,
        frozenset({"pressure_least", "pressure_most", "hold_least", "drop_most", "when", "before", "from"}),
    )
    when = reader.text(entry, "when", where, "")
    if when and when not in findings:
        reader.problem(where, f"unknown finding code {when[:60]!r}")
    limits = LeakLimits(
        pressure_least_pa=_amount(entry, "pressure_least", where, Dimension.PRESSURE, reader),
        pressure_most_pa=_amount(entry, "pressure_most", where, Dimension.PRESSURE, reader),
        hold_least_s=_amount(entry, "hold_least", where, Dimension.TIME, reader),
        drop_most_pa=_amount(entry, "drop_most", where, Dimension.PRESSURE, reader),
        when=when,
        source=reader.text(entry, "from", where),
        before=frozenset(positions(entry, "before", where, engine_map, reader) if "before" in entry else ()),
    )
    if limits.before and not when:
        reader.problem(where, "'before' needs 'when': no finding asks for the test")
    if limits.pressure_least_pa >= limits.pressure_most_pa > 0:
        reader.problem(where, "the least pressure is not below the greatest")
    if limits.drop_most_pa >= limits.pressure_least_pa > 0:
        reader.problem(where, "the drop allowed is not less than the least pressure")
    return limits


def _run(value: Any, reader: Reader) -> tuple[tuple[RunLimit, ...], str]:
    if value is None:
        return (), ""
    where = "first_run"
    entry = reader.mapping(value, where, frozenset({"values", "from"}))
    limits: list[RunLimit] = []
    for number, one in enumerate(reader.listing(entry, "values", where, required=True), 1):
        limit = _run_limit(reader.mapping(one, f"{where} {number}", frozenset({"name", "low", "high"})), number, reader)
        if limit is not None and limit.name in {known.name for known in limits}:
            reader.problem(f"{where} {number}", f"{limit.name!r} stands twice")
        elif limit is not None:
            limits.append(limit)
    return tuple(limits), reader.text(entry, "from", where)


def _run_limit(entry: Mapping[str, Any], number: int, reader: Reader) -> RunLimit | None:
    """A limit on one side at least; both sides of one kind."""
    where = f"first_run {number}"
    name = reader.text(entry, "name", where, longest=LONGEST_NAME)
    sides = {side: entry[side] for side in ("low", "high") if entry.get(side) is not None}
    if not sides:
        reader.problem(where, "needs 'low' or 'high'")
        return None
    found: dict[str, tuple[Dimension, str, int]] = {}
    for side, typed in sides.items():
        try:
            quantity = parse_quantity(typed if isinstance(typed, str) else "")
            dimension = quantity.unit.dimension
            cold = dimension is Dimension.TEMPERATURE
            found[side] = (
                dimension, quantity.unit.code, to_base(quantity, dimension, allow_negative=cold).amount,
            )  # fmt: skip
        except DomainError as error:
            reader.problem(where, f"{side!r}: {error.message}")
            return None
    kinds = {dimension for dimension, _, _ in found.values()}
    low, high = (found[side][2] if side in found else None for side in ("low", "high"))
    if len(kinds) > 1 or (low is not None and high is not None and low > high):
        reader.problem(where, "'low' and 'high' are of two kinds, or turned")
        return None
    dimension, unit, _ = next(iter(found.values()))
    return RunLimit(name, dimension, unit, low, high)


def _after(value: Any, where: str, reader: Reader) -> AfterRun:
    entry = reader.mapping(value, where, frozenset({"what", "days", "hours", "parts", "from"}))
    days = reader.whole(entry, "days", where, low=0, high=3650) if entry.get("days") is not None else None
    hours = None
    if entry.get("hours") is not None:
        hours = _amount(entry, "hours", where, Dimension.TIME, reader) // _S_PER_HOUR
    if days is None and hours is None:
        reader.problem(where, "needs 'days' or 'hours'")
    parts = []
    for number, one in enumerate(reader.listing(entry, "parts", where), 1):
        part = reader.mapping(one, f"{where} part {number}", frozenset({"part", "amount"}))
        parts.append((reader.text(part, "part", where), reader.text(part, "amount", where)))
    what = reader.text(entry, "what", where, longest=LONGEST_NAME)
    return AfterRun(what, days, hours, tuple(parts), reader.text(entry, "from", where))
