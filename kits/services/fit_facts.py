"""What a fitting is held against, read after the locks.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from inventory.domain.rubber import Lubricant
from inventory.models import Act, Balance, Item
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items
from kits.domain.engine_map import Position
from kits.domain.origins import Out
from kits.domain.procedures import Operation
from kits.domain.requirements import Key
from kits.domain.revisions import Newer
from kits.domain.standing_verdicts import SET_KIND, Said, Undecided
from kits.models import Extra, Job
from kits.queries.at_positions import fresh_at_bench, outs_of, words_on
from kits.queries.by_notice import shut_out
from kits.queries.job_list import JobList, job_list
from kits.queries.layouts import Binding
from kits.queries.leaks import leaked_on
from kits.queries.marks import bores_of
from kits.queries.reuse import procedures_of, rejected_of
from kits.queries.revisions import maker_stops
from kits.queries.rubber import lubricants_of
from kits.queries.served import JobPromise, promises_of
from kits.services.judged_rules import otherwise_than_judged, parts_under
from kits.services.layout_rules import bare_by_layout, binding_for
from kits.services.photo_rules import unlooked
from kits.services.seal_rules import Seals, seals_of, untested
from kits.services.shared import standing_at
from kits.services.verdict_rules import failing_under, open_under, verdicts_for


@dataclass(frozen=True, slots=True)
class FitIn:
    """One item into one use position; `amount` in whole base units, `make`: how many times the joint is made by this.

    lubricant   what rubber is fitted with: a word ("soap", "engine oil", "dry") or the number of a part; empty: not said
    tag, clock_deg, side  of an old part that goes back: its tag, the angle of its mark, the side of its number, as they are now;
                clock_deg of a new set: how far it is turned, clockwise seen from the head
    """

    position: str
    item: int
    amount: int = 1
    make: int = 1
    lubricant: str = ""
    tag: str = ""
    clock_deg: int | None = None
    side: str = ""

    @property
    def key(self) -> Key:
        """(position, make)."""
        return (self.position, self.make)


@dataclass(slots=True)
class Facts:
    """What every check of one fitting act looks at; `coming` counts the pieces of this act by position.

    elsewhere  part → the engine numbers that a notice leaves it to, where this engine's is none of them
    lubricants   what each lubricant that was said is, None where nobody knows
    reused  places in the request of old parts that are put back; layout  what the newest accepted layout binds
    bare  bores whose set comes in without the shim or base ring that the layout lays under it
    shut  positions that are not closed before a leak test was passed, and why none stands
    unlooked  positions that would close over what nobody else has seen good
    verdicts  those on clearance, ring gaps and heights that stand; failing  cylinder → the one by which its liner may not be closed over
    undecided  liners whose height is on no record, or doubtful
    otherwise  position → verdict on a height, and how the liner would go in otherwise than it was judged
    issued  (listed part, part promised in its place) for a key, candidates left out
    early_fill  a second person signed for a fill before the sealant has cured; signed_otherwise: likewise for what is otherwise
    maker_stops  keys at which the job works by a revision that a maker's bulletin stops
    doubts  what is doubtful about an old part that goes back; leaked  items of which a ring leaked on this job
    rejected  (item, position) of inspections that old parts did not pass: see `rejected_of`
    procedures  all of the family, where an old part goes back to a position that no line asks for
    """

    job: Job
    listed: JobList
    items: Mapping[int, Item]
    stopped: set[int]
    there: Mapping[str, list[Balance]]
    bores: Mapping[str, str]
    outs: Mapping[int, tuple[Out, ...]]
    words: Mapping[tuple[int, str], str]
    reused: set[int]
    places: Mapping[str, Position]
    issued: Mapping[Key, set[tuple[str, str]]]
    seals: Seals
    lubricants: Mapping[str, Lubricant | None]
    maker_stops: Mapping[Key, Newer]
    leaked: Collection[int] = ()
    rejected: Mapping[tuple[int, str], str] = field(default_factory=dict)
    procedures: Sequence[Operation] = ()
    layout: Binding | None = None
    bare: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    verdicts: Sequence[Said] = ()
    failing: Mapping[str, Said] = field(default_factory=dict)
    undecided: Sequence[Undecided] = ()
    shut: Mapping[str, str] = field(default_factory=dict)
    unlooked: Mapping[str, list[str]] = field(default_factory=dict)
    otherwise: Mapping[str, tuple[Said, tuple[str, ...]]] = field(default_factory=dict)
    early_fill: bool = False
    signed_otherwise: bool = False
    elsewhere: Mapping[int, str] = field(default_factory=dict)
    coming: dict[str, int] = field(default_factory=dict)
    doubts: dict[FitIn, tuple[str, ...]] = field(default_factory=dict)

    def came_from(self, item: int) -> tuple[str, ...]:
        """Use positions that an item came out of, as far as they are known."""
        return tuple(out.position for out in self.outs.get(item, ()) if out.position)


def facts_of(
    act: Act, job: Job, fittings: Sequence[FitIn], *, early_fill: bool = False, signed_otherwise: bool = False
) -> Facts:
    """Everything that a fitting is held against, read after the locks."""
    ids = {one.item for one in fittings}
    rows = Item.objects.filter(pk__in=ids).select_related("part", "lot", "serial__broken", "serial__match", "tube")
    items = {item.pk: item for item in rows}
    promises = promises_of(job)
    listed = job_list(job, shop_day(act.occurred_at))
    issued = _issued(promises)
    # A thing with a serial that was issued for this job stays new, fitted dry and taken out again or not.
    new = {promise.hold.item_id for promise in promises if promise.picked and promise.hold.item.single}
    outs = {item: rows for item, rows in outs_of(job).items() if item not in new}
    lost = [item for item in ids if any(not out.position for out in outs.get(item, ()))]
    reused = _reused(fittings, items, outs, fresh_at_bench(job, ids))
    positions, closing = {one.position for one in fittings}, listed.scope.family.facts.liners_closed_by
    coming = {one.position: items[one.item] for one in fittings if one.item in items}
    asked = listed.explosion.requirements
    verdicts = verdicts_for(job, items.values(), positions, closing, parts_under(listed))
    layout = binding_for(job, items.values())
    old = {fittings[at].position for at in reused}
    return Facts(
        job=job,
        listed=listed,
        items=items,
        stopped=stopped_items(ids),
        there=standing_at(job, [one.position for one in fittings]),
        bores=bores_of(job),
        outs=outs,
        words=words_on(job, lost) if lost else {},
        reused=reused,
        leaked={one.item_id for one in leaked_on(job)} if reused else (),
        rejected=rejected_of(job, ids, outs) if reused else {},
        procedures=procedures_of(listed.scope) if any(fittings[at].key not in asked for at in reused) else (),
        places={position.name: position for position in listed.scope.family.map.positions},
        issued=issued,
        seals=seals_of(
            act,
            listed,
            [(one.position, one.make) for one in fittings],
            [item.part_id for item in items.values() if item.base != "piece"],
        ),
        maker_stops=maker_stops(listed),
        layout=layout,
        bare=bare_by_layout(layout, listed, coming, issued),
        verdicts=verdicts,
        failing=failing_under(job, verdicts, positions, closing, coming),
        undecided=open_under(job, verdicts, positions, closing, coming, old),
        otherwise=otherwise_than_judged(
            listed, verdicts, layout, coming, _turned(fittings, coming, outs, old), old, issued
        ),
        shut=untested(job, listed, coming),
        unlooked=unlooked(job, listed, coming),
        early_fill=early_fill,
        signed_otherwise=signed_otherwise,
        elsewhere=shut_out(job.engine, {item.part_id for item in items.values()}),
        lubricants=lubricants_of({one.lubricant for one in fittings if one.lubricant}),
    )


def _issued(promises: Iterable[JobPromise]) -> dict[Key, set[tuple[str, str]]]:
    """Key → (listed part, part promised in its place), but what is only tried on."""
    found: dict[Key, set[tuple[str, str]]] = {}
    for promise in promises:
        for position, make, _ in () if promise.on_approval else promise.shares:
            found.setdefault((position, make), set()).add((promise.wanted, promise.hold.item.part.number))
    return found


def _turned(
    fittings: Sequence[FitIn], coming: Mapping[str, Item], outs: Mapping[int, tuple[Out, ...]], old: Collection[str]
) -> dict[str, int | None]:
    """Use position of a set → how far it is turned as it goes in: a new one from how it was read, an old one from how it stood."""
    found: dict[str, int | None] = {}
    for one in fittings:
        if one.position not in coming or coming[one.position].part.kind != SET_KIND:
            continue
        stood = outs[one.item][-1].clock_deg if one.position in old else 0
        now = one.clock_deg if one.position in old else one.clock_deg or 0
        found[one.position] = None if stood is None or now is None else (now - stood) % 360
    return found


def stands_in_for_damaged(job: Job, position: str, item: Item) -> bool:
    """Whether one more of this part was asked for there because what a fitted thing brought along was damaged, dropped or lost: a ring
    of a matched set is replaced by a recorded ring set, and the set stays whole."""
    rows = Extra.objects.filter(
        job=job,
        part=item.part_id,
        reason__in=(Extra.Reason.DAMAGED, Extra.Reason.DROPPED, Extra.Reason.LOST),
        act__corrected_by__isnull=True,
    )
    return any(position in row.positions for row in rows)


def _reused(
    fittings: Sequence[FitIn], items: Mapping[int, Item], came: Mapping[int, tuple[Out, ...]], fresh: Mapping[int, int]
) -> set[int]:
    """Which lines (by place in the request) put an old part back: what came out, once the new ones of its kind are used."""
    left, reused = dict(fresh), set()
    for at, one in enumerate(fittings):
        if one.item not in came or one.item not in items:
            continue
        if not items[one.item].single and left.get(one.item, 0) >= one.amount:
            left[one.item] -= one.amount
        else:
            reused.add(at)
    return reused
