"""Fitting: bench to use position, with everything that must be right before a part may go in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Balance, Item, Person
from inventory.queries.stock import stopped_items
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.requirements import Key
from kits.models import Fitting, Job, JobChoice
from kits.queries.at_positions import came_out, fresh_at_bench
from kits.queries.documents import family_of
from kits.queries.job_list import JobList, job_list
from kits.queries.mixing import mixed_on_job
from kits.queries.served import promises_of
from kits.queries.substitutes import rubber_forbids
from kits.services.shared import check_positions, open_job, standing_at, touch

#: Kinds that a second person looks at before they go in: sets and bearings (common practice).
CHECKED_KINDS = frozenset({"matched set", "bearing"})
BORE = JobChoice.BORE


@dataclass(frozen=True, slots=True)
class FitIn:
    """One item into one use position; `amount` in whole base units, `make`: how many times the joint is made by this."""

    position: str
    item: int
    amount: int = 1
    make: int = 1


@dataclass(slots=True)
class _Facts:
    """What every check of one fitting act looks at."""

    job: Job
    listed: JobList
    items: Mapping[int, Item]
    stopped: set[int]
    there: Mapping[str, list[Balance]]
    bores: Mapping[str, str]
    came_from: Mapping[int, tuple[str, ...]]
    reused: set[int]
    sides: Mapping[str, str]
    issued: Mapping[tuple[str, int], set[str]]


def set_bores(*, actor: Person, stamp: Stamp, job: str, bores: Mapping[str, str], reason: str) -> Done:
    """Say which set goes into which bore (use position → serial); fitting refuses anything else from then on.

    A new word for a bore or a set replaces the earlier one; it needs its reason. Outcome: {"bores": {...}}.
    """
    if not reason.strip():
        raise DomainError("reason-missing", "Which set goes where needs its reason: the gauging, or who decided.")

    def work(act: Act) -> Body:
        row = open_job(job)
        check_positions(row, sorted(bores))
        if len(set(bores.values())) < len(bores):
            raise DomainError("set-twice", "One set was given to two bores.", bores=dict(bores))
        JobChoice.objects.bulk_create(
            [
                JobChoice(job=row, act=act, choice=BORE, place=position, alternative=serial, reason=reason)
                for position, serial in sorted(bores.items())
            ]
        )
        touch(row)
        return {"bores": dict(sorted(bores.items()))}

    return run(
        "set bores", work, actor=actor, stamp=stamp, request={"job": job, "bores": dict(bores), "reason": reason},
        subject=job, reason=reason,
    )  # fmt: skip


def fit(*, actor: Person, stamp: Stamp, job: str, fittings: Sequence[FitIn], checker: Person | None = None) -> Done:
    """Fit parts from the job's bench into the engine.

    checker  the second person; needed for sets and bearings, never the fitter, and with the right to check

    Raises ManyErrors; each line with the first rule that says no: "position-unknown", "not-on-list", "wrong-part",
    "wrong-bore", "half-a-set", "set-broken", "lot-stopped", "expired", "wrong-rubber", "always-new", "wrong-place-of-origin",
    "position-taken", "checker-missing", "not-there"; "same-person", "may-not-check", "mixed" for the whole act.
    Sealant and fluids that are fitted over old ones: the old content is scrapped in the same act (it was cleaned off).
    Outcome: {"fitted": [{position, item, part, lot, serial, amount, make, reused}], "cleaned_off": [...]}.
    """
    if not fittings:
        raise DomainError("nothing-given", "Nothing was fitted.")
    if checker is not None and checker.pk == actor.pk:
        raise DomainError("same-person", "Fitter and checker are two people.", person=str(actor))
    if checker is not None and not checker.has_perm("kits.act_check"):
        raise DomainError("may-not-check", f"{checker} may not check.", person=str(checker))

    def work(act: Act) -> Body:
        row = open_job(job)
        check_positions(row, [one.position for one in fittings])
        facts = _facts(row, fittings)
        _check(act, facts, fittings, checker)
        clash = mixed_on_job(row, {one.position: facts.items[one.item].part.number for one in fittings})
        if clash:
            raise DomainError("mixed", "; ".join(one["why"] for one in clash), conflicts=clash)
        body = _write(act, facts, fittings, actor, checker)
        touch(row)
        return body

    request = {"job": job, "fittings": [asdict(one) for one in fittings], "checker": checker.pk if checker else None}
    return run("fit", work, actor=actor, stamp=stamp, request=request, subject=job)


def _facts(job: Job, fittings: Sequence[FitIn]) -> _Facts:
    ids = {one.item for one in fittings}
    items = {
        item.pk: item
        for item in Item.objects.filter(pk__in=ids).select_related("part", "lot", "serial__broken", "tube")
    }
    bores = {
        row.place: row.alternative
        for row in JobChoice.objects.filter(job=job, choice=BORE, act__corrected_by__isnull=True).order_by("pk")
    }
    came = came_out(job)
    listed = job_list(job)
    issued: dict[tuple[str, int], set[str]] = {}
    for promise in promises_of(job):
        for position, make, _ in promise.shares:
            issued.setdefault((position, make), set()).add(promise.hold.item.part.number)
    family = family_of(job.family_revision)
    return _Facts(
        job=job,
        listed=listed,
        items=items,
        stopped=stopped_items(ids),
        there=standing_at(job, [one.position for one in fittings]),
        bores=bores,
        came_from=came,
        reused=_reused(fittings, items, came, fresh_at_bench(job, ids)),
        sides={position.name: position.side for position in family.map.positions},
        issued=issued,
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


def _check(act: Act, facts: _Facts, fittings: Sequence[FitIn], checker: Person | None) -> None:
    errors: list[tuple[int, DomainError]] = []
    seen: set[str] = set()
    for number, one in enumerate(fittings, 1):
        problem = _problem(act, facts, one, checker, seen, number - 1 in facts.reused)
        seen.add(f"{one.position}/{one.make}")
        if problem is not None:
            errors.append((number, problem))
    if errors:
        raise ManyErrors(tuple(errors))


def _problem(
    act: Act, facts: _Facts, one: FitIn, checker: Person | None, seen: set[str], reused: bool
) -> DomainError | None:
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
        or _position_taken(facts, item, one, seen)
        or _unchecked(item, one, checker)
    )


def _label(item: Item) -> str:
    return f"{item.part.number} {item.identity}"


def _half_or_broken(item: Item, one: FitIn) -> DomainError | None:
    if item.member:
        return DomainError(
            "half-a-set", f"{_label(item)} is the {item.member} of a set: half a set is never fitted.", item=item.pk
        )
    if item.serial is not None and getattr(item.serial, "broken", None) is not None:
        return DomainError("set-broken", f"Set {item.serial.number} is broken.", item=item.pk)
    return None


def _blocked(act: Act, facts: _Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
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


def _wrong_origin_or_bore(facts: _Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
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


def _original_place(facts: _Facts, one: FitIn) -> bool:
    requirement = facts.listed.explosion.requirements.get((one.position, one.make))
    return requirement is None or any(candidate.original_place for candidate in requirement.candidates)


def _not_listed(facts: _Facts, item: Item, one: FitIn, reused: bool) -> DomainError | None:
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
    allowed = {line.part for line in facts.listed.settled.lines if line.key == key} | facts.issued.get(key, set())
    allowed = allowed or {candidate.part for candidate in requirement.candidates}
    if item.part.number not in allowed:
        return DomainError(
            "wrong-part",
            f"{one.position} takes {' or '.join(sorted(allowed))}, not {item.part.number}.",
            position=one.position,
            part=item.part.number,
            allowed=sorted(allowed),
        )
    return None


def _may_not_reuse(facts: _Facts, item: Item, one: FitIn) -> DomainError | None:
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


def _wrong_fluid(facts: _Facts, item: Item, one: FitIn) -> DomainError | None:
    why = rubber_forbids(item.part, facts.sides.get(one.position, "-"), one.position)
    return DomainError("wrong-rubber", why, position=one.position, part=item.part.number) if why else None


def _position_taken(facts: _Facts, item: Item, one: FitIn, seen: set[str]) -> DomainError | None:
    if f"{one.position}/{one.make}" in seen and item.single:
        return DomainError("position-taken", f"{one.position} is fitted twice in this act.", position=one.position)
    solid = [row for row in facts.there.get(one.position, []) if row.item.base == "piece" and row.item_id != item.pk]
    if solid and item.base == "piece":
        return DomainError(
            "position-taken",
            f"{one.position} holds {_label(solid[0].item)}.",
            ways_out=("Remove it first.",),
            position=one.position,
            item=solid[0].item_id,
        )
    return None


def _unchecked(item: Item, one: FitIn, checker: Person | None) -> DomainError | None:
    if item.part.kind in CHECKED_KINDS and checker is None:
        return DomainError(
            "checker-missing",
            f"{one.position}: a second person checks {item.part.name.lower()}.",
            position=one.position,
        )
    return None


def _write(act: Act, facts: _Facts, fittings: Sequence[FitIn], actor: Person, checker: Person | None) -> Body:
    spots = things.spots(facts.job.engine.place, [one.position for one in fittings])
    bench = things.spot(facts.job.bench)
    scrap = things.books_only(PlaceKind.SCRAP)
    fitted, cleaned, moves, rows = [], [], [], []
    for position in dict.fromkeys(one.position for one in fittings if facts.items[one.item].base != "piece"):
        for old in facts.there.get(position, []):
            if old.item.base != "piece":
                moves.append(Move(old.item, old.amount, spots[position], scrap))
                cleaned.append(
                    {"position": position, "part": old.item.part.number, "item": old.item_id, "amount": old.amount}
                )
    for at, one in enumerate(fittings):
        item = facts.items[one.item]
        moves.append(Move(item, one.amount, bench, spots[one.position]))
        reused = at in facts.reused
        rows.append(
            Fitting(
                job=facts.job, act=act, item=item, spot=spots[one.position], amount=one.amount, make=one.make, reused=reused,
                fitter=actor, checker=checker,
            )
        )  # fmt: skip
        fitted.append(
            {
                "position": one.position,
                "item": item.pk,
                "part": item.part.number,
                "lot": item.lot.code if item.lot else "",
                "serial": item.serial.number if item.serial else "",
                "amount": one.amount,
                "make": one.make,
                "reused": reused,
            }
        )
    post(act, moves)
    Fitting.objects.bulk_create(rows)
    return {"fitted": fitted, "cleaned_off": cleaned}
