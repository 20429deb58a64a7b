"""What of a job's old parts is the customer's own and where it lies, and what became of what was found in the engine."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from inventory.domain.corrections import never_in
from inventory.domain.items import was_found
from inventory.domain.places import PlaceKind, is_real
from inventory.models import Balance, Item, Movement
from kits.domain.belongings import Lying, Step, follow
from kits.models import Fitting, Found, GiveBack, Job, Removal

#: What the customer's own things enter as.
_CUSTOMER = 1
_STILL_HERE = ("in_engine", "at_bench", "in_quarantine", "outside", "old_unit")
_SAID = {
    PlaceKind.OWNER: "given_back",
    PlaceKind.SCRAP: "scrapped",
    PlaceKind.BENCH: "at_bench",
    PlaceKind.QUARANTINE: "in_quarantine",
    PlaceKind.OUTSIDE: "outside",
    PlaceKind.CRATE: "old_unit",
}


@dataclass(frozen=True, slots=True)
class _Moved:
    item_id: int
    act_id: int
    amount: int
    origin: int
    origin_kind: PlaceKind
    target: int
    target_kind: PlaceKind
    target_place: int
    target_name: str
    never_in: bool


def customers_own(job: Job, item_ids: Collection[int]) -> dict[tuple[int, int], int]:
    """(item id, spot id) → how much there is the customer's own, whole base units. Five queries.

    The customer's is what this engine came with: what was found in it as theirs, and what earlier jobs put in. What this job put
    in new is the shop's until it is closed; a member of a broken set is whose the set was.
    """
    asked = list(Item.objects.filter(pk__in=item_ids))
    serials = [one.serial_id for one in asked if one.member]
    wholes = {one.serial_id: one.pk for one in Item.objects.filter(serial__in=serials, member="")} if serials else {}
    moved = _moved({one.pk for one in asked} | set(wholes.values()))
    fitted = _fittings(moved)
    finds = {
        (one.act_id, one.item_id, one.position): one
        for one in Found.objects.filter(item__in=moved, act__corrected_by__isnull=True)
    }

    def step(row: _Moved, members: bool = False) -> Step:
        enters, back = None, False
        if row.target_place == job.engine.place_id:
            fitting = fitted.get((row.act_id, row.item_id, row.target))
            find = finds.get((row.act_id, row.item_id, row.target_name))
            back = fitting is not None and fitting.job_id == job.pk and fitting.reused
            shops = find.whose == "shop" if find else fitting is not None and fitting.job_id == job.pk
            enters = None if shops else _CUSTOMER
        elif members and row.origin_kind is PlaceKind.CONVERSION:
            enters = _CUSTOMER
        return _step(row, enters, back)

    found: dict[tuple[int, int], int] = {}
    for item in asked:
        whole = wholes.get(item.serial_id) if item.member else None
        broken = whole is not None and _taken_apart(moved[whole], [step(row) for row in moved[whole]])
        for one in follow(step(row, broken) for row in moved[item.pk]):
            found[item.pk, one.spot] = found.get((item.pk, one.spot), 0) + one.amount
    return found


def came_out_of(job: Job) -> set[int]:
    """Items that came out of the engine on the job or were found in it, and what became of them when a set was broken. Three queries."""
    items = set(Removal.objects.filter(job=job, act__corrected_by__isnull=True).values_list("item_id", flat=True))
    items |= set(Found.objects.filter(job=job, act__corrected_by__isnull=True).values_list("item_id", flat=True))
    same = Q(serial__items__in=items) & ~Q(member="")
    return items | set(Item.objects.filter(same).values_list("pk", flat=True))


def finds_of(job: Job) -> list[dict[str, Any]]:
    """What was found in the engine on the job, and what became of each find, in order. Four queries.

    [{find, position, item, part, lot, serial, known, size, condition, whose, found, reused, given_back, scrapped, in_engine, at_bench,
    in_quarantine, outside, old_unit, elsewhere, still_here, adds_up}], amounts in base units of the item. found = reused + given_back +
    scrapped + still_here + elsewhere; elsewhere: broken up, sent back,
    counted short. `adds_up` is false where that fails, or where the books have less of it at a place.
    """
    rows = list(
        Found.objects.filter(job=job, act__corrected_by__isnull=True)
        .select_related("item__part", "item__lot", "item__serial")
        .order_by("pk")
    )
    moved = _moved({row.item_id for row in rows})
    fitted = _fittings(moved)
    entered = {(row.act_id, row.item_id, row.position): row.pk for row in rows}
    said: dict[int, list[Lying]] = {row.pk: [] for row in rows}
    amounts: dict[int, int] = {}
    wrong: set[int] = set()
    places, books = _places(moved), _books(moved)
    alone = {row.item_id: was_found(row.item.identity) for row in rows}
    for item_id, its in moved.items():
        steps = []
        for row in its:
            enters = entered.get((row.act_id, item_id, row.target_name))
            if enters is not None:
                amounts[enters] = row.amount
            fitting = fitted.get((row.act_id, item_id, row.target))
            steps.append(_step(row, enters, fitting is not None and fitting.reused))
        lying = follow(steps)
        for one in lying:
            said[one.of].append(one)
        if _differs(alone[item_id], books[item_id], lying, places):
            wrong.add(item_id)
    return [_find(row, amounts[row.pk], said[row.pk], places, row.item_id in wrong) for row in rows]


def gives_back_of(job: Job) -> list[dict[str, Any]]:
    """What went back to the customer, who signed for it and when, in order. Two queries."""
    rows = GiveBack.objects.filter(job=job, act__corrected_by__isnull=True).select_related("act")
    things = "things__item__part", "things__spot__place"
    return [
        {
            "act": row.pk,
            "signed_by": row.signed_by,
            "signed_at": row.act.occurred_at,
            "things": [
                {
                    "item": one.item_id,
                    "part": one.item.part.number,
                    "identity": one.item.identity,
                    "amount": one.amount,
                    "from": one.spot.place.code,
                }
                for one in row.things.all()
            ],
        }
        for row in rows.prefetch_related(*things).order_by("act__occurred_at", "pk")
    ]


def _moved(item_ids: Iterable[int]) -> dict[int, list[_Moved]]:
    """Every movement of these items that counts, in order of time. One query."""
    found: dict[int, list[_Moved]] = {item: [] for item in sorted(item_ids)}
    rows = Movement.objects.filter(item__in=found, act__corrected_by__isnull=True, act__corrects__isnull=True)
    columns = (
        "item_id", "act_id", "amount", "from_spot_id", "from_spot__place__kind", "to_spot_id", "to_spot__place__kind",
        "to_spot__place_id", "to_spot__name", "act__kind",
    )  # fmt: skip
    for item, act, amount, origin, origin_kind, target, kind, place, name, act_kind in rows.order_by(
        "act__occurred_at", "pk"
    ).values_list(*columns):
        found[item].append(
            _Moved(
                item,
                act,
                amount,
                origin,
                PlaceKind(origin_kind),
                target,
                PlaceKind(kind),
                place,
                name,
                never_in(act_kind, origin_kind),
            )
        )
    return found


def _fittings(items: Iterable[int]) -> dict[tuple[int, int, int], Fitting]:
    rows = Fitting.objects.filter(item__in=list(items), act__corrected_by__isnull=True)
    return {(row.act_id, row.item_id, row.spot_id): row for row in rows}


def _step(row: _Moved, enters: int | None, back: bool) -> Step:
    return Step(row.amount, row.origin, row.origin_kind, row.target, row.target_kind, enters, back, row.never_in)


def _taken_apart(rows: Iterable[_Moved], steps: Iterable[Step]) -> bool:
    """Whether the customer's set was broken: it went into the books' place conversion."""
    apart = {row.target for row in rows if row.target_kind is PlaceKind.CONVERSION}
    return any(one.spot in apart for one in follow(steps))


def _places(moved: Mapping[int, Iterable[_Moved]]) -> dict[int, PlaceKind]:
    return {row.target: row.target_kind for rows in moved.values() for row in rows}


def _books(items: Iterable[int]) -> dict[int, dict[int, int]]:
    """Item → spot → what the books have there, of real places. One query."""
    found: dict[int, dict[int, int]] = {item: {} for item in items}
    for item, spot, amount in Balance.objects.filter(item__in=found, real=True).values_list(
        "item_id", "spot_id", "amount"
    ):
        found[item][spot] = amount
    return found


def _differs(alone: bool, books: Mapping[int, int], lying: Iterable[Lying], places: Mapping[int, PlaceKind]) -> bool:
    """Whether the books have less of an item at a real spot than its finds, or, of what is like no other, another amount."""
    followed: dict[int, int] = {}
    for one in lying:
        if is_real(places[one.spot]):
            followed[one.spot] = followed.get(one.spot, 0) + one.amount
    return any(
        followed.get(spot, 0) > books.get(spot, 0) or (alone and followed.get(spot, 0) != books.get(spot, 0))
        for spot in followed.keys() | books.keys()
    )


def _find(
    row: Found, found: int, lying: Iterable[Lying], places: Mapping[int, PlaceKind], differs: bool
) -> dict[str, Any]:
    became = dict.fromkeys(("reused", *_SAID.values(), "in_engine", "elsewhere"), 0)
    for one in lying:
        if places[one.spot] is PlaceKind.ENGINE:
            became["reused"] += one.reused
            became["in_engine"] += one.amount - one.reused
        else:
            became[_SAID.get(places[one.spot], "elsewhere")] += one.amount
    return {
        "find": row.pk,
        "position": row.position,
        "item": row.item_id,
        "part": row.item.part.number,
        "lot": row.item.lot_code,
        "serial": row.item.serial_number,
        "known": row.known,
        "size": row.size,
        "condition": row.condition,
        "whose": row.whose,
        "found": found,
        **became,
        "still_here": sum(became[name] for name in _STILL_HERE),
        "adds_up": sum(became.values()) == found and not differs,
    }
