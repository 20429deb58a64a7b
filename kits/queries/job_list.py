"""The list of a job: what must lie on the cart, in order of work, every unit with its because."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from inventory.domain.quantities import shown_amount
from inventory.domain.shelf_life import usable_on
from inventory.models import Part
from inventory.queries import by_hand
from inventory.queries.shop import Shop, shop
from inventory.queries.stock import Standing, on_shelves
from kits.domain.buying_in import worked_at
from kits.domain.changes import Changes, Entry, difference, entries
from kits.domain.choices import settle
from kits.domain.families import USE_UP
from kits.domain.fills import fill_questions
from kits.domain.listing import ListLine, candidates_of, lines_of, parts_named, special_tools
from kits.domain.modified import number_questions
from kits.domain.repaired_threads import as_repaired, insert_parts
from kits.domain.requirements import Conflict, Explosion, Key
from kits.domain.settled import Settled, TakenOff, take_off
from kits.domain.size_questions import Record, size_questions
from kits.domain.sizes import standing_sizes
from kits.domain.stand_ins import as_said
from kits.models import Job
from kits.queries.by_notice import number_sentence, shut_out, stands_in
from kits.queries.scope import Scope, known_findings, scope_of
from kits.queries.standing_verdicts import LeftOut, sort_out

#: What a part says of itself in documents of its own: no list asks for it, and there are hundreds of parts.
_DOCUMENTS = ("facts", "life", "ring", "storage")


@dataclass(frozen=True, slots=True)
class JobList:
    """A list with what it was computed from. `standings` are all shelf items of its parts at the job's site (none where the list
    was computed without them).

    fit_day     the day against which stock is judged: of fitting as planned, or the day asked about, once that has passed
    sorted_out  what stands on the shelves and does not go into this engine, by measurement or by a notice of its replacement
    candidates  lines of measured choices that are still open: all go along on approval; numbered with `lines`, in order of work
    """

    scope: Scope
    shop: Shop
    explosion: Explosion
    settled: Settled
    taken_off: TakenOff
    lines: tuple[ListLine, ...]
    candidates: tuple[ListLine, ...]
    parts: Mapping[str, Part]
    standings: tuple[Standing, ...]
    fit_day: date
    sorted_out: tuple[LeftOut, ...]

    @property
    def job(self) -> Job:
        """The job."""
        return self.scope.job

    @property
    def tools(self) -> dict[str, tuple[str, ...]]:
        """Special tools to lend, each with its steps."""
        return special_tools(self.lines)

    @property
    def conflicts(self) -> tuple[Conflict, ...]:
        """Conflicts shown with the list."""
        return self.settled.conflicts

    @property
    def revisions(self) -> dict[str, int]:
        """Procedures and family by code, each with the revision that the list was made from."""
        return {self.scope.family.code: self.scope.family.revision, **dict(self.explosion.revisions)}

    def entries(self) -> dict[tuple[str, int], Entry]:
        """The list as `difference` compares it."""
        taken = frozenset(line.key for line in self.taken_off.taken)
        skipped = frozenset(key for key in self.explosion.requirements if key[0] in self.scope.not_needed)
        return entries(self.explosion, self.settled, taken | skipped)


@dataclass(frozen=True, slots=True)
class Basis:
    """What a list is computed from besides stock: it changes only under the lock of its job."""

    scope: Scope
    shop: Shop
    explosion: Explosion
    parts: Mapping[str, Part]
    sits: Mapping[str, str]


def job_list(
    job: Job, on: date, upto_act: int | None = None, with_waiting: bool = False, stock: bool = True
) -> JobList:
    """Compute the list of a job.

    on            the day of the act or of the question: stock is judged on it where the day of fitting has passed
    upto_act      as it stood when that act was recorded: for "what changed since the last list"
    with_waiting  as it will be once the owner has agreed to the extra work
    stock         False: what stands on the shelves is left out, unless a choice of the list depends on it
    Fourteen queries at most, whatever the length of the list; four more where something was judged of a set on the shelves.
    """
    return list_on(list_basis(job, upto_act, with_waiting), on, stock)


def list_basis(job: Job, upto_act: int | None = None, with_waiting: bool = False) -> Basis:
    """Everything of a list but the stock that its choices and its lots depend on. Eleven queries at most."""
    return basis_of(scope_of(job, upto_act), with_waiting)


def basis_of(scope: Scope, with_waiting: bool = False) -> Basis:
    """The same of a scope as it is, or as it would be under other revisions."""
    explosion = scope.explosion(with_waiting)
    numbers = parts_named(explosion) | {one.part for one in scope.recorded if one.part}
    numbers |= insert_parts(scope.family.sizes, scope.sizes)
    parts = {part.number: part for part in by_hand.objects(Part, "number", numbers, leave=_DOCUMENTS)}
    return Basis(scope, shop(), explosion, parts, sits_in(scope.job))


def list_on(basis: Basis, on: date, stock: bool = True) -> JobList:
    """The list with the stock that stands on the shelves now, or, where no choice depends on it, without.
    Two queries at most, one more where sets stand there, two where a notice limits what stands there."""
    scope, explosion, parts, job = basis.scope, basis.explosion, basis.parts, basis.scope.job
    day = job.fit_day(on)
    by_stock = any(scope.family.choices[code].by == USE_UP for code in explosion.choice_parts)
    shelves = on_shelves([part.pk for part in parts.values()], job.site_id) if stock or by_stock else []
    standings, sorted_out = _for_engine(scope, parts, shelves)
    settled = settle(explosion, free_for(day, basis.shop, parts, standings), scope.recorded, basis.sits)
    settled = as_said(
        settled,
        scope.recorded,
        lambda old, new: stands_in(job.engine, old, parts[new]) if new in parts else None,
    )
    if job.engine.field_modified:
        settled = replace(settled, conflicts=settled.conflicts + number_questions(explosion, settled, scope.recorded))
    if scope.sizes:
        settled = as_repaired(scope.family.sizes, scope.sizes, settled, scope.recorded, parts, scope.family.map)
        questions = size_questions(record_of(scope, explosion), settled)
        settled = replace(settled, conflicts=settled.conflicts + questions)
    if filled := fill_questions(scope.family.facts.fills, settled, scope.recorded):
        settled = replace(settled, conflicts=settled.conflicts + filled)
    taken = take_off(settled, scope.reuse)
    offered = candidates_of(explosion, taken.settled)
    every = lines_of(taken.settled, scope.operations, scope.not_needed, candidates=offered)
    lines, candidates = (tuple(one for one in every if one.on_approval is which) for which in (False, True))
    return JobList(scope, basis.shop, explosion, settled, taken, lines, candidates, parts, standings, day, sorted_out)


def _for_engine(
    scope: Scope, parts: Mapping[str, Part], shelves: Sequence[Standing]
) -> tuple[tuple[Standing, ...], tuple[LeftOut, ...]]:
    """What of the shelves may go into the engine, and what may not: by what was measured of sets, by notices of replacements.
    No query where neither sets nor parts that a notice limits stand there."""
    standings, sorted_out = sort_out(scope.family, shelves, scope.job.number)
    shut = shut_out(scope.job.engine, {row.part_id for row in standings if row.limited})
    if not shut:
        return standings, sorted_out
    numbers = {part.pk: number for number, part in parts.items()}
    others = tuple(
        LeftOut("", numbers[pk], number_sentence(scope.job.engine, numbers[pk], said)) for pk, said in shut.items()
    )
    return tuple(row for row in standings if row.part_id not in shut), sorted_out + others


def record_of(scope: Scope, explosion: Explosion) -> Record:
    """The record of the engine's sizes as the job meets it."""
    family = scope.family
    return Record(family.sizes, scope.sizes, scope.job.number, explosion.closure, scope.recorded, family.map)


def to_buy_in(listed: JobList) -> list[dict[str, Any]]:
    """What is to be bought in, is needed, and has no part named yet, in map order; `step` is where it is worked ("": at none)."""
    found = []
    for one in listed.explosion.buy_ins:
        key = one.position, 1
        listed_too = key in listed.explosion.requirements and key not in listed.settled.left_out
        if listed_too or one.position in listed.scope.not_needed:
            continue
        work = worked_at(one.position, listed.scope.operations)
        found.append(
            {
                "position": one.position,
                "amount": one.amount.amount,
                "base": one.amount.base,
                "shown": shown_amount(one.amount.amount, one.amount.base),
                "text": one.text,
                "because": " → ".join(one.chain),
                "step": f"{work[0]}/{work[1]}" if work else "",
            }
        )
    return found


def sits_in(job: Job) -> dict[str, str]:
    """Use position → part that sits there by our records: what stays must be of the kind that is chosen. One query."""
    return dict(by_hand.rows(_SITS, [job.engine.place_id]))


_SITS = """
    SELECT s.name, p.number
    FROM inventory_balance b
    JOIN inventory_item i ON i.id = b.item_id
    JOIN inventory_spot s ON s.id = b.spot_id
    JOIN inventory_part p ON p.id = b.part_id
    WHERE b.place_id = %s AND b.amount > 0 AND i.base = 'piece' ORDER BY b.id"""


def free_for(day: date, settings: Shop, parts: Mapping[str, Part], standings: tuple[Standing, ...]) -> dict[str, int]:
    """Free unopened stock by part number that is good on a day of fitting with the margin to spare."""
    numbers = {part.pk: number for number, part in parts.items()}
    free = dict.fromkeys(parts, 0)
    for row in standings:
        if not row.stopped and not row.tube_number and usable_on(row.use_by, day, settings.margin_days):
            free[numbers[row.part_id]] += row.free
    return free


def changes_since(now: JobList, before: JobList) -> Changes:
    """What changed between two lists of one job, by use position."""
    return difference(before.entries(), now.entries(), before.revisions, now.revisions)


def document(listed: JobList) -> dict[str, Any]:
    """The list as JSON: lines in order of work, open choices, conflicts, what is bought in, what waits, special tools."""
    return {
        "job": listed.job.number,
        "engine": listed.job.engine.number,
        "family": listed.scope.family.code,
        "fit_on": listed.job.fit_on.isoformat(),
        "revisions": [{"procedure": code, "revision": revision} for code, revision in listed.explosion.revisions],
        "findings": known_findings(listed.scope.findings),
        "waiting_for_owner": known_findings(listed.scope.waiting),
        "complete": listed.settled.complete,
        "lines": [line_document(line, listed.parts[line.part]) for line in listed.lines],
        "on_approval": [line_document(line, listed.parts[line.part]) for line in listed.candidates],
        "open_choices": [
            {
                "choice": one.choice,
                "place": one.place,
                "text": one.text,
                "by": one.by,
                "rule": one.rule,
                "positions": [key[0] for key in one.keys],
                "candidates": [{"alternative": name, "parts": list(members)} for name, members in one.candidates],
            }
            for one in listed.settled.open_choices
        ],
        "conflicts": [
            {
                "kind": one.kind,
                "position": one.position,
                "make": one.make,
                "detail": one.detail,
                "parts": list(one.parts),
                "needs_person": one.needs_person,
            }
            for one in listed.conflicts
        ],
        "buy_in": to_buy_in(listed),
        "empty_operations": [{"procedure": code, "why": why} for code, why in listed.explosion.empty_operations],
        "joins": [{"procedure": code, "because": " → ".join(chain)} for code, chain in listed.explosion.joins],
        "unserved_findings": known_findings(listed.explosion.unserved),
        "reused": [{"position": line.position, "part": line.part} for line in listed.taken_off.taken],
        "reuse_refused": [{"position": position, "why": why} for position, why in listed.taken_off.refused],
        "not_needed": [{"position": name, "because": why} for name, why in sorted(listed.scope.not_needed.items())],
        "tools": [{"tool": tool, "steps": list(steps)} for tool, steps in listed.tools.items()],
        "sizes": [
            asdict(one)
            for one in standing_sizes(listed.scope.family.sizes, listed.scope.sizes, listed.scope.family.map)
        ]
        if listed.scope.sizes
        else [],
    }


def line_document(line: ListLine, part: Part) -> dict[str, Any]:
    """One line as JSON."""
    return {
        "line": line.number,
        "procedure": line.operation,
        "step": line.step,
        "tray": line.tray,
        "part": line.part,
        "name": part.name,
        "amount": line.amount,
        "base": line.base,
        "shown": shown_amount(line.amount, line.base),
        "how": line.how,
        "class": line.line_class,
        "positions": list(line.positions),
        "because": list(line.becauses),
        "chosen": line.reason,
        "on_approval": line.on_approval,
        "tools": list(line.tools),
        "notes": list(line.notes),
        "cautions": list(line.cautions) + ([part.hazard_note] if part.hazard_note else []),
    }


def changes_document(changes: Changes, unasked: Iterable[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """What changed, as JSON: added, removed, changed positions with their parts; `kept` as a count.

    unasked  what is held and no longer asked for (`unasked_rows`): a position that was removed or changed names its holds in `held`
    """
    holds: dict[str, list[int]] = {}
    for row in unasked:
        for name in row["positions"]:
            holds.setdefault(name, []).append(row["hold"])

    def held(key: Key) -> dict[str, Any]:
        return {"held": holds.get(key[0] if key[1] == 1 else f"{key[0]} (make {key[1]})", [])}

    def entry(value: Entry) -> dict[str, Any]:
        return {
            "parts": list(value.parts), "amount": value.amount, "base": value.base,
            "shown": shown_amount(value.amount, value.base), "class": value.line_class,
        }  # fmt: skip

    return {
        "added": [{"position": key[0], "make": key[1], **entry(value)} for key, value in changes.added],
        "removed": [
            {"position": key[0], "make": key[1], **entry(value), **held(key)} for key, value in changes.removed
        ],
        "changed": [
            {"position": key[0], "make": key[1], "before": entry(before), "after": entry(after), **held(key)}
            for key, before, after in changes.changed
        ],
        "kept": len(changes.kept),
        "revisions": list(changes.sentences()),
    }
