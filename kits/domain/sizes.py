"""Sizes that stay with an engine: a ground crank, a recut counterbore, a skimmed head, a thread repaired with an insert.

What was cut off does not come back: it limits what may be cut on a later job, and which parts fit there. A family's fact `sizes` says
what is kept and what it decides; its limits come from the maker's manual, which overrides them. Lengths are whole nanometres.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import format_amount
from inventory.domain.units import BY_CODE, Dimension
from kits.domain.engine_map import ENGINE, EngineMap
from kits.domain.fact_values import amount, positions
from kits.domain.facts import Facts
from kits.domain.findings import Finding, FindingCode
from kits.domain.limits import Limits
from kits.domain.reading import LONGEST_NAME, Reader

#: cut: what one job took off, adding up. undersize: how far the piece is below its new size, the newest counts. size: as measured,
#: the newest counts. thread: an insert in a hole.
CUT, UNDERSIZE, SIZE, THREAD = "cut", "undersize", "size", "thread"
KINDS = (CUT, UNDERSIZE, SIZE, THREAD)
#: Said in `most` where the family's fact of its shims has the limit of a recut.
OF_SHIMS = "recut_most of shims"


@dataclass(frozen=True, slots=True)
class SizeFact:
    """One kind of size that stays with engines of a family.

    positions  use positions that it concerns
    most_nm    what may be off in all, that itself included; least_nm: one more cut takes at least so much; None: not stated
    limits     of a measured size
    choice, takes  the choice that it decides: alternative → how far below the new size its parts are made for
    finding    cut: the finding that asks for one more. undersize: the finding that says so in the conditions of parts lines
    """

    name: str
    kind: str
    text: str
    positions: frozenset[str]
    most_nm: int | None = None
    least_nm: int | None = None
    limits: Limits | None = None
    choice: str = ""
    takes: Mapping[str, int] = field(default_factory=dict)
    finding: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of an engine's record, in the order in which they were entered. renewed: the piece was new then."""

    id: int
    name: str
    place: str
    value_nm: int | None
    renewed: bool
    detail: str
    job: str
    on: date
    gauge: str


def read_sizes(
    stated: Mapping[str, Any],
    engine_map: EngineMap,
    codes: Mapping[str, FindingCode],
    choices: Mapping[str, Sequence[str]],
    facts: Facts,
    reader: Reader,
) -> tuple[SizeFact, ...]:
    """The fact `sizes` of a family. choices: code → its alternatives. Problems go to the reader."""
    found: list[SizeFact] = []
    keys = frozenset({"name", "kind", "text", "at", "most", "least", "low", "high", "choice", "takes", "finding"})
    for number, value in enumerate(reader.listing(stated, "sizes", "facts"), 1):
        where = f"facts, sizes {number}"
        entry = reader.mapping(value, where, keys)
        kind = reader.one_of(entry, "kind", where, KINDS)
        name = reader.text(entry, "name", where, longest=LONGEST_NAME)
        choice, finding = reader.text(entry, "choice", where, ""), reader.text(entry, "finding", where, "")
        if name in {one.name for one in found}:
            reader.problem(where, f"{name[:60]!r} stands twice")
        if finding and finding not in codes:
            reader.problem(where, f"unknown finding code {finding[:60]!r}")
        if finding and kind == UNDERSIZE and codes.get(finding) and codes[finding].scope != "engine":
            reader.problem(where, f"{finding} is said of the engine, as the whole piece is")
        found.append(
            SizeFact(
                name,
                kind,
                reader.text(entry, "text", where),
                frozenset(positions(entry, "at", where, engine_map, reader)),
                _most(entry, where, facts, reader),
                amount(entry, "least", where, Dimension.LENGTH, reader),
                _limits(entry, where, reader),
                choice,
                _takes(entry, where, kind, choices.get(choice), choice, reader),
                finding,
            )
        )
    return tuple(found)


def _most(entry: Mapping[str, Any], where: str, facts: Facts, reader: Reader) -> int | None:
    if entry.get("most") != OF_SHIMS:
        return amount(entry, "most", where, Dimension.LENGTH, reader)
    most = facts.shims.recut_most_nm if facts.shims is not None else None
    if most is None:
        reader.problem(where, "the fact of the shims states no such limit")
    return most


def _limits(entry: Mapping[str, Any], where: str, reader: Reader) -> Limits | None:
    low, high = (amount(entry, key, where, Dimension.LENGTH, reader) for key in ("low", "high"))
    if low is not None and high is not None and low > high:
        reader.problem(where, "'low' is above 'high'")
        return None
    return Limits(low, high) if low is not None or high is not None else None


def _takes(
    entry: Mapping[str, Any], where: str, kind: str, alternatives: Sequence[str] | None, choice: str, reader: Reader
) -> dict[str, int]:
    takes = entry.get("takes")
    if takes is None and not choice:
        return {}
    if kind != UNDERSIZE or alternatives is None or not isinstance(takes, Mapping) or set(takes) != set(alternatives):
        reader.problem(where, "'choice' and 'takes' go together: an undersize for every alternative of a known choice")
        return {}
    found = {name: amount(takes, name, f"{where}, takes", Dimension.LENGTH, reader, required=True) for name in takes}
    return {name: size for name, size in found.items() if size is not None}


def counting(entries: Iterable[Entry], name: str, position: str, engine_map: EngineMap) -> tuple[Entry, ...]:
    """The entries of one kind of size that hold a use position, since the piece was last new there."""
    held: list[Entry] = []
    for one in entries:
        if one.name == name and engine_map.contains(one.place, position):
            held = [one] if one.renewed else [*held, one]
    return tuple(held)


def standing_nm(fact: SizeFact, held: Sequence[Entry]) -> int | None:
    """What is off in all, or the newest measure; None where nothing is on record (of a cut or an undersize: nothing is off)."""
    values = [one.value_nm for one in held if one.value_nm is not None]
    if fact.kind == CUT:
        return sum(values)
    if fact.kind == UNDERSIZE:
        return values[-1] if values else 0
    return values[-1] if values else None


def left_nm(fact: SizeFact, held: Sequence[Entry]) -> int | None:
    """How much more may come off; None where no limit is stated."""
    if fact.most_nm is None or fact.kind not in (CUT, UNDERSIZE):
        return None
    return max(0, fact.most_nm - (standing_nm(fact, held) or 0))


def may_be_cut_nm(
    facts: Iterable[SizeFact], entries: Sequence[Entry], position: str, engine_map: EngineMap, most_nm: int
) -> int:
    """How much deeper the seat of a use position may be cut on this engine: the least that any kind of cut kept of it leaves, and no
    more than `most_nm`, which the family allows a new one."""
    kept = [one for one in facts if one.kind == CUT and position in one.positions]
    left = [left_nm(one, counting(entries, one.name, position, engine_map)) for one in kept]
    return min([most_nm, *(one for one in left if one is not None)])


def millimetres(value_nm: int) -> str:
    """A length for people."""
    number, symbol = format_amount(value_nm, Dimension.LENGTH, BY_CODE["MMT"], 6).split(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {symbol}"


def check_entry(fact: SizeFact, earlier: Sequence[Entry], new: Entry, engine_map: EngineMap) -> None:
    """Refuse an entry that cannot be so. DomainError "size-unusable" (no such place, a value or an insert missing), "size-goes-back" (less
    is off than before, and the piece is not new), "size-over-limit" (with how much more may come off)."""
    engine_map.outward(new.place)
    mine = [position for position in fact.positions if engine_map.contains(new.place, position)]
    if not mine:
        raise _unusable(fact, new, f"{fact.name} is not kept of {new.place}")
    if fact.kind == THREAD:
        if not new.detail.strip() or new.value_nm is not None or new.place not in fact.positions:
            raise _unusable(fact, new, f"{fact.name} names one hole and the insert, and no size")
        return
    if new.value_nm is None or new.value_nm < 0 or (new.value_nm == 0 and not (new.renewed or fact.kind == UNDERSIZE)):
        raise _unusable(fact, new, f"{fact.name} is a length")
    for position in sorted(mine, key=engine_map.order):
        held = () if new.renewed else counting(earlier, fact.name, position, engine_map)
        off = standing_nm(fact, held) or 0
        if fact.kind == UNDERSIZE and new.value_nm < off:
            raise DomainError(
                "size-goes-back",
                f"{fact.name}: {millimetres(off)} is on record for {position}; less cannot be unless the piece is new.",
                ways_out=("Say that the piece was renewed.", "Withdraw the entry that is wrong."),
                size=fact.name,
                position=position,
                on_record=[one.id for one in held],
            )
        more = new.value_nm if fact.kind == CUT else new.value_nm - off
        left = left_nm(fact, held)
        if left is not None and fact.kind in (CUT, UNDERSIZE) and more > left:
            raise DomainError(
                "size-over-limit",
                f"{fact.name}: {millimetres(off)} is off at {position} already, at most {millimetres(left)} more may come off.",
                size=fact.name,
                position=position,
                off_nm=off,
                left_nm=left,
                most_nm=fact.most_nm,
                on_record=[one.id for one in held],
            )


def _unusable(fact: SizeFact, new: Entry, why: str) -> DomainError:
    return DomainError("size-unusable", f"{why}.", size=fact.name, place=new.place[:80])


def standing_findings(
    facts: Iterable[SizeFact], entries: Sequence[Entry], engine_map: EngineMap
) -> tuple[tuple[Finding, frozenset[str]], ...]:
    """Findings that are true of the engine by its record, each with the use positions where it decides which part is taken."""
    found = []
    for fact in facts:
        if fact.kind == UNDERSIZE and fact.finding:
            below = frozenset(
                one for one in fact.positions if standing_nm(fact, counting(entries, fact.name, one, engine_map))
            )
            if below:
                found.append((Finding(fact.finding, ENGINE), below))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class StandingSize:
    """How one size of an engine stands, where it was last entered. Lengths in nanometres, and as people read them.

    value_nm  of a cut or an undersize: what is off in all; None for a thread
    left_nm   how much more may come off; None: no limit is stated
    within    a measured size against its limits; None where there are none
    entries   ids of the entries that count
    """

    size: str
    kind: str
    text: str
    place: str
    value_nm: int | None
    shown: str
    left_nm: int | None
    left_shown: str
    within: bool | None
    detail: str
    job: str
    on: str
    gauge: str
    entries: tuple[int, ...]


def standing_sizes(
    facts: Iterable[SizeFact], entries: Sequence[Entry], engine_map: EngineMap
) -> tuple[StandingSize, ...]:
    """Every size on record as it stands now, in the order of the facts and of the map; one row where positions share their entries."""
    rows: dict[tuple[str, tuple[int, ...]], StandingSize] = {}
    for fact in facts:
        for position in sorted(fact.positions, key=engine_map.order):
            held = counting(entries, fact.name, position, engine_map)
            if held:
                ids = tuple(one.id for one in held)
                rows.setdefault((fact.name, ids), _standing(fact, held, ids))
    return tuple(rows.values())


def _standing(fact: SizeFact, held: Sequence[Entry], ids: tuple[int, ...]) -> StandingSize:
    last, value, left = held[-1], standing_nm(fact, held), left_nm(fact, held)
    within = None
    if fact.limits is not None and value is not None:
        low, high = fact.limits.low_nm, fact.limits.high_nm
        within = (low is None or value >= low) and (high is None or value <= high)
    return StandingSize(
        size=fact.name,
        kind=fact.kind,
        text=fact.text,
        place=last.place,
        value_nm=value,
        shown="" if value is None else millimetres(value),
        left_nm=left,
        left_shown="" if left is None else millimetres(left),
        within=within,
        detail="; ".join(one.detail for one in held if one.detail),
        job=last.job,
        on=last.on.isoformat(),
        gauge=last.gauge,
        entries=ids,
    )
