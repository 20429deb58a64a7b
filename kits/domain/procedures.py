"""Procedures: what an operation does, step by step, and the parts lines that say what each use position takes.

A parts line names a leaf part at positions, never a kit. Its condition only adds. Two lines may meet at one position only as
alternatives of one choice, for engine numbers that do not overlap, or with the same part and amount.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.amounts import COUNT, HOWS, LineAmount, read_amount
from kits.domain.engine_numbers import NumberRange, gaps, overlaps, parse_engine_number
from kits.domain.families import Family, read_positions
from kits.domain.findings import Condition, parse_condition
from kits.domain.reading import LONGEST_CODE, LONGEST_ID, LONGEST_NAME, Reader

#: From the strictest to the least strict: where two operations want different classes the stricter one wins.
CLASSES = ("always-new", "measured", "inspect")


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its number, the steps that must be done before it, its name, and the caution to read first."""

    step: int
    after: tuple[int, ...]
    name: str
    caution: str


@dataclass(frozen=True, slots=True)
class PartsLine:
    """What each of `positions` takes, and when. `amount` is for each position."""

    id: str
    step: int
    tray: int
    part: str
    positions: tuple[str, ...]
    amount: LineAmount
    condition: Condition | None
    line_class: str
    original_place: bool
    shop_rule: bool
    fits: NumberRange | None
    choice: str
    alternative: str
    make: int
    tools: tuple[str, ...]
    note: str
    because: str


@dataclass(frozen=True, slots=True)
class Operation:
    """One revision of a procedure. `opens` are findings that booking it brings at ENGINE; `warnings` are for the editor."""

    code: str
    family: str
    revision: int
    name: str
    opens: tuple[str, ...]
    steps: tuple[Step, ...]
    lines: tuple[PartsLine, ...]
    warnings: tuple[str, ...]


_OPERATION_KEYS = frozenset({"code", "family", "revision", "name", "opens", "steps", "lines"})
_LINE_KEYS = frozenset(
    {
        "id", "step", "tray", "part", "at", "amount", "how", "bead", "film", "when", "class", "original_place",
        "shop_rule", "fits", "choice", "alternative", "make", "tools", "note", "because",
    }
)  # fmt: skip


def parse_operation(document: Mapping[str, Any], family: Family) -> Operation:
    """Read a procedure document against its family. DomainError `procedure-unusable` names every problem, not the first."""
    reader = Reader()
    document = reader.mapping(document, "procedure", _OPERATION_KEYS)
    code = reader.text(document, "code", "procedure", longest=LONGEST_CODE)
    if document.get("family") not in (family.code, family.name):
        reader.problem("procedure", f"is for family {str(document.get('family'))[:60]!r}, not for {family.code!r}")
    opens = reader.texts(document, "opens", "procedure")
    for opened in opens:
        known = family.findings.get(opened)
        if known is None:
            reader.problem("opens", f"unknown finding code {opened[:60]!r}")
        elif known.scope != "engine":
            reader.problem(
                "opens", f"{opened!r} is found at a place of scope {known.scope}; only scope engine can be opened"
            )
    steps = _read_steps(document, reader)
    known_steps = {step.step for step in steps}
    lines: list[PartsLine] = []
    for index, entry in enumerate(reader.listing(document, "lines", "lines", required=True), start=1):
        line = _read_line(entry, index, family, reader)
        if line.step not in known_steps:
            reader.problem(f"line {line.id}", f"step {line.step} is not a step of this procedure")
        if any(line.id == other.id for other in lines):
            reader.problem(f"line {line.id}", "the line's id stands twice")
        lines.append(line)
    _check_meetings(lines, reader)
    operation = Operation(
        code=code,
        family=family.code,
        revision=reader.whole(document, "revision", "procedure", low=1, high=10_000),
        name=reader.text(document, "name", "procedure", longest=LONGEST_NAME),
        opens=opens,
        steps=steps,
        lines=tuple(lines),
        warnings=tuple(_gap_warnings(lines, family.numbering.first)),
    )
    reader.refuse("procedure-unusable", f"The procedure {code[:20]!r} cannot be used")
    return operation


def _read_steps(document: Mapping[str, Any], reader: Reader) -> tuple[Step, ...]:
    steps: list[Step] = []
    for index, entry in enumerate(reader.listing(document, "steps", "steps", required=True), start=1):
        step = reader.mapping(entry, f"step entry {index}", frozenset({"step", "after", "name", "caution"}))
        number = reader.whole(step, "step", f"step entry {index}", low=1, high=10_000)
        where = f"step {number}"
        if any(number == other.step for other in steps):
            reader.problem(where, "stands twice")
        after = reader.listing(step, "after", where)
        if not all(isinstance(one, int) and not isinstance(one, bool) for one in after):
            reader.problem(where, "'after' must hold numbers of steps")
            after = []
        steps.append(
            Step(number, tuple(after), reader.text(step, "name", where), reader.text(step, "caution", where, ""))
        )
    known = {step.step for step in steps}
    for one in steps:
        for before in one.after:
            if before not in known:
                reader.problem(f"step {one.step}", f"comes after step {before}, which is not there")
    loop = _steps_in_a_loop(steps)
    if loop:
        reader.problem("steps", "these wait for one another: " + ", ".join(str(number) for number in loop))
    return tuple(steps)


def _steps_in_a_loop(steps: list[Step]) -> list[int]:
    """Steps that can never start: strike out each step whose forerunners are struck out, until nothing changes."""
    waiting = {step.step: set(step.after) for step in steps}
    while True:
        ready = [number for number, before in waiting.items() if not before & waiting.keys()]
        if not ready:
            return sorted(waiting)
        for number in ready:
            del waiting[number]


def _read_line(entry: object, index: int, family: Family, reader: Reader) -> PartsLine:
    named = entry.get("id") if isinstance(entry, Mapping) else None
    where = f"line {named[:60]}" if isinstance(named, str) and named.strip() else f"line {index}"
    document = reader.mapping(entry, where, _LINE_KEYS)
    identity = reader.text(document, "id", where, longest=LONGEST_ID)
    how = reader.one_of(document, "how", where, HOWS)
    line_class = reader.one_of(document, "class", where, CLASSES)
    if how != COUNT and line_class != "always-new":
        reader.problem(where, f"what is measured out by {how} is always new by nature, not {line_class!r}")
    choice, alternative = _read_choice(document, where, family, reader)
    condition = None
    if document.get("when") is not None:
        try:
            condition = parse_condition(document["when"], family.findings)
        except DomainError as error:
            reader.problem(where, error.message)
    return PartsLine(
        id=identity or str(index),
        step=reader.whole(document, "step", where, low=1, high=10_000),
        tray=reader.whole(document, "tray", where, low=1, high=1_000),
        part=reader.text(document, "part", where),
        positions=read_positions(document, family.map, where, reader),
        amount=read_amount(document, how, where, reader),
        condition=condition,
        line_class=line_class,
        original_place=reader.yes(document, "original_place", where),
        shop_rule=reader.yes(document, "shop_rule", where),
        fits=_read_range(document.get("fits"), family, where, reader),
        choice=choice,
        alternative=alternative,
        make=reader.whole(document, "make", where, low=1, high=99, default=1),
        tools=reader.texts(document, "tools", where),
        note=reader.text(document, "note", where, ""),
        because=reader.text(document, "because", where, ""),
    )


def _read_choice(document: Mapping[str, Any], where: str, family: Family, reader: Reader) -> tuple[str, str]:
    choice = reader.text(document, "choice", where, "")
    alternative = reader.text(document, "alternative", where, "")
    if not choice and not alternative:
        return "", ""
    known = family.choices.get(choice)
    if known is None:
        reader.problem(where, f"unknown choice {choice[:60]!r}")
    elif alternative not in known.alternatives:
        reader.problem(
            where, f"{alternative[:60]!r} is not an alternative of {choice!r}: {', '.join(known.alternatives)}"
        )
    return choice, alternative


def _read_range(value: object, family: Family, where: str, reader: Reader) -> NumberRange | None:
    """Engine numbers that a line fits: from (included), to (included) or below (excluded), except; None is any."""
    if value is None:
        return None
    document = reader.mapping(value, f"{where} fits", frozenset({"from", "to", "below", "except"}))
    first = _read_number(document.get("from"), family, where, reader)
    last = _read_number(document.get("to"), family, where, reader)
    below = _read_number(document.get("below"), family, where, reader)
    if last is not None and below is not None:
        reader.problem(where, "'fits' takes 'to' or 'below', not both")
    if below is not None:
        last = below - 1
    exceptions = [
        number
        for one in reader.listing(document, "except", where)
        if (number := _read_number(one, family, where, reader)) is not None
    ]
    if first is None and last is None and not exceptions:
        return None
    numbering = family.numbering
    try:
        return NumberRange(numbering.prefix, first, last, frozenset(exceptions), width=numbering.width)
    except DomainError as error:
        reader.problem(where, f"'fits': {error.message}")
        return None


def _read_number(value: object, family: Family, where: str, reader: Reader) -> int | None:
    if value is None:
        return None
    if not isinstance(value, str):
        reader.problem(where, "'fits' takes engine numbers as texts")
        return None
    try:
        return parse_engine_number(value, {family.numbering.prefix: family.numbering.width}).digits
    except DomainError as error:
        reader.problem(where, error.message)
        return None


def _meetings(lines: list[PartsLine]) -> dict[tuple[str, int], list[PartsLine]]:
    at: dict[tuple[str, int], list[PartsLine]] = {}
    for line in lines:
        for position in line.positions:
            at.setdefault((position, line.make), []).append(line)
    return at


def _check_meetings(lines: list[PartsLine], reader: Reader) -> None:
    """Two lines at one position and make must not both claim it for one engine number with different things."""
    for (position, _), there in _meetings(lines).items():
        for index, one in enumerate(there):
            for other in there[index + 1 :]:
                if not _may_meet(one, other):
                    reader.problem(
                        f"line {other.id}",
                        f"claims {position} beside line {one.id} for the same engine numbers with another part or amount",
                    )


def _may_meet(one: PartsLine, other: PartsLine) -> bool:
    if one.choice and one.choice == other.choice and one.alternative != other.alternative:
        return True
    if (one.part, one.amount, one.choice) == (other.part, other.amount, other.choice):
        return True
    return one.fits is not None and other.fits is not None and not overlaps(one.fits, other.fits)


def _gap_warnings(lines: list[PartsLine], first: int) -> list[str]:
    """Ranges at one position that leave engine numbers out between them: allowed, but somebody should look."""
    warnings: list[str] = []
    for (position, _), there in _meetings(lines).items():
        ranges = [line.fits for line in there if line.fits is not None]
        if len(ranges) < len(there):
            continue
        for gap in gaps(ranges, first) if len(ranges) > 1 else ():
            warning = f"{position}: no line fits {gap.words()}"
            if warning not in warnings:
                warnings.append(warning)
    return warnings
