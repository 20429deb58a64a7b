"""What sits in an engine by use position: now, on a day, as known on a day; and the gaps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, NamedTuple

from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.models import Movement
from inventory.queries import by_hand
from inventory.queries.by_hand import moment
from inventory.queries.days import last_of
from inventory.queries.snapshot import snapshot
from kits.models import Engine
from kits.queries.documents import newest_family


@dataclass(frozen=True, slots=True)
class MadeOf:
    """A member of a set that was matched again: the broken set, or the single part, that it came from."""

    member: str
    part: str
    serial: str


@dataclass(frozen=True, slots=True)
class Content:
    """What sits at a use position.

    kit          the opened kit it came out of (part and lot), empty for none
    amount       in `base` units
    since        when it came to the position; for what was found in the engine (`found`): when it was found, it is older
    recorded     since when our records have it; act_id, kind, by: the act and who recorded it
    fitter, checker, job, reused   as fitted; checker empty where none was needed
    lot_unknown  traced by lot, but its lot is not known: it counts as any lot of the part
    made_of      of a set that was matched again: where its members came from
    """

    position: str
    item_id: int
    part: str
    name: str
    lot: str
    serial: str
    member: str
    kit: str
    base: str
    amount: int
    since: datetime
    recorded: datetime
    act_id: int
    kind: str
    by: str
    fitter: str
    checker: str
    job: str
    reused: bool
    found: bool
    lot_unknown: bool
    made_of: tuple[MadeOf, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """A use position of the map at which nothing is recorded: `removed` when we took out what was there, else never known."""

    position: str
    removed: bool

    @property
    def said(self) -> str:
        """For a person."""
        return "removed, nothing fitted since" if self.removed else "not recorded"


class Arrival(NamedTuple):
    """An amount of an item that came to a position (or, in `history`, left it); `from_kind` is the kind of the other place."""

    pk: int
    position: str
    spot: int
    item: int
    amount: int
    act: int
    from_kind: str

    @property
    def found(self) -> bool:
        """It was there before our records."""
        return self.from_kind == PlaceKind.BEFORE_RECORDS


class ActSaid(NamedTuple):
    """When, what and by whom; `subject` is the job where the act was one of a job.

    corrects     the act that it takes back; taken_back: when it was recorded that it was itself taken back
    """

    occurred: datetime
    recorded: datetime
    kind: str
    by: str
    subject: str
    corrects: int | None
    taken_back: datetime | None

    def counts(self, on: datetime | None, known: datetime | None) -> bool:
        """It had happened by then, was known by then, takes nothing back, and was not yet known to be taken back."""
        return (
            self.corrects is None
            and (on is None or self.occurred <= on)
            and (known is None or self.recorded <= known)
            and (self.taken_back is None or (known is not None and self.taken_back > known))
        )


class ItemSaid(NamedTuple):
    """What a thing is, for a person; `matched`: id of the serial of a set that was matched again."""

    part: str
    name: str
    tracked_by: str
    lot: str | None
    serial: str | None
    member: str
    kit_part: str | None
    kit_lot: str | None
    base: str
    matched: int | None


class FittedSaid(NamedTuple):
    """On which job a thing was fitted, by whom, checked by whom, and whether it had been in use before."""

    job: str
    fitter: str
    checker: str | None
    reused: bool


Present = dict[tuple[str, int], int]


def engine_contents(
    engine: Engine, on: date | datetime | None = None, known: date | datetime | None = None
) -> tuple[Content, ...]:
    """What sits in an engine, in the order of the family's map; positions that left the map come last.

    on      at the end of that day (or at that moment): acts that had happened by then; None: now
    known   as our records had it at the end of that day: acts, and corrections, recorded by then; None: as known now

    Five queries (six for a past day), one more where a set of it was matched again, and one more where the family's map was never
    read by this process.
    """
    with snapshot():
        if on is None and known is None:
            standing, present = _standing_now(engine)
            acts = acts_of(standing)
            ins = counting(standing, acts)
        else:
            came, left, acts = history(engine)
            ins = counting(came, acts, on, known)
            present = _present(ins, counting(left, acts, on, known))
        newest = _newest(ins, present)
        items, fitted = items_of(newest.values()), fittings_of(newest.values())
        made_of = _made_of({item.matched for item in items.values() if item.matched is not None})
        rank = map_order(engine)
    contents = [
        _content(row, present[key], acts[row.act], items[row.item], fitted.get((row.act, row.item, row.spot)), made_of)
        for key, row in newest.items()
    ]
    return tuple(sorted(contents, key=lambda one: (rank.get(one.position, len(rank)), one.position, one.item_id)))


def not_recorded(
    engine: Engine, on: date | datetime | None = None, known: date | datetime | None = None
) -> tuple[Gap, ...]:
    """The use positions of the map at which nothing is recorded then, in map order: the gaps of `engine_contents`, named."""
    with snapshot():
        came, left, acts = history(engine)
        rank = map_order(engine)
    ins = counting(came, acts, on, known)
    present = _present(ins, counting(left, acts, on, known))
    full = {position for (position, _), amount in present.items() if amount > 0}
    touched = {row.position for row in ins}
    return tuple(Gap(name, name in touched) for name in rank if name not in full)


def _present(ins: Iterable[Arrival], outs: Iterable[Arrival]) -> Present:
    present: Present = defaultdict(int)
    for row in ins:
        present[row.position, row.item] += row.amount
    for row in outs:
        present[row.position, row.item] -= row.amount
    return present


#: From the index over what stands in the place to the arrivals at those spots. "+ 0" keeps the database from starting at the
#: item: of a washer that has no lot there are more movements than of all engines of a month.
_STANDING_NOW = """
    SELECT b.amount, m.id, s.name, m.to_spot_id, m.item_id, m.amount, m.act_id, p.kind
    FROM inventory_balance b
    JOIN inventory_spot s ON s.id = b.spot_id
    JOIN inventory_movement m ON m.to_spot_id = b.spot_id AND m.item_id + 0 = b.item_id
    JOIN inventory_spot f ON f.id = m.from_spot_id
    JOIN inventory_place p ON p.id = f.place_id
    WHERE b.place_id = %s AND b.amount > 0"""


def _standing_now(engine: Engine) -> tuple[list[Arrival], Present]:
    """What stands in the engine by the balances, and every arrival of those items at those spots."""
    present: Present = {}
    ins = []
    for amount, *came in by_hand.rows(_STANDING_NOW, [engine.place_id]):
        row = Arrival(*came)
        present[row.position, row.item] = amount
        ins.append(row)
    return ins, present


def history(engine: Engine) -> tuple[list[Arrival], list[Arrival], dict[int, ActSaid]]:
    """Everything that ever came to the engine's positions, everything that left them, and the acts. Three queries.

    The acts are asked for by what moved, never the other way round: of a shop's acts nearly all count, few are this engine's.
    """
    moved = []
    for here, there in (("to_spot", "from_spot"), ("from_spot", "to_spot")):
        rows = Movement.objects.filter(**{f"{here}__place": engine.place_id})
        values = rows.values_list(
            "pk", f"{here}__name", f"{here}_id", "item_id", "amount", "act_id", f"{there}__place__kind"
        )
        moved.append([Arrival(*row) for row in values])
    return moved[0], moved[1], acts_of([*moved[0], *moved[1]])


def counting(
    rows: Iterable[Arrival],
    acts: Mapping[int, ActSaid],
    on: date | datetime | None = None,
    known: date | datetime | None = None,
) -> list[Arrival]:
    """Of these movements those that count for what was there on a day, as known on a day; in the order of happening."""
    happened = None if on is None else last_of(on)
    recorded = None if known is None else last_of(known)
    kept = [row for row in rows if acts[row.act].counts(happened, recorded)]
    return sorted(kept, key=lambda row: (acts[row.act].occurred, row.pk))


_ACTS = """
    SELECT a.id, a.occurred_at, a.recorded_at, a.kind, u.username, a.subject, a.corrects_id, c.recorded_at
    FROM inventory_act a
    JOIN inventory_person u ON u.id = a.actor_id
    LEFT JOIN inventory_act c ON c.corrects_id = a.id
    WHERE a.id IN ({})"""


def acts_of(rows: Iterable[Arrival]) -> dict[int, ActSaid]:
    """The acts of these movements, by id."""
    found = _by_ids(_ACTS, {row.act for row in rows})
    return {
        pk: ActSaid(moment(occurred), moment(recorded), kind, by, subject, corrects, moment(taken_back))
        for pk, occurred, recorded, kind, by, subject, corrects, taken_back in found
    }


_ITEMS = """
    SELECT i.id, n.number, n.name, n.tracked_by, l.code, r.number, i.member, kn.number, kl.code, i.base, t.serial_id
    FROM inventory_item i
    JOIN inventory_part n ON n.id = i.part_id
    LEFT JOIN inventory_lot l ON l.id = i.lot_id
    LEFT JOIN inventory_serial r ON r.id = i.serial_id
    LEFT JOIN inventory_setmatch t ON t.serial_id = i.serial_id
    LEFT JOIN inventory_item k ON k.id = i.from_kit_id
    LEFT JOIN inventory_part kn ON kn.id = k.part_id
    LEFT JOIN inventory_lot kl ON kl.id = k.lot_id
    WHERE i.id IN ({})"""


def items_of(ins: Iterable[Arrival]) -> dict[int, ItemSaid]:
    """The items of these arrivals, by id."""
    return {row[0]: ItemSaid(*row[1:]) for row in _by_ids(_ITEMS, {row.item for row in ins})}


_MADE_OF = """
    SELECT x.match_id, x.member, n.number, r.number
    FROM inventory_setmatchmember x JOIN inventory_item i ON i.id = x.item_id JOIN inventory_part n ON n.id = i.part_id
    JOIN inventory_serial r ON r.id = i.serial_id WHERE x.match_id IN ({}) ORDER BY x.match_id, x.member"""


def _made_of(serials: Collection[int]) -> dict[int, tuple[MadeOf, ...]]:
    """Serial id of a set that was matched again → its members. Nothing is asked where there is none."""
    found: dict[int, tuple[MadeOf, ...]] = {}
    for serial, *member in _by_ids(_MADE_OF, serials):
        found[serial] = (*found.get(serial, ()), MadeOf(*member))
    return found


def _by_ids(sql: str, ids: Collection[int]) -> list[Any]:
    return by_hand.rows(sql.format(by_hand.marks(len(ids))), sorted(ids)) if ids else []


def _newest(ins: Sequence[Arrival], present: Mapping[tuple[str, int], int]) -> dict[tuple[str, int], Arrival]:
    """For all that is present, the arrival since which it is: what is left came last, so the newest arrivals that make it up."""
    open_amounts = {key: amount for key, amount in present.items() if amount > 0}
    found: dict[tuple[str, int], Arrival] = {}
    for came in reversed(ins):
        key = (came.position, came.item)
        if open_amounts.get(key, 0) > 0:
            found[key] = came
            open_amounts[key] -= came.amount
    return found


_FITTED = """
    SELECT f.act_id, f.item_id, f.spot_id, j.number, u.username, c.username, f.reused
    FROM kits_fitting f JOIN kits_job j ON j.id = f.job_id JOIN inventory_person u ON u.id = f.fitter_id
    LEFT JOIN inventory_person c ON c.id = f.checker_id
    WHERE f.act_id IN ({}) ORDER BY f.id DESC"""


def fittings_of(ins: Iterable[Arrival]) -> dict[tuple[int, int, int], FittedSaid]:
    """The fittings of these arrivals by (act, item, spot); of a joint made several times in one act, the first."""
    rows = _by_ids(_FITTED, {row.act for row in ins})
    return {row[:3]: FittedSaid(row[3], row[4], row[5], bool(row[6])) for row in rows}


def map_order(engine: Engine) -> dict[str, int]:
    """Use positions of the family's newest map, in map order."""
    family = newest_family(engine.family_id)
    return {} if family is None else {place.name: rank for rank, place in enumerate(family.map.positions)}


def _content(
    came: Arrival,
    amount: int,
    act: ActSaid,
    item: ItemSaid,
    fitted: FittedSaid | None,
    made_of: Mapping[int, tuple[MadeOf, ...]],
) -> Content:
    return Content(
        position=came.position,
        item_id=came.item,
        part=item.part,
        name=item.name,
        lot=item.lot or "",
        serial=item.serial or "",
        member=item.member,
        kit=" ".join(text for text in (item.kit_part, item.kit_lot) if text),
        base=item.base,
        amount=amount,
        since=act.occurred,
        recorded=act.recorded,
        act_id=came.act,
        kind=act.kind,
        by=act.by,
        fitter=fitted.fitter if fitted else "",
        checker=(fitted.checker or "") if fitted else "",
        job=fitted.job if fitted else act.subject,
        reused=fitted.reused if fitted else False,
        found=came.found,
        lot_unknown=item.tracked_by == Tracked.LOT and item.lot is None,
        made_of=made_of.get(item.matched, ()) if item.matched is not None else (),
    )
