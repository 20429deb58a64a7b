"""What the strip finds in the engine, and what comes out of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from django.db.models import Count

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Tracked
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Item, Lot, Part, Person, Place, Serial, Spot
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.reuse import measured_nm, reuse_limits, why_not
from kits.models import Fitting, Found, Inspection, Job, Removal
from kits.queries.at_positions import came_out
from kits.queries.documents import family_of
from kits.services.shared import check_positions, open_job, standing_at, touch


@dataclass(frozen=True, slots=True)
class FindIn:
    """A part found in the engine, as far as it is known.

    lot, serial   only what can be read on the part; without them the part is "found, not known" and never becomes stock
    whose         "customer" or "shop"
    """

    position: str
    part: str
    amount: str | int = 1
    lot: str = ""
    serial: str = ""
    size: str = ""
    condition: str = ""
    whose: str = "customer"


def find_in_engine(*, actor: Person, stamp: Stamp, job: str, finds: Sequence[FindIn]) -> Done:
    """Record parts that are in the engine and that nobody recorded: before our records → engine, by use position.

    Raises ManyErrors: "not-found" (part), "position-unknown", "position-taken" (our records say something else sits there, or it
    is found twice), "serial-not-kept", "serial-is-one", "serial-missing" (a lot was read where the part has serials), those of
    amounts.
    Outcome: {"found": [{position, item, part, known}]}.
    """
    if not finds:
        raise DomainError("nothing-given", "Nothing was found.")

    def work(act: Act) -> Body:
        row = open_job(job)
        names = [one.position for one in finds]
        check_positions(row, names)
        parts = things.parts_by_number(one.part for one in finds)
        taken = standing_at(row, names)
        problems = [
            (number, _cannot_be(one, parts[one.part], taken, names[: number - 1]))
            for number, one in enumerate(finds, 1)
        ]
        errors = tuple((number, problem) for number, problem in problems if problem is not None)
        if errors:
            raise ManyErrors(errors)
        spots = things.spots(row.engine.place, names)
        source = things.books_only(PlaceKind.BEFORE_RECORDS)
        said, moves = [], []
        for number, one in enumerate(finds, 1):
            part = parts[one.part]
            amount, _ = things.amount(part, one.amount)
            known = bool(one.lot or one.serial)
            item = _item(part, one, f"{row.number}/{act.pk}-{number}")
            moves.append(Move(item, amount, source, spots[one.position]))
            said.append({"position": one.position, "item": item.pk, "part": part.number, "known": known})
            Found.objects.create(
                job=row,
                act=act,
                item=item,
                position=one.position,
                known=known,
                size=one.size,
                condition=one.condition,
                whose=one.whose,
            )
        post(act, moves)
        touch(row)
        return {"found": said}

    request = {"job": job, "finds": [asdict(one) for one in finds]}
    return run("find in engine", work, actor=actor, stamp=stamp, request=request, subject=job)


def _cannot_be(one: FindIn, part: Part, taken: dict[str, list[Balance]], before: Sequence[str]) -> DomainError | None:
    """Why this line cannot be recorded, None where it can."""
    has_serials = part.tracked_by in (Tracked.SERIAL, Tracked.SET)
    if one.position in taken:
        return _taken(one.position, taken)
    if one.position in before:
        return DomainError("position-taken", f"{one.position} is named twice.", position=one.position)
    if one.serial and not has_serials:
        return DomainError(
            "serial-not-kept", f"{part.number} has no serial numbers; {one.serial} was given.", part=part.number
        )
    if one.lot and has_serials and not one.serial:
        return DomainError(
            "serial-missing", f"{part.number} is told apart by its serial number, not by a lot.", part=part.number
        )
    try:
        amount, _ = things.amount(part, one.amount)
    except DomainError as error:
        return error
    if has_serials and amount > 1:
        return DomainError("serial-is-one", f"{part.number} at {one.position} is one thing.", part=part.number)
    return None


def _item(part: Part, one: FindIn, where: str) -> Item:
    if one.serial:
        serial, _ = Serial.objects.get_or_create(
            part=part, number=one.serial, defaults={"compare_key": compare_key(one.serial)}
        )
        return things.item(part, serial=serial)
    if one.lot:
        lot, _ = Lot.objects.get_or_create(part=part, code=one.lot, defaults={"expiry_rule": "found in an engine"})
        return things.item(part, lot=lot)
    return things.item(part, found=where)


def _taken(position: str, taken: dict[str, list[Balance]]) -> DomainError:
    item = taken[position][0].item
    return DomainError(
        "position-taken",
        f"{position} holds {item.called} by our records.",
        ways_out=("Remove it first.",),
        position=position,
        part=item.part.number,
        item=item.called,
    )


@dataclass(frozen=True, slots=True)
class RemoveIn:
    """What comes out of a position: everything there, or one item of it.

    to       "bench", "scrap", "owner", or the code of a quarantine or old-unit place
    amount   whole base units; None: all
    """

    position: str
    to: str = "bench"
    item: int | None = None
    amount: int | None = None
    reason: str = ""


def remove(*, actor: Person, stamp: Stamp, job: str, removals: Sequence[RemoveIn]) -> Done:
    """Take parts out of the engine; each position is kept with what came out, so it can go back where it came from.

    Outcome: {"removed": [{position, item, part, lot, serial, amount, to}]}. Raises ManyErrors "position-unknown",
    "position-empty" (nothing recorded there: record it as found first), "reason-missing" (scrap of a thing with a serial).
    """
    if not removals:
        raise DomainError("nothing-given", "Nothing was removed.")

    def work(act: Act) -> Body:
        row = open_job(job)
        names = [one.position for one in removals]
        check_positions(row, names)
        there = standing_at(row, names)
        errors: list[tuple[int, DomainError]] = []
        moves: list[Move] = []
        said: list[Body] = []
        rows: list[Removal] = []
        targets = {code: _target(row, code) for code in {one.to for one in removals}}
        for number, one in enumerate(removals, 1):
            balances = [bal for bal in there.get(one.position, []) if one.item is None or bal.item_id == one.item]
            problem = _cannot_remove(one, balances)
            if problem is not None:
                errors.append((number, problem))
                continue
            for bal in balances:
                amount = bal.amount if one.amount is None else one.amount
                bal.spot.place = row.engine.place
                moves.append(Move(bal.item, amount, bal.spot, targets[one.to]))
                rows.append(
                    Removal(
                        job=row,
                        act=act,
                        item=bal.item,
                        spot=bal.spot,
                        amount=amount,
                        to_bench=one.to == "bench",
                        reason=one.reason,
                    )
                )
                said.append(_removed(bal, amount, one.to))
        if errors:
            raise ManyErrors(tuple(errors))
        post(act, moves)
        Removal.objects.bulk_create(rows)
        touch(row)
        return {"removed": said}

    request = {"job": job, "removals": [asdict(one) for one in removals]}
    return run("remove", work, actor=actor, stamp=stamp, request=request, subject=job)


def _removed(row: Balance, amount: int, to: str) -> Body:
    """One removed thing as JSON."""
    return {
        "position": row.spot.name,
        "item": row.item_id,
        "part": row.item.part.number,
        "lot": row.item.lot.code if row.item.lot else "",
        "serial": row.item.serial.number if row.item.serial else "",
        "amount": amount,
        "to": to,
    }


def _cannot_remove(one: RemoveIn, balances: Sequence[Balance]) -> DomainError | None:
    if not balances:
        return DomainError(
            "position-empty",
            f"Our records have nothing at {one.position}" + (f" of item {one.item}." if one.item else "."),
            ways_out=("Record what is there as found in the engine first.",),
            position=one.position,
        )
    if one.amount is not None and not 0 < one.amount <= sum(row.amount for row in balances):
        code = "not-there" if one.amount > 0 else "amount-not-positive"
        return DomainError(
            code,
            f"{one.position} holds {sum(row.amount for row in balances)}; {one.amount} cannot come out.",
            position=one.position,
            asked=one.amount,
        )
    if one.amount is not None and len(balances) > 1:
        return DomainError(
            "item-ambiguous",
            f"{one.position} holds several things: say which of them comes out.",
            position=one.position,
            items=[row.item_id for row in balances],
        )
    if one.to == "scrap" and not one.reason.strip() and any(row.item.single for row in balances):
        return DomainError(
            "reason-missing", f"{one.position}: scrapping a thing with a serial needs a reason.", position=one.position
        )
    return None


def _target(job: Job, code: str) -> Spot:
    if code == "bench":
        return things.spot(job.bench)
    if code == "scrap":
        return things.books_only(PlaceKind.SCRAP)
    if code == "owner":
        return things.books_only(PlaceKind.OWNER)
    place: Place = things.place(code)
    if place.kind not in (PlaceKind.QUARANTINE, PlaceKind.CRATE, PlaceKind.OUTSIDE):
        raise DomainError("wrong-place", f"{code} is a {place.kind}: removed parts do not go there.", place=code)
    return things.spot(place)


@dataclass(frozen=True, slots=True)
class InspectIn:
    """A part that may go back: where, which item, the limit it was held against, what was found."""

    position: str
    limit: str
    result: str
    good: bool
    item: int | None = None


def inspect(*, actor: Person, stamp: Stamp, job: str, inspections: Sequence[InspectIn]) -> Done:
    """Record inspections of old parts. A good one takes its position off the list, where the line's class allows reuse.

    Where the family has a limit for the part there, a good one needs the item, its measured length within the limit at the
    beginning of `result` ("191.2 mm"), and fewer uses by our records than the limit; unknown history is a no.
    Raises "position-unknown", "reason-missing"; ManyErrors "not-reusable", "not-found" (item).
    """
    if not inspections:
        raise DomainError("nothing-given", "Nothing was inspected.")

    def work(act: Act) -> Body:
        row = open_job(job)
        check_positions(row, [one.position for one in inspections])
        blank = [one.position for one in inspections if not one.limit.strip() or not one.result.strip()]
        if blank:
            raise DomainError(
                "reason-missing", f"{blank[0]}: an inspection names its limit and its result.", positions=blank
            )
        _check_limits(row, inspections)
        Inspection.objects.bulk_create(
            [
                Inspection(
                    job=row,
                    act=act,
                    position=one.position,
                    item_id=one.item,
                    limit=one.limit,
                    result=one.result,
                    good=one.good,
                )
                for one in inspections
            ]
        )
        touch(row)
        return {"inspected": [{"position": one.position, "good": one.good} for one in inspections]}

    request = {"job": job, "inspections": [asdict(one) for one in inspections]}
    return run("inspect", work, actor=actor, stamp=stamp, request=request, subject=job)


def _check_limits(job: Job, inspections: Sequence[InspectIn]) -> None:
    """Refuse a good word on what the limits on record do not let be used again; ManyErrors names every line."""
    limits = reuse_limits(family_of(job.family_revision))
    items = {
        item.pk: item
        for item in Item.objects.filter(pk__in=[one.item for one in inspections if one.item]).select_related("part")
    }
    errors: list[tuple[int, DomainError]] = []
    for number, one in enumerate(inspections, 1):
        item = items.get(one.item) if one.item is not None else None
        if one.item is not None and item is None:
            errors.append((number, DomainError("not-found", f"There is no item {one.item}.", item=one.item)))
            continue
        here = [limit for limit in limits if one.good and one.position in limit.positions]
        mine = [limit for limit in here if item is not None and limit.part == item.part.number] or here[:1]
        for limit in mine:
            uses = None if item is None else _uses(job, item, one.position)
            why = why_not(limit, measured_nm(one.result), uses)
            if why:
                errors.append(
                    (
                        number,
                        DomainError(
                            "not-reusable",
                            f"{one.position}: {why}",
                            ways_out=("Record it as rejected and fit a new one.",),
                            position=one.position,
                            part=limit.part,
                            uses=uses,
                        ),
                    )
                )
    if errors:
        raise ManyErrors(tuple(errors))


def _uses(job: Job, item: Item, position: str) -> int | None:
    """How often our records have the item fitted at the position it came out of; None: it came with an engine."""
    if Found.objects.filter(item=item, act__corrected_by__isnull=True).exists():
        return None
    origins = came_out(job).get(item.pk, ())
    rows = Fitting.objects.filter(item=item, spot__place=job.engine.place_id, act__corrected_by__isnull=True)
    at = rows.filter(spot__name__in=[position] if position in origins or not origins else origins)
    counts = at.values_list("spot").annotate(times=Count("pk")).order_by("spot").values_list("times", flat=True)
    return max(counts, default=None)
