"""Sizes that stay with an engine: a ground crank, a recut counterbore, a skimmed head, a thread repaired with an insert.

What was cut off does not come back: it limits what may be cut on a later job, and which parts fit there. What is kept of an engine and
what it decides is in `kits/domain/size_facts.py`. Lengths are whole nanometres.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time

from inventory.domain.errors import DomainError
from inventory.domain.quantities import format_amount
from inventory.domain.units import BY_CODE, Dimension
from kits.domain.engine_map import ENGINE, EngineMap
from kits.domain.findings import Finding
from kits.domain.limits import Limits
from kits.domain.size_facts import CUT, SIZE, THREAD, TOTAL, UNDERSIZE, SizeFact, totals_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of an engine's record, in the order in which they were entered. renewed: the piece was new then; at: when it was so."""

    id: int
    name: str
    place: str
    value_nm: int | None
    renewed: bool
    detail: str
    job: str
    on: date
    gauge: str
    at: datetime | None = None

    @property
    def moment(self) -> tuple[date, time, int]:
        """What orders entries in time; of the same moment, the order in which they were entered."""
        return self.on, self.at.time() if self.at is not None else time.min, self.id


def counting(entries: Iterable[Entry], name: str, position: str, engine_map: EngineMap) -> tuple[Entry, ...]:
    """The entries of one kind of size that hold a use position, since the piece was last new there."""
    held: list[Entry] = []
    for one in entries:
        if one.name == name and engine_map.contains(one.place, position):
            held = [one] if one.renewed else [*held, one]
    return tuple(held)


def overtaken(
    facts: Iterable[SizeFact], fact: SizeFact, position: str, entries: Sequence[Entry], engine_map: EngineMap
) -> Entry | None:
    """The first entry since which a measured size says nothing any more at a use position: what it was measured of was cut, ground or
    renewed. None where it stands, or was not measured."""
    held = counting(entries, fact.name, position, engine_map) if fact.kind == SIZE else ()
    if not held:
        return None
    cutting = {one.name: one for one in facts if fact.name in one.changes or (fact.read and fact.read in one.changes)}
    mine = engine_map.outward(position)[1]
    later = [
        one
        for one in entries
        if one.name in cutting
        and one.moment > held[-1].moment
        and any(
            _touches(cut, mine, engine_map)
            for cut in cutting[one.name].positions
            if engine_map.contains(one.place, cut)
        )
    ]
    return min(later, key=lambda one: one.moment, default=None)


def _touches(cut_at: str, holder: str, engine_map: EngineMap) -> bool:
    """Whether a use position that was cut is of the piece that holds the measured one, or of a wider or a narrower one."""
    other = engine_map.outward(cut_at)[1]
    return engine_map.contains(other, holder) or engine_map.contains(holder, other)


def overtaken_said(one: Entry) -> str:
    """Why a measured size does not stand, for a person."""
    by = f", {millimetres(one.value_nm)}" if one.value_nm else ""
    return f"{one.name} at {one.place} was entered since (entry {one.id} of job {one.job}{by})"


def held_of(fact: SizeFact, entries: Sequence[Entry], position: str, engine_map: EngineMap) -> tuple[Entry, ...]:
    """The entries that count for a fact at a use position: its own, or those of the cuts that a total adds up, in their order."""
    if fact.kind != TOTAL:
        return counting(entries, fact.name, position, engine_map)
    ids = {one.id for name in fact.of for one in counting(entries, name, position, engine_map)}
    return tuple(one for one in entries if one.id in ids)


def standing_nm(fact: SizeFact, held: Sequence[Entry]) -> int | None:
    """What is off in all, or the newest measure; None where nothing is on record (of a cut or an undersize: nothing is off)."""
    values = [one.value_nm for one in held if one.value_nm is not None]
    if fact.kind in (CUT, TOTAL):
        return sum(values)
    if fact.kind == UNDERSIZE:
        return values[-1] if values else 0
    return values[-1] if values else None


def left_nm(fact: SizeFact, held: Sequence[Entry]) -> int | None:
    """How much more may come off by this fact alone; None where no limit is stated."""
    if fact.most_nm is None or fact.kind not in (CUT, UNDERSIZE, TOTAL):
        return None
    return max(0, fact.most_nm - (standing_nm(fact, held) or 0))


def left_here(
    facts: Iterable[SizeFact], fact: SizeFact, entries: Sequence[Entry], position: str, engine_map: EngineMap
) -> int | None:
    """How much more may come off at a use position: the least that the fact and the totals it counts in leave; None: no limit."""
    left = [left_nm(one, held_of(one, entries, position, engine_map)) for one in (fact, *totals_of(facts, fact.name))]
    return min((one for one in left if one is not None), default=None)


def may_be_cut_nm(
    facts: Sequence[SizeFact], entries: Sequence[Entry], position: str, engine_map: EngineMap, most_nm: int
) -> int:
    """How much deeper the seat of a use position may be cut on this engine: the least that any kind of cut kept of it leaves, and no
    more than `most_nm`, which the family allows a new one."""
    kept = [one for one in facts if one.kind == CUT and position in one.positions]
    left = [left_here(facts, one, entries, position, engine_map) for one in kept]
    return min([most_nm, *(one for one in left if one is not None)])


def keeps_cuts(facts: Iterable[SizeFact], position: str) -> bool:
    """Whether a cut of the seat of a use position is entered when it is made: what was read of it before is closed then."""
    return any(
        one.kind == CUT
        and position in one.positions
        and not one.changes.isdisjoint(("block-depth", "counterbore-depth"))
        for one in facts
    )


def within(limits: Limits, value_nm: int) -> bool:
    """Whether a size lies from one limit to the other, both included."""
    return (limits.low_nm is None or value_nm >= limits.low_nm) and (
        limits.high_nm is None or value_nm <= limits.high_nm
    )


def millimetres(value_nm: int) -> str:
    """A length for people."""
    number, symbol = format_amount(value_nm, Dimension.LENGTH, BY_CODE["MMT"], 6).split(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {symbol}"


def check_entry(
    fact: SizeFact, earlier: Sequence[Entry], new: Entry, engine_map: EngineMap, totals: Sequence[SizeFact] = ()
) -> None:
    """Refuse an entry that cannot be so. totals: those that the fact counts in (`totals_of`).

    DomainError "size-unusable" (no such place, a value or an insert missing), "size-goes-back" (less is off than before, and the piece
    is not new), "size-over-limit" (with how much more may come off, by the fact or by a total).
    """
    engine_map.outward(new.place)
    mine = [position for position in fact.positions if engine_map.contains(new.place, position)]
    if not mine:
        raise _unusable(fact, new, f"{fact.name} is not kept of {new.place}")
    if fact.kind == TOTAL:
        raise _unusable(fact, new, f"{fact.name} adds up {' and '.join(fact.of)}: enter what was cut")
    if fact.kind == THREAD:
        _check_thread(fact, new)
        return
    if new.value_nm is None or new.value_nm < 0 or (new.value_nm == 0 and not (new.renewed or fact.kind == UNDERSIZE)):
        raise _unusable(fact, new, f"{fact.name} is a length")
    # Of a new piece nothing is off: what was cut off the old one counts no longer, in totals either.
    before = [*earlier, replace(new, value_nm=0)] if new.renewed else earlier
    for position in sorted(mine, key=engine_map.order):
        off = standing_nm(fact, held_of(fact, before, position, engine_map)) or 0
        if fact.kind == UNDERSIZE and new.value_nm < off:
            raise DomainError(
                "size-goes-back",
                f"{fact.name}: {millimetres(off)} is on record for {position}; less cannot be unless the piece is new.",
                ways_out=("Say that the piece was renewed.", "Withdraw the entry that is wrong."),
                size=fact.name,
                position=position,
                on_record=[one.id for one in held_of(fact, before, position, engine_map)],
            )
        if fact.kind in (CUT, UNDERSIZE):
            more = new.value_nm if fact.kind == CUT else new.value_nm - off
            for limit in (fact, *totals):
                _check_left(limit, more, held_of(limit, before, position, engine_map), position)


def _check_thread(fact: SizeFact, new: Entry) -> None:
    """One hole and its insert; of a new block that its threads are as they came, wherever."""
    as_new = new.renewed and not new.detail.strip()
    if new.value_nm is not None or not (as_new or (new.detail.strip() and new.place in fact.positions)):
        raise _unusable(fact, new, f"{fact.name} names one hole and the insert, and no size")


def _check_left(limit: SizeFact, more: int, held: Sequence[Entry], position: str) -> None:
    left = left_nm(limit, held)
    if left is None or more <= left:
        return
    off = standing_nm(limit, held) or 0
    raise DomainError(
        "size-over-limit",
        f"{limit.name}: {millimetres(off)} is off at {position} already, at most {millimetres(left)} more may come off.",
        size=limit.name,
        position=position,
        off_nm=off,
        left_nm=left,
        most_nm=limit.most_nm,
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

    value_nm  of a cut, an undersize or a total: what is off in all; None for a thread
    left_nm   how much more may come off, by the totals that it counts in too; None: no limit is stated
    within    a measured size against its limits; None where there are none
    entries   ids of the entries that count
    stale     why a measured size does not stand any more; empty: it does
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
    stale: str = ""


def standing_sizes(
    facts: Sequence[SizeFact], entries: Sequence[Entry], engine_map: EngineMap
) -> tuple[StandingSize, ...]:
    """Every size on record as it stands now, in the order of the facts and of the map; one row where positions share their entries."""
    rows: dict[tuple[str, tuple[int, ...], str], StandingSize] = {}
    for fact in facts:
        for position in sorted(fact.positions, key=engine_map.order):
            held = held_of(fact, entries, position, engine_map)
            if held:
                ids = tuple(one.id for one in held)
                left = left_here(facts, fact, entries, position, engine_map)
                since = overtaken(facts, fact, position, entries, engine_map)
                stale = overtaken_said(since) if since is not None else ""
                rows.setdefault((fact.name, ids, stale), _standing(fact, held, ids, left, stale))
    return tuple(rows.values())


def _standing(
    fact: SizeFact, held: Sequence[Entry], ids: tuple[int, ...], left: int | None, stale: str
) -> StandingSize:
    last, value = held[-1], standing_nm(fact, held)
    inside = within(fact.limits, value) if fact.limits is not None and value is not None and not stale else None
    return StandingSize(
        size=fact.name,
        kind=fact.kind,
        text=fact.text,
        place=last.place,
        value_nm=value,
        shown="" if value is None else millimetres(value),
        left_nm=left,
        left_shown="" if left is None else millimetres(left),
        within=inside,
        detail="; ".join(one.detail for one in held if one.detail),
        job=last.job,
        on=last.on.isoformat(),
        gauge=last.gauge,
        entries=ids,
        stale=stale,
    )
