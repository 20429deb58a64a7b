"""What the strip finds in the engine, and what comes out of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.models import Act, Balance, Person, Place, Spot
from inventory.queries.days import shop_day
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.leaks import look_refused
from kits.domain.origins import tag_clash
from kits.models import Found, Inspection, Job, LostPosition, Removal
from kits.queries.gauges import gauges_by_number, standing_on
from kits.services.find_rules import FindIn as FindIn
from kits.services.find_rules import cannot_be, item_found, most_there
from kits.services.renewals import bring_renewals
from kits.services.reuse_rules import InspectIn as InspectIn
from kits.services.reuse_rules import check_limits
from kits.services.shared import check_positions, open_job, standing_at, touch


def find_in_engine(*, actor: Person, stamp: Stamp, job: str, finds: Sequence[FindIn]) -> Done:
    """Record parts that are in the engine and that nobody recorded: before our records → engine, by use position.

    Raises ManyErrors: "not-found" (part), "position-unknown", "position-taken" (our records say something else sits there, or it
    is found twice), "more-than-listed" (more pieces than the position takes by any parts line of the family's procedures, and nobody says
    why), "serial-not-kept", "serial-is-one", "serial-missing" (a lot was read where the part has serials), those of
    amounts; DomainError "spelling-ambiguous". A lot or serial on record in another spelling is that one.
    Outcome: {"found": [{position, item, part, known, lot, serial: as on record, why_more}]}; why there are more is the act's reason.
    """

    def work(act: Act) -> Body:
        if not finds:
            raise DomainError("nothing-given", "Nothing was found.")
        row = open_job(job)
        names = [one.position for one in finds]
        check_positions(row, names)
        parts = things.parts_by_number(one.part for one in finds)
        taken = standing_at(row, names)
        most = most_there(row, finds, parts)
        problems = [
            (number, cannot_be(one, parts[one.part], taken, names[: number - 1], most))
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
            item = item_found(part, one, f"{row.number}/{act.pk}-{number}")
            moves.append(Move(item, amount, source, spots[one.position]))
            said.append(
                {
                    "position": one.position,
                    "item": item.pk,
                    "part": part.number,
                    "known": known,
                    "lot": item.lot_code,
                    "serial": item.serial_number,
                    "why_more": one.why_more,
                }
            )
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
    why = "; ".join(f"{one.position}: {one.why_more.strip()}" for one in finds if one.why_more.strip())
    return run("find in engine", work, actor=actor, stamp=stamp, request=request, subject=job, reason=why)


@dataclass(frozen=True, slots=True)
class RemoveIn:
    """What comes out of a position: everything there, or one item of it.

    position  empty: nobody kept it. Then `item` says what came out, and its place is lost from now on
    to        "bench", "scrap", or the code of a quarantine or an old-unit crate
    amount    whole base units; None: all
    tag       text of the tag that is tied to it; one of a kind on the job
    clock_deg, side  the angle at which its mark stood; the side on which its number stood
    looked    of a ring of a liner: "whole", "rolled" or "cut"; empty: not said
    """

    position: str
    to: str = "bench"
    item: int | None = None
    amount: int | None = None
    reason: str = ""
    tag: str = ""
    clock_deg: int | None = None
    side: str = ""
    looked: str = ""


def remove(*, actor: Person, stamp: Stamp, job: str, removals: Sequence[RemoveIn]) -> Done:
    """Take parts out of the engine; each position is kept with what came out, so it can go back where it came from.

    What it shows by the family's document (a head bolt is out: the head is off) is a finding of the job from then on, so what is
    renewed with it comes onto the list; a correction of the act takes it back.
    Outcome: {"removed": [{position, item, part, lot, serial, amount, to, tag, clock_deg, side, looked, position_lost}],
    "findings": [{"id", "code", "place"}] that it brings}. Raises ManyErrors
    "position-unknown", "position-empty" (nothing recorded there: record it as found first), "reason-missing" (scrap of a thing with a
    serial), "tag-used", "ring-look-unusable".
    """

    def work(act: Act) -> Body:
        if not removals:
            raise DomainError("nothing-given", "Nothing was removed.")
        row = open_job(job)
        check_positions(row, [one.position for one in removals if one.position])
        there = standing_at(row, [one.position for one in removals])
        loose = _anywhere(row, [one.item for one in removals if not one.position and one.item is not None])
        errors: list[tuple[int, DomainError]] = []
        moves: list[Move] = []
        said: list[Body] = []
        rows: list[Removal] = []
        targets = {code: _target(row, code) for code in {one.to for one in removals}}
        used = _tags(row) if any(one.tag for one in removals) else []
        for number, one in enumerate(removals, 1):
            at = loose.get(one.item or 0, []) if not one.position else there.get(one.position, [])
            balances = [bal for bal in at if one.item is None or bal.item_id == one.item]
            problem = _cannot_remove(one, balances) or _tag_used(one, used)
            if problem is not None:
                errors.append((number, problem))
                continue
            used.append(one.tag)
            for bal in balances:
                amount = bal.amount if one.amount is None else one.amount
                bal.spot.place = row.engine.place
                moves.append(Move(bal.item, amount, bal.spot, targets[one.to]))
                rows.append(_removal(row, act, bal, amount, one))
                said.append(_removed(bal, amount, one))
        if errors:
            raise ManyErrors(tuple(errors))
        post(act, moves)
        lost = [
            made for made, line in zip(Removal.objects.bulk_create(rows), said, strict=True) if line["position_lost"]
        ]
        LostPosition.objects.bulk_create(
            [LostPosition(removal=made, act=act, reason="taken out without its position") for made in lost]
        )
        brought = bring_renewals(act, row, rows)
        touch(row)
        return {"removed": said, "findings": brought}

    request = {"job": job, "removals": [asdict(one) for one in removals]}
    return run("remove", work, actor=actor, stamp=stamp, request=request, subject=job)


def _anywhere(job: Job, items: Sequence[int]) -> dict[int, list[Balance]]:
    """Where our records have these items in the engine, whose row is locked."""
    found: dict[int, list[Balance]] = {}
    if items:
        rows = Balance.objects.filter(place=job.engine.place_id, item__in=items, amount__gt=0)
        for row in rows.select_related("item__part", "item__lot", "item__serial", "spot").order_by("pk"):
            found.setdefault(row.item_id, []).append(row)
    return found


def _tags(job: Job) -> list[str]:
    """Texts of the tags on the job; empty ones are none."""
    return list(Removal.objects.filter(job=job, act__corrected_by__isnull=True).values_list("tag", flat=True))


def _tag_used(one: RemoveIn, used: Sequence[str]) -> DomainError | None:
    if tag_clash([one.tag], used) is None:
        return None
    return DomainError(
        "tag-used",
        f"The tag {one.tag} hangs on another part of the job.",
        ways_out=("Write another text on the tag.",),
        position=one.position,
        tag=one.tag,
    )


def _removal(job: Job, act: Act, row: Balance, amount: int, one: RemoveIn) -> Removal:
    return Removal(
        job=job, act=act, item=row.item, spot=row.spot, amount=amount, to_bench=one.to == "bench", reason=one.reason,
        tag=one.tag, clock_deg=one.clock_deg, side=one.side, looked=one.looked,
    )  # fmt: skip


def _removed(row: Balance, amount: int, one: RemoveIn) -> Body:
    """One removed thing as JSON."""
    return {
        "position": one.position,
        "item": row.item_id,
        "part": row.item.part.number,
        "lot": row.item.lot_code,
        "serial": row.item.serial_number,
        "amount": amount,
        "to": one.to,
        "tag": one.tag,
        "clock_deg": one.clock_deg,
        "side": one.side,
        "looked": one.looked,
        "position_lost": not one.position,
    }


def _cannot_remove(one: RemoveIn, balances: Sequence[Balance]) -> DomainError | None:
    where = one.position or "the engine"
    if not one.position and one.item is None:
        return DomainError(
            "position-unknown",
            "Neither the position nor the item is named.",
            ways_out=("Name the item: its place is lost then.",),
            position="",
        )
    if not balances:
        return DomainError(
            "position-empty",
            f"Our records have nothing at {where}" + (f" of item {one.item}." if one.item else "."),
            ways_out=("Record what is there as found in the engine first.",),
            position=one.position,
        )
    if one.amount is not None and not 0 < one.amount <= sum(row.amount for row in balances):
        code = "not-there" if one.amount > 0 else "amount-not-positive"
        return DomainError(
            code,
            f"{where} holds {sum(row.amount for row in balances)}; {one.amount} cannot come out.",
            position=one.position,
            asked=one.amount,
        )
    if one.amount is not None and len(balances) > 1:
        return DomainError(
            "item-ambiguous",
            f"{where} holds several things: say which of them comes out.",
            position=one.position,
            items=[row.item_id for row in balances],
        )
    if one.to == "scrap" and not one.reason.strip() and any(row.item.single for row in balances):
        return DomainError(
            "reason-missing", f"{where}: scrapping a thing with a serial needs a reason.", position=one.position
        )
    return look_refused(one.looked, frozenset(row.item.part.kind for row in balances), where)


def _target(job: Job, code: str) -> Spot:
    if code == "bench":
        return things.spot(job.bench)
    if code == "scrap":
        return things.books_only(PlaceKind.SCRAP)
    if code == "owner":
        raise DomainError(
            "wrong-place",
            "The owner gets nothing straight out of the engine: somebody signs for it.",
            ways_out=("Remove it to the bench, then give it back against a signature.",),
            place=code,
        )
    place: Place = things.place(code)
    if place.kind not in (PlaceKind.QUARANTINE, PlaceKind.CRATE):
        outside = ("Remove it to the bench, then send it outside.",) if place.kind == PlaceKind.OUTSIDE else ()
        raise DomainError(
            "wrong-place", f"{code} is {a(place.kind)}: removed parts do not go there.", ways_out=outside, place=code
        )
    return things.spot(place)


def inspect(*, actor: Person, stamp: Stamp, job: str, inspections: Sequence[InspectIn]) -> Done:
    """Record inspections of old parts. A good one takes its position off the list, where the line's class allows reuse.

    Where the family has a limit for the part there, a good one needs the item, its measured length within the limit at the
    beginning of `result` ("191.2 mm"), the gauge it was read with, in date on the day, and fewer uses by our records than the limit;
    unknown history is a no. Outcome: {"inspected": [{position, good, gauge, gauge_state}]}.
    Raises "position-unknown", "reason-missing"; ManyErrors "not-reusable", "not-found" (item, gauge), "gauge-wrong".
    """

    def work(act: Act) -> Body:
        if not inspections:
            raise DomainError("nothing-given", "Nothing was inspected.")
        row = open_job(job)
        check_positions(row, [one.position for one in inspections])
        blank = [one.position for one in inspections if not one.limit.strip() or not one.result.strip()]
        if blank:
            raise DomainError(
                "reason-missing", f"{blank[0]}: an inspection names its limit and its result.", positions=blank
            )
        gauges = gauges_by_number(one.gauge for one in inspections if one.gauge)
        states = {number: standing_on(its, shop_day(act.occurred_at)).state for number, its in gauges.items()}
        check_limits(row, inspections, gauges, states)
        Inspection.objects.bulk_create(
            [
                Inspection(
                    job=row,
                    act=act,
                    position=one.position,
                    item_id=one.item,
                    limit=one.limit,
                    result=one.result,
                    gauge=gauges.get(one.gauge),
                    good=one.good,
                )
                for one in inspections
            ]
        )
        touch(row)
        return {
            "inspected": [
                {
                    "position": one.position,
                    "good": one.good,
                    "gauge": one.gauge,
                    "gauge_state": states.get(one.gauge, ""),
                }
                for one in inspections
            ]
        }

    request = {"job": job, "inspections": [asdict(one) for one in inspections]}
    return run("inspect", work, actor=actor, stamp=stamp, request=request, subject=job)
