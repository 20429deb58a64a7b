"""What must be right before a part may go in: the facts a fitting is held against, and the first rule that says no.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.rubber import Lubricant, good_lubricants, may_touch
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Balance, Item, Person
from inventory.queries.stock import stopped_items
from kits.domain.requirements import Key
from kits.domain.settled import SettledLine
from kits.models import Job
from kits.queries.at_positions import came_out, fresh_at_bench
from kits.queries.job_list import JobList, job_list
from kits.queries.marks import bores_of
from kits.queries.rubber import is_rubber, lubricant_unknown, lubricants_of, rubber_forbids
from kits.queries.served import promises_of
from kits.services.seal_rules import Seals, filled_early, seals_of, unsealed
from kits.services.shared import standing_at

#: Kinds that a second person looks at before they go in: sets and bearings (common practice).
CHECKED_KINDS = frozenset({"matched set", "bearing"})


@dataclass(frozen=True, slots=True)
class FitIn:
    """One item into one use position; `amount` in whole base units, `make`: how many times the joint is made by this.

    lubricant   what rubber is fitted with: a word ("soap", "engine oil", "dry") or the number of a part; empty: not said
    """

    position: str
    item: int
    amount: int = 1
    make: int = 1
    lubricant: str = ""


@dataclass(slots=True)
class Facts:
    """What every check of one fitting act looks at; `coming` counts the pieces of this act by position.

    lubricants   what each lubricant that was said is, None where nobody knows
    reused  places in the request of old parts that are put back; issued  parts promised for a key, candidates left out
    early_fill  a second person signed for a fill before the sealant has cured
    """

    job: Job
    listed: JobList
    items: Mapping[int, Item]
    stopped: set[int]
    there: Mapping[str, list[Balance]]
    bores: Mapping[str, str]
    came_from: Mapping[int, tuple[str, ...]]
    reused: set[int]
    sides: Mapping[str, str]
    issued: Mapping[Key, set[str]]
    seals: Seals
    lubricants: Mapping[str, Lubricant | None]
    early_fill: bool = False
    coming: dict[str, int] = field(default_factory=dict)


def facts_of(act: Act, job: Job, fittings: Sequence[FitIn], early_fill: bool) -> Facts:
    """Everything that a fitting is held against, read after the locks."""
    ids = {one.item for one in fittings}
    items = {
        item.pk: item
        for item in Item.objects.filter(pk__in=ids).select_related("part", "lot", "serial__broken", "tube")
    }
    promises = promises_of(job)
    listed = job_list(job)
    issued: dict[Key, set[str]] = {}
    for promise in promises:
        for position, make, _ in () if promise.on_approval else promise.shares:
            issued.setdefault((position, make), set()).add(promise.hold.item.part.number)
    # A thing with a serial that was issued for this job stays new, fitted dry and taken out again or not.
    new = {promise.hold.item_id for promise in promises if promise.picked and promise.hold.item.single}
    came = {item: positions for item, positions in came_out(job).items() if item not in new}
    return Facts(
        job=job,
        listed=listed,
        items=items,
        stopped=stopped_items(ids),
        there=standing_at(job, [one.position for one in fittings]),
        bores=bores_of(job),
        came_from=came,
        reused=_reused(fittings, items, came, fresh_at_bench(job, ids)),
        sides={position.name: position.side for position in listed.scope.family.map.positions},
        issued=issued,
        seals=seals_of(
            act,
            listed,
            [(one.position, one.make) for one in fittings],
            [item.part_id for item in items.values() if item.base != "piece"],
        ),
        early_fill=early_fill,
        lubricants=lubricants_of({one.lubricant for one in fittings if one.lubricant}),
    )


def _reused(
    fittings: Sequence[FitIn], items: Mapping[int, Item], came: Mapping[int, tuple[str, ...]], fresh: Mapping[int, int]
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


def check(act: Act, facts: Facts, fittings: Sequence[FitIn], checker: Person | None) -> None:
    """ManyErrors: of each line the first rule that says no."""
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(fittings, 1):
        problem = _problem(act, facts, one, checker, number - 1 in facts.reused)
        if problem is not None:
            errors.append((number, problem))
    if errors:
        raise ManyErrors(tuple(errors))


def _problem(act: Act, facts: Facts, one: FitIn, checker: Person | None, reused: bool) -> DomainError | None:
    item = facts.items.get(one.item)
    if item is None:
        return DomainError("not-found", f"There is no item {one.item}.", item=one.item)
    if one.amount <= 0:
        return DomainError(
            "amount-not-positive", f"{one.position}: an amount above zero is needed.", position=one.position
        )
    return (
        _half_or_broken(item, one)
        or _blocked(act, facts, item, one, reused)
        or _wrong_origin_or_bore(facts, item, one, reused)
        or _not_listed(facts, item, one, reused)
        or _wrong_fluid(facts, item, one)
        or _wrong_lubricant(facts, item, one)
        or _too_much(facts, item, one)
        or unsealed(facts.seals, one.position)
        or filled_early(facts.seals, one.position, act.occurred_at, facts.early_fill)
        or _position_taken(facts, item, one)
        or _unchecked(item, one, checker)
    )


def _label(item: Item) -> str:
    return item.called


def _half_or_broken(item: Item, one: FitIn) -> DomainError | None:
    if item.member:
        return DomainError(
            "half-a-set", f"{_label(item)} is the {item.member} of a set: half a set is never fitted.", item=item.pk
        )
    if item.serial is not None and getattr(item.serial, "broken", None) is not None:
        return DomainError("set-broken", f"Set {item.serial.number} is broken.", item=item.pk)
    return None


def _blocked(act: Act, facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    if item.pk in facts.stopped:
        return DomainError(
            "lot-stopped", f"{_label(item)} is stopped: it may not be fitted.", item=item.pk, position=one.position
        )
    use_by = item.tube.use_by if item.tube else item.lot.expires_on if item.lot and not reused else None
    if not usable_on(use_by, act.occurred_at.date()):
        return DomainError(
            "expired",
            f"{_label(item)} was usable through {use_by}.",
            item=item.pk,
            use_by=str(use_by),
            position=one.position,
        )
    return None


def _wrong_origin_or_bore(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    origins = facts.came_from.get(item.pk, ()) if reused else ()
    serial = item.serial.number if item.serial else ""
    marked = facts.bores.get(one.position)
    elsewhere = next((position for position, given in facts.bores.items() if serial and given == serial), None)
    if (marked is not None and marked != serial) or (elsewhere is not None and elsewhere != one.position):
        wanted = (
            f"{one.position} is marked for {marked}"
            if marked and marked != serial
            else f"{serial} is marked for {elsewhere}"
        )
        return DomainError(
            "wrong-bore",
            f"{serial or _label(item)} into {one.position}: {wanted}.",
            ways_out=("Check the marks on liner and block.", "Gauge again and record which set goes where."),
            position=one.position,
            item=item.pk,
        )
    if origins and one.position not in origins and (item.single or _original_place(facts, one)):
        return DomainError(
            "wrong-place-of-origin",
            f"{_label(item)} came out of {', '.join(origins)}; it goes back there, not into {one.position}.",
            position=one.position,
            came_from=list(origins),
        )
    return None


def _original_place(facts: Facts, one: FitIn) -> bool:
    requirement = facts.listed.explosion.requirements.get((one.position, one.make))
    return requirement is None or any(candidate.original_place for candidate in requirement.candidates)


def _not_listed(facts: Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
    key: Key = (one.position, one.make)
    requirement = facts.listed.explosion.requirements.get(key)
    if requirement is None:
        if reused and one.position in facts.came_from[item.pk]:
            return None
        return DomainError(
            "not-on-list",
            f"Nothing is listed for {one.position}" + (f" make {one.make}." if one.make > 1 else "."),
            ways_out=("Record the finding that asks for it.",),
            position=one.position,
        )
    if reused:
        return _may_not_reuse(facts, item, one)
    line = _settled(facts, key)
    if line is None:
        return _undecided(facts, key)
    allowed = {line.part} | facts.issued.get(key, set())
    if item.part.number not in allowed:
        return DomainError(
            "wrong-part",
            f"{one.position} takes {' or '.join(sorted(allowed))}, not {item.part.number}.",
            position=one.position,
            part=item.part.number,
            allowed=sorted(allowed),
        )
    return None


def _settled(facts: Facts, key: Key) -> SettledLine | None:
    return next((line for line in facts.listed.settled.lines if line.key == key), None)


def _undecided(facts: Facts, key: Key) -> DomainError:
    """A position that is on the map of the list, but takes nothing, or nobody knows yet what."""
    for choice in facts.listed.settled.open_choices:
        if key in choice.keys:
            offered = [part for _, parts in choice.candidates for part in parts]
            return DomainError(
                "choice-open",
                f"{key[0]}: {choice.text}: not chosen yet, of {', '.join(offered)}.",
                ways_out=("Record what was measured, or who decided.",),
                position=key[0],
                choice=choice.choice,
                candidates=offered,
            )
    if key in facts.listed.settled.left_out:
        return DomainError("not-on-list", f"{key[0]} takes nothing: that was chosen.", position=key[0])
    return DomainError("list-not-ready", f"A person has to decide first what {key[0]} takes.", position=key[0])


def _may_not_reuse(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    taken = {line.key for line in facts.listed.taken_off.taken}
    if (one.position, one.make) in taken:
        return None
    why = dict(facts.listed.taken_off.refused).get(one.position)
    lines = [line for line in facts.listed.settled.lines if line.key == (one.position, one.make)]
    if any(line.candidate.line_class == "always-new" for line in lines):
        return DomainError(
            "always-new", f"{one.position} is always new: {_label(item)} was in use.", position=one.position
        )
    return DomainError(
        "not-inspected",
        why or f"{_label(item)} was in use and no good inspection is recorded for {one.position}.",
        position=one.position,
        item=item.pk,
    )


def _wrong_fluid(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    why = rubber_forbids(item.part, facts.sides.get(one.position, "-"), one.position)
    return DomainError("wrong-rubber", why, position=one.position, part=item.part.number) if why else None


def _wrong_lubricant(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """Only where something was said: what was not said stays a gap in the record of the fitting."""
    if not one.lubricant:
        return None
    lubricant = facts.lubricants[one.lubricant]
    if lubricant is None:
        return lubricant_unknown(one.lubricant, one.position)
    if not is_rubber(item.part):
        return None
    answer = may_touch(item.part.compound, lubricant)
    good = good_lubricants(item.part.compound)
    if answer.allowed:
        return None
    return DomainError(
        "wrong-lubricant",
        f"{one.position}: {item.part.number}: {answer.reason}",
        ways_out=(f"Fit it with {' or '.join(good)}." if good else "Ask the maker what its rubber stands.",),
        position=one.position,
        part=item.part.number,
        lubricant=lubricant.value,
        allowed=[word.value for word in good],
    )


def _too_much(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """A piece goes where pieces are listed, no more of them than the position takes; a tube is opened before it is used."""
    line = _settled(facts, (one.position, one.make))
    if line is None or item.base != "piece":
        return None
    if line.candidate.amount.base != "piece":
        return DomainError(
            "tube-not-opened",
            f"{_label(item)} is closed by our records: {one.position} takes what is in it.",
            ways_out=("Open it under a number of its own.",),
            position=one.position,
            item=item.pk,
        )
    most = line.candidate.amount.amount
    if one.amount > most:
        return DomainError(
            "more-than-listed",
            f"{one.position} takes {most}, not {one.amount}, of {item.part.number}.",
            position=one.position,
            listed=most,
            asked=one.amount,
        )
    return None


def _position_taken(facts: Facts, item: Item, one: FitIn) -> DomainError | None:
    """Pieces that are in already, or come in by an earlier line of this act, and leave no room for these."""
    if item.base != "piece":
        return None
    line = _settled(facts, (one.position, one.make))
    most = line.candidate.amount.amount if line is not None else one.amount
    solid = [row for row in facts.there.get(one.position, []) if row.item.base == "piece"]
    other = next((row for row in solid if row.item.part_id != item.part_id), None)
    coming = facts.coming.get(one.position, 0)
    if other is None and sum(row.amount for row in solid) + coming + one.amount <= most:
        facts.coming[one.position] = coming + one.amount
        return None
    if not solid:
        return DomainError(
            "position-taken", f"{one.position} is fitted twice in this act.", position=one.position, item=item.pk
        )
    first = other or solid[0]
    return DomainError(
        "position-taken",
        f"{one.position} holds {_label(first.item)}.",
        ways_out=("Remove it first.",),
        position=one.position,
        item=first.item_id,
    )


def _unchecked(item: Item, one: FitIn, checker: Person | None) -> DomainError | None:
    if item.part.kind in CHECKED_KINDS and checker is None:
        return DomainError(
            "checker-missing",
            f"{one.position}: a second person checks {item.part.name.lower()}.",
            position=one.position,
        )
    return None
