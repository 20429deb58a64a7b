"""A layout for the bench: which sets may be laid out, what is still to be read, what the layout comes to. Pure.

`layout` works out the best layout of what it is given; here it is settled what it is given. A bore that gets a set is free; the
liner of any other bore under an opened head stays in it: as it was read where it was not lifted, else turned as the family allows an
old one to be. A set whose readings are in doubt
(a gauge out of date, rubber rings that nobody spoke of) is laid out only where the others do not make a certain layout, and what it
then makes is doubtful.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from inventory.domain.errors import DomainError
from kits.domain.bench import Bench, BoreAt, SetAt, Weighing, allowance_of, directly, read_of, task_of, turns_of
from kits.domain.layout import Layout, NoLayout, lay_out
from kits.domain.limits import Verdict
from kits.domain.liners import Gauged, Under, shift_said, stands
from kits.domain.readings import HOURS
from kits.domain.recuts import recuts
from kits.domain.weights import Weighed, replacement_window, window_said

#: How many points round a liner are looked for, the finest first; the first is what is asked for where nothing suits.
GRIDS = (12, 6, 4, 3)
USUAL = 4
CERTAIN, DOUBTFUL, NONE, UNREAD = "certain", "doubtful", "no layout", "not enough readings"


@dataclass(frozen=True, slots=True)
class Proposal:
    """What can be proposed.

    outcome         "certain", "doubtful", "no layout" or "not enough readings"
    layout          of the first two; no_layout of the third
    missing         what has to be read before anything can be said, sentences
    not_considered  set → why it was left out
    why             why it is not certain; try_next: what else there is to try
    notes           what else belongs to it: a large correction for temperature
    rests_on        readings that the answer rests on
    """

    outcome: str
    layout: Layout | None = None
    no_layout: NoLayout | None = None
    missing: tuple[str, ...] = ()
    not_considered: tuple[tuple[str, str], ...] = ()
    why: tuple[str, ...] = ()
    try_next: tuple[str, ...] = ()
    rests_on: tuple[int, ...] = ()
    hours: tuple[int, ...] = ()
    allowance_nm: int = 0
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Chosen:
    """One bore of a layout that a person wants: which set, turned how far clockwise seen from the head, on which shim."""

    bore: int
    serial: str
    turn_deg: int = 0
    shim_nm: int = 0


def hours_of(bench: Bench) -> tuple[int, ...]:
    """The clock hours of the layout: of the even grids from 12 o'clock on that every bore was read at, the one at which most liners were,
    those that stay before all; the finest of several. () where there is none.

    Bores that were read at more points than the liners are not compared at points where no liner was read.
    """
    possible = [
        hours
        for hours in map(grid, GRIDS)
        if all(read_of(bore, bench.limits).at(hours) is not None for bore in bench.bores)
    ]
    return max(possible, key=lambda hours: _liners_read(bench, hours), default=())


def _liners_read(bench: Bench, hours: Sequence[int]) -> tuple[int, int]:
    """How many liners that stay, and how many sets, were read at these hours."""
    stay = [
        bore.standing.heights for bore in bench.bores if bore.standing is not None and not directly(bore, bench.limits)
    ]
    read = [sum(one.at(hours) is not None for one in rows) for rows in (stay, [one.heights for one in bench.sets])]
    return read[0], read[1]


def grid(points: int) -> tuple[int, ...]:
    """So many hours evenly round the clock, from 12 o'clock on, clockwise."""
    return tuple(at * HOURS // points or HOURS for at in range(points))


def missing(bench: Bench) -> tuple[str, ...]:
    """What has to be read of the bores, and of the liners that stay, and which seats are put right before; empty where nothing is missing."""
    hours = hours_of(bench)
    found = []
    for bore in bench.bores:
        lacking = [] if hours else read_of(bore, bench.limits).lacking(grid(USUAL))
        if lacking:
            found.append(f"{bore.place}: block not read at {_clock(lacking)}")
        if bore.seat_wrong and not directly(bore, bench.limits):
            found.append(f"{bore.place}: seat: {bore.seat_wrong}")
        its = bore.standing
        if its is not None and not directly(bore, bench.limits) and its.heights.at(hours or grid(USUAL)) is None:
            left = its.heights.lacking(hours or grid(USUAL))
            found.append(f"{bore.place}: height of the liner that stays ({its.name}) not read at {_clock(left)}")
        if its is not None and bench.spread_mg is not None and its.weight_mg is None:
            found.append(f"{bore.place}: weight of the piston that stays ({its.name}) not known")
    return tuple(found)


def propose(bench: Bench) -> Proposal:
    """The best layout of what is at hand, or what keeps one from being found."""
    lacking = missing(bench)
    hours = hours_of(bench)
    left_out: dict[str, str] = {}
    sets = []
    for one in bench.sets:
        why = _why_not(bench, one, hours or grid(USUAL))
        if why:
            left_out[one.serial] = why
        else:
            sets.append(one)
    told = tuple(sorted(left_out.items()))
    if lacking:
        return Proposal(UNREAD, missing=lacking, not_considered=told, try_next=_try_next(bench, left_out))
    sure = [one for one in sets if not _doubts_of(bench, one)]
    found = _lay_out(bench, sure, hours)
    if len(sure) < len(sets) and not (isinstance(found, Layout) and found.certain):
        found, sure = _lay_out(bench, sets, hours), sets
    return _answer(bench, found, sure, hours, told, _try_next(bench, left_out))


def check(bench: Bench, chosen: Sequence[Chosen], ring_nm: int = 0) -> Proposal:
    """What a layout comes to that a person wants; NoLayout where it does not keep the limits.

    DomainError "layout-unusable" where bores or sets are named that are not laid out, or one is left out or named twice;
    "heights-unusable", "stack-refused" for a turn, a shim or a ring that is not allowed.
    """
    stay = {bore.number: bore.standing.name for bore in bench.bores if bore.standing is not None}
    _check_bores(bench, chosen, stay)
    wanted = {one.bore: one for one in chosen}
    hours = hours_of(bench)
    if missing(bench):
        raise DomainError("height-not-read", "; ".join(missing(bench)), missing=list(missing(bench)))
    at_hand = {one.serial: one for one in bench.sets}
    free = [one for one in chosen if one.bore not in stay]
    for one in free:
        why = _why_not(bench, at_hand[one.serial], hours) if one.serial in at_hand else "it is not at hand for this job"
        if why:
            raise DomainError("layout-unusable", f"Set {one.serial}: {why}.", serial=one.serial)
    _check_stack(bench, chosen, ring_nm)
    bores = tuple(
        replace(bore, depths=_raised(bore.depths, wanted[bore.number].shim_nm)) if bore.number in wanted else bore
        for bore in bench.bores
    )
    limits = replace(bench.limits, shims_nm=(), rings_nm=(ring_nm,) if ring_nm else ())
    sets = [at_hand[one.serial] for one in free]
    homes = {one.serial: (one.bore, one.turn_deg) for one in free}
    found = _lay_out(
        replace(bench, bores=tuple(_as_chosen(one, wanted) for one in bores), limits=limits), sets, hours, homes
    )
    if isinstance(found, Layout):
        shims = {one.bore: one.shim_nm for one in chosen}
        placed = tuple(replace(one, shim_nm=shims.get(one.bore, 0)) for one in found.placed)
        found = replace(found, placed=placed)
    return _answer(bench, found, sets, hours, (), ())


def _check_bores(bench: Bench, chosen: Sequence[Chosen], stay: Mapping[int, str]) -> None:
    """Every bore that gets a set is named once; one whose liner stays may be named, with that liner, turned as it may be."""
    numbers = sorted(bore.number for bore in bench.bores if bore.standing is None)
    named = sorted(one.bore for one in chosen if one.bore not in stay)
    if named != numbers or len({one.bore for one in chosen}) != len(chosen):
        text = f"Bores {', '.join(map(str, numbers))} get a set: each is named once."
        raise DomainError("layout-unusable", text, bores=numbers)
    turns = {bore.number: turns_of(bore, bench.limits) for bore in bench.bores}
    for one in chosen:
        if one.bore in stay and (one.serial != stay[one.bore] or one.turn_deg not in turns[one.bore]):
            allowed = " or ".join(f"{turn}°" for turn in turns[one.bore])
            text = f"Bore {one.bore}: {stay[one.bore]} stays there, turned by {allowed}."
            raise DomainError("layout-unusable", text, bore=one.bore)


def _check_stack(bench: Bench, chosen: Sequence[Chosen], ring_nm: int) -> None:
    limits, cracked = bench.limits, {bore.number for bore in bench.bores if bore.ledge_cracked}
    stay = {bore.number for bore in bench.bores if bore.standing is not None}
    for one in chosen:
        if one.shim_nm and one.bore in cracked:
            text = f"Bore {one.bore}: no shim goes under a liner whose ledge is cracked."
            raise DomainError("stack-refused", text, shim_nm=one.shim_nm)
        if one.shim_nm and one.shim_nm not in limits.shims_nm:
            raise DomainError("stack-refused", f"Bore {one.bore}: such a shim is not allowed.", shim_nm=one.shim_nm)
        if one.bore not in stay and limits.turns_deg is not None and one.turn_deg not in limits.turns_deg:
            text = f"Bore {one.bore}: a turn of {one.turn_deg}° is not allowed."
            raise DomainError("heights-unusable", text, turn_deg=one.turn_deg)
    if ring_nm not in (limits.rings_nm or (0,)):
        raise DomainError("stack-refused", "Such a base ring is not allowed.", ring_nm=ring_nm)


def _raised(depths: Gauged, shim_nm: int) -> Gauged:
    """A bore whose shim lies in it already."""
    return replace(depths, points={hour: depth - shim_nm for hour, depth in depths.points.items()})


def _why_not(bench: Bench, one: SetAt, hours: Sequence[int]) -> str:
    """Why a set is not laid out; empty where it is."""
    if not one.heights.points:
        return "its liner was not gauged"
    if one.heights.at(hours) is None:
        return f"its liner was not read at {_clock(one.heights.lacking(hours))}"
    if bench.spread_mg is None:
        return ""
    if one.weight_mg is None:
        return "; ".join(one.weighing.doubts) or "the weight of its piston is not on record"
    weights = [Weighed(str(at), weight) for at, weight in enumerate(staying(bench)) if weight is not None]
    window = replacement_window(weights, bench.spread_mg) if weights else None
    if weights and (window is None or not window.holds(one.weight_mg)):
        return f"its piston is too far from those that stay: {window_said(weights, bench.spread_mg)}"
    return ""


def staying(bench: Bench) -> tuple[int | None, ...]:
    """Weights of the pistons that stay in the engine; None: not known."""
    return (*bench.elsewhere, *(bore.standing.weight_mg for bore in bench.bores if bore.standing is not None))


def _lay_out(
    bench: Bench,
    sets: Sequence[SetAt],
    hours: Sequence[int],
    homes: Mapping[str, tuple[int, int]] | None = None,
) -> Layout | NoLayout:
    """homes: set → the bore and the turn that it is to have."""
    return lay_out(task_of(bench, sets, hours, homes or {}))


def _as_chosen(bore: BoreAt, wanted: Mapping[int, Chosen]) -> BoreAt:
    """A bore whose liner stays and is named: turned as it is wanted."""
    if bore.standing is None or bore.number not in wanted:
        return bore
    return replace(bore, standing=replace(bore.standing, turns_deg=(wanted[bore.number].turn_deg,)))


def _rows(bench: Bench, sets: Sequence[SetAt]) -> list[Gauged]:
    """Everything that was read of these sets and of the bores."""
    return [one.heights for one in sets] + _of_bores(bench)


def _of_bores(bench: Bench) -> list[Gauged]:
    found = []
    for bore in bench.bores:
        found.append(read_of(bore, bench.limits))
        if bore.standing is not None and not directly(bore, bench.limits):
            found.append(bore.standing.heights)
    return found


def _answer(
    bench: Bench,
    found: Layout | NoLayout,
    sets: Sequence[SetAt],
    hours: tuple[int, ...],
    left_out: tuple[tuple[str, str], ...],
    try_next: tuple[str, ...],
) -> Proposal:
    by_serial = {one.serial: one for one in sets}
    allowance = allowance_of(bench, sets)
    if isinstance(found, NoLayout):
        ids = _ids([*_rows(bench, sets), *_weighings(bench, sets)])
        helps = (*(found.miss.help if found.miss else ()), *_recuts(bench, found, allowance))
        return Proposal(
            NONE, no_layout=found, not_considered=left_out, try_next=(*helps, *try_next), rests_on=ids, hours=hours,
            allowance_nm=allowance,
        )  # fmt: skip
    taken = [by_serial[one.serial] for one in found.placed if one.serial in by_serial]
    shift = max(row.shift_nm for row in (*(one.heights for one in taken), *_of_bores(bench)))
    doubts = [f"set {one.serial}: {doubt}" for one in taken for doubt in _doubts_of(bench, one)]
    doubts += _between(bench, found, by_serial, hours)
    scales = dict.fromkeys(doubt for row in _weighings(bench, ()) for doubt in row.doubts)
    doubts += [f"pistons that stay: {doubt}" for doubt in scales]
    doubts += [f"bores: {doubt}" for doubt in dict.fromkeys(one for row in _of_bores(bench) for one in row.doubts)]
    if bench.spread_mg is not None and None in bench.elsewhere:
        doubts.append("the weight of a piston under a head that stays closed is not known")
    layout = replace(found, certain=found.certain and not doubts, why=(*found.why, *doubts))
    return Proposal(
        CERTAIN if layout.certain else DOUBTFUL,
        layout=layout,
        not_considered=left_out,
        why=layout.why,
        try_next=() if layout.certain else try_next,
        rests_on=_ids([*(one.heights for one in taken), *_of_bores(bench), *_weighings(bench, taken)]),
        hours=hours,
        allowance_nm=allowance,
        notes=shift_said(shift),
    )


def _between(bench: Bench, found: Layout, by_serial: Mapping[str, SetAt], hours: Sequence[int]) -> list[str]:
    """Where a set and its bore were both read at more points than were compared, and one of these does not pass."""
    bores, doubts = {bore.number: bore for bore in bench.bores if bore.standing is None}, []
    for one in found.placed:
        if one.serial not in by_serial or one.bore not in bores:
            continue
        liner, under = by_serial[one.serial].heights, Under(one.shim_nm, found.ring_nm)
        every = stands(liner, bores[one.bore].depths, one.turn_deg, under, bench.limits)
        points = zip(every.hours, every.judgement.points, strict=True)
        bad = [hour for hour, verdict in points if hour not in hours and verdict is not Verdict.PASS]
        if bad:
            doubts.append(f"set {one.serial} in bore {one.bore}: its height at {_clock(bad)} does not pass")
    return doubts


def _recuts(bench: Bench, found: NoLayout, gauge_nm: int) -> list[str]:
    """Where a seat may be recut: how deep, and on which shim, for every bore of the nearest layout that is too high or too low."""
    if found.miss is None:
        return []
    deepest = {bore.number: bore.recut_nm for bore in bench.bores}
    wrong = {bore for one in found.miss.breaks if one.rule in ("too low", "too high") for bore in one.bores}
    return [
        f"Bore {one.bore} with {one.serial}: {way.said()}."
        for one in found.miss.placed
        if one.bore in wrong
        for way in recuts(
            [height - one.shim_nm for height in one.heights_nm], bench.limits, gauge_nm, deepest[one.bore]
        )
    ]


def _doubts_of(bench: Bench, one: SetAt) -> tuple[str, ...]:
    """What is doubtful about a set's readings; its weight counts where the family has a limit for it."""
    return (*one.heights.doubts, *(one.weighing.doubts if bench.spread_mg is not None else ()))


def _weighings(bench: Bench, sets: Iterable[SetAt]) -> list[Weighing]:
    """What the pistons that stay and those of these sets were weighed by; nothing where the family has no limit for weights."""
    if bench.spread_mg is None:
        return []
    stay = [bore.standing.weighing for bore in bench.bores if bore.standing is not None]
    return [*bench.elsewhere_weighed, *stay, *(one.weighing for one in sets)]


def _ids(rows: Iterable[Gauged | Weighing]) -> tuple[int, ...]:
    return tuple(sorted({one for row in rows for one in row.ids}))


def _try_next(bench: Bench, left_out: Mapping[str, str]) -> tuple[str, ...]:
    """What else there is to try: sets at hand that were not gauged, shims."""
    unread = sorted(serial for serial, why in left_out.items() if "its liner was not" in why)
    found = [f"Gauge the liners of {', '.join(unread)}, which are at hand too."] if unread else []
    if not bench.limits.shims_nm:
        found.append("No shim is allowed here: where no set suits, the seat is machined as the maker allows.")
    return tuple(found)


def _clock(hours: Iterable[int]) -> str:
    return f"{', '.join(map(str, hours))} o'clock"
