"""Which old parts were inspected and may go back: what counts of the words on them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from inventory.domain.errors import DomainError
from inventory.models import Balance, Movement
from kits.domain.origins import Out
from kits.domain.procedures import Operation
from kits.domain.requirements import Key
from kits.domain.settled import Reuse
from kits.models import Inspection, Job, ProcedureRevision
from kits.queries.at_positions import outs_of, words_on
from kits.queries.documents import newest_family, operation_of

if TYPE_CHECKING:
    from kits.queries.scope import Scope


class _Lies(NamedTuple):
    """Where an item is: a spot's name in the engine, empty at the bench."""

    item: int
    position: str


def reuse_of(job: Job, upto_act: int | None = None) -> dict[Key, Reuse]:
    """The newest inspection of each position that was passed, with the item that it speaks of.

    A word on a position without an item speaks of what came out of there last. It counts while that item is at the bench or in its
    place: what was scrapped, given back or fitted elsewhere is asked for anew. A thing that there is one of goes back by its newest word
    alone. Where a part came from its last removal says; one of unknown place counts as from where the maker's word lets it go.
    Five queries at most.
    """
    rows = [
        row
        for row in Inspection.objects.filter(job=job, act__corrected_by__isnull=True).order_by("pk")
        if upto_act is None or row.act_id <= upto_act
    ]
    outs = outs_of(job)
    last_out = {out.position: item for item, its in outs.items() for out in its if out.position}
    came_from = {item: its[-1].position for item, its in outs.items()}
    lost = [item for item, position in came_from.items() if not position]
    words = words_on(job, lost) if lost else {}
    newest: dict[str, Inspection] = {row.position: row for row in rows}
    last_word = {row.item_id: row for row in rows if row.item_id is not None and _alone(row.item_id, outs)}
    lying = _lying(
        job, {item for row in newest.values() if (item := row.item_id or last_out.get(row.position))}, upto_act
    )
    reuse: dict[Key, Reuse] = {}
    for row in sorted(newest.values(), key=lambda row: row.pk):
        item = row.item_id or last_out.get(row.position)
        if not row.good or _overruled(row, last_word) or not _take(lying, item, row.position):
            continue
        origin = row.position if row.item_id is None else came_from.get(row.item_id, "")
        if (row.item_id, row.position) in words:
            origin = row.position
        reuse[row.position, 1] = Reuse(
            position=row.position,
            came_from=origin,
            inspection=f"{row.result} against {row.limit}",
            passed=True,
            item=item,
        )
    return reuse


def _overruled(row: Inspection, last_word: Mapping[int, Inspection]) -> bool:
    """Whether the item was looked at again since, for another position."""
    return row.item_id is not None and last_word.get(row.item_id, row) is not row


def rejected_of(job: Job, items: Collection[int], outs: Mapping[int, Sequence[Out]]) -> dict[tuple[int, str], str]:
    """(item, position) → how the newest word rejected it there; of a thing that there is one of under (item, ""), wherever it was
    looked at. One query.

    outs  what came out, item by item: a word on a position without an item speaks of what came out of there last
    """
    last_out = {out.position: item for item, its in outs.items() for out in its if out.position}
    found: dict[tuple[int, str], str] = {}
    for row in Inspection.objects.filter(job=job, act__corrected_by__isnull=True).order_by("pk"):
        item = row.item_id or last_out.get(row.position)
        if item is None or item not in items:
            continue
        name = (item, "" if _alone(item, outs) else row.position)
        if row.good:
            found.pop(name, None)
        else:
            found[name] = f"{row.result} against {row.limit}"
    return found


def procedures_of(scope: Scope) -> tuple[Operation, ...]:
    """Every procedure of the engine's family: those of the job as it works by them, the others in their newest revision.

    Two queries. DomainError "procedure-unusable" where one suits neither the job's revision of the family nor the newest.
    """
    booked = {operation.code for operation in scope.operations}
    rows = ProcedureRevision.objects.filter(procedure__family=scope.job.engine.family_id)
    newest = {
        row.procedure.code: row
        for row in rows.select_related("procedure").defer("document").order_by("procedure__code", "revision")
    }
    others = []
    for code, row in newest.items():
        if code in booked:
            continue
        try:
            others.append(operation_of(row, scope.family))
        except DomainError:
            others.append(operation_of(row, newest_family(scope.job.engine.family_id) or scope.family))
    return (*scope.operations, *others)


def _alone(item: int, outs: Mapping[int, Sequence[Out]]) -> bool:
    """Whether there is one of the item: what is not told apart and came out of several positions is many under one name."""
    return len({out.position for out in outs.get(item, ())}) <= 1


def _take(lying: dict[_Lies, int], item: int | None, position: str) -> bool:
    """Whether there is one of the item for that position: in its place, else one of those at the bench, which is used up."""
    if item is None or lying.get(_Lies(item, position), 0) > 0:
        return True
    at_bench = _Lies(item, "")
    lying[at_bench] = lying.get(at_bench, 0) - 1
    return lying[at_bench] >= 0


def _lying(job: Job, items: Collection[int], upto_act: int | None) -> dict[_Lies, int]:
    """How much of each item is at the job's bench and at each spot of its engine, now or when an act was recorded. One query."""
    places = [job.bench_id, job.engine.place_id]
    found: dict[_Lies, int] = {}
    if not items:
        return found

    def add(rows: Sequence[tuple[int, int, str, int]], sign: int) -> None:
        for item, place, spot, amount in rows:
            name = _Lies(item, "" if place == job.bench_id else spot)
            if place in places:
                found[name] = found.get(name, 0) + sign * amount

    if upto_act is None:
        balances = Balance.objects.filter(place__in=places, item__in=items, amount__gt=0)
        add(list(balances.values_list("item_id", "place_id", "spot__name", "amount")), 1)
        return found
    moves = Movement.objects.filter(item__in=items, act_id__lte=upto_act)
    for side, sign in (("to_spot", 1), ("from_spot", -1)):
        add(list(moves.values_list("item_id", f"{side}__place_id", f"{side}__name", "amount")), sign)
    return found
