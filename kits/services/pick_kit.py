"""Picking by scanning, and handing the cart over to the bench."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Hold, Person
from inventory.queries import by_hand
from inventory.queries.days import shop_day
from inventory.queries.held import Pending
from inventory.queries.stock import Standing, in_place, stopped_items
from inventory.services import holding, things
from inventory.services.chemicals import refuse_unread, without_sheet
from inventory.services.post import Move, post
from inventory.services.rows import insert
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.families import Family
from kits.domain.serving import Promised
from kits.domain.standing_verdicts import SET_KIND
from kits.models import BinToCount, FamilyRevision, Handover, Job, PickList, ToolLoan
from kits.queries.absent import Absent, absent_of
from kits.queries.at_the_shelf import wrong_bin, wrong_scan
from kits.queries.by_notice import number_sentence, shut_out
from kits.queries.documents import family_of
from kits.queries.job_list import JobList, job_list
from kits.queries.mixing import may_be_mixed, mixed_on_job
from kits.queries.rubber import picked_wrong
from kits.queries.served import promised_of
from kits.queries.standing_verdicts import sets_that_fail
from kits.queries.why_not import reasons
from kits.services.cart_rules import refuse_unusable
from kits.services.hold_rules import refuse_going_alone
from kits.services.maker_stops import refuse_stopped_cart
from kits.services.second_looks import refuse_not_looked_at
from kits.services.shared import lock_engine, open_job, open_still, pick_list_by_id, touch
from kits.services.substitute_rules import Line, refuse_going, refuse_picking
from kits.services.verdict_rules import set_fails
from kits.services.whole_tubes import InTube, hold_whole, part_of_tube, tubes_of


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan at the shelf.

    hold     the line that is being picked
    scanned  what the label says: lot code, serial, tube number, or the part number of a part that is not traced; or the whole label
             as the scanner sent it (`inventory/domain/labels.py`)
    amount   counted, whole base units; None: the whole line
    bin      what the label of the bin says that it was taken from: the code of the place, or that and the spot; empty: not scanned
    """

    hold: int
    scanned: str
    amount: int | None = None
    bin: str = ""


def pick(*, actor: Person, stamp: Stamp, pick_list: int, scans: Sequence[Scan]) -> Done:
    """Shelf to cart, line by line, each by a scan that must match what is held.

    Raises ManyErrors naming every line that was scanned wrong, or taken from another bin than its own ("wrong-scan": of another
    part that is on record it says why this job does not take it), whose lot is stopped ("lot-stopped") or past its use-by on the
    day of fitting, or on this day where that has passed ("expired"), part of an opened tube ("not-whole"), of a rubber that its position forbids ("wrong-rubber"), a part that a notice
    entered since leaves to other engines ("not-for-engine"), a chemical without its safety data sheet ("safety-sheet-missing"), or a set
    that was measured since and fails ("verdict-fails"); nothing is picked then, nor where the owner has to agree to what stands in for a
    listed part and did not ("substitute-not-agreed"). What is less than held frees the rest. An opened tube that was weighed heavier since it
    was held is held anew with what is in it, and picked whole (`whole_tubes`): its line has that hold.
    Outcome: {"picked": [{hold, part, lot, serial, amount, from}], "left": open lines of the list}.
    """
    listed = pick_list_by_id(pick_list)
    asked = [{"hold": scan.hold, "scanned": scan.scanned, "amount": scan.amount, "bin": scan.bin} for scan in scans]
    request = {"pick_list": pick_list, "scans": asked}

    def work(act: Act) -> Body:
        if not scans:
            raise DomainError("nothing-given", "Nothing was scanned.")
        job = listed.job
        open_still(job)
        parts, instead = _parts_of_list(listed, scans)
        lock_engine(job)
        locks.scarcer(parts)
        holds = holding.open_holds(scan.hold for scan in scans)
        tubes = tubes_of(holds.values())
        _check_scans(act, job, holds, scans, tubes)
        refuse_picking(job, instead, shop_day(act.occurred_at))
        whole = hold_whole(act, job, holds, tubes)
        counted = [(whole.get(scan.hold, holds[scan.hold]), scan.amount) for scan in scans]
        amounts = [(hold, hold.amount if amount is None else amount) for hold, amount in counted]
        holding.pick(act, amounts)
        touch(job)
        left = Hold.objects.filter(job_hold__pick_list=listed, end__isnull=True).count()
        picked = [
            {
                "hold": hold.pk,
                "part": hold.part,
                "lot": hold.lot,
                "serial": hold.serial,
                "amount": amount,
                "from": hold.from_spot.place.code,
            }
            for hold, amount in amounts
        ]
        return {"job": job.number, "picked": picked, "left": left}

    return run("pick", work, actor=actor, stamp=stamp, request=request, subject=listed.job.number)


def _parts_of_list(listed: PickList, scans: Sequence[Scan]) -> tuple[list[tuple[int, int]], dict[int, Line]]:
    """(part id, site id) of what is scanned, and which of its lines may stand in for something by their holds; refused where a line is not
    the list's or was scanned twice. One query."""
    twice = [hold for hold, times in Counter(scan.hold for scan in scans).items() if times > 1]
    if twice:
        raise DomainError("scanned-twice", f"Line {twice[0]} was scanned twice in one go.", holds=twice)
    wanted = [scan.hold for scan in scans]
    rows = by_hand.rows(_MINE.format(by_hand.marks(len(wanted))), [listed.act_id, listed.pk, *wanted])
    mine = {row[0]: (row[1], row[2] or 0) for row in rows}
    instead = {row[0]: Line(row[3], row[4], bool(row[5])) for row in rows if row[5] or row[3] != row[4]}
    strange = sorted(set(wanted) - mine.keys())
    if strange:
        holding.open_holds(wanted)  # says which holds do not exist or ended
        raise DomainError("not-found", f"Pick list {listed.pk} has no line {strange[0]}.", holds=strange)
    return list(mine.values()), instead


#: The last column: a person's word on a position names the part, or the list is of one more.
_MINE = """
    SELECT k.hold_id, i.part_id, p.site_id, w.number, n.number,
           EXISTS (SELECT 1 FROM kits_extra x WHERE x.act_id = %s)
           OR EXISTS (SELECT 1 FROM kits_jobchoice c
                      WHERE c.job_id = k.job_id AND c.choice = '' AND c.alternative = 'part:' || w.number)
    FROM kits_jobhold k
    JOIN inventory_part w ON w.id = k.wanted_id
    JOIN inventory_hold h ON h.id = k.hold_id
    JOIN inventory_item i ON i.id = h.item_id
    JOIN inventory_part n ON n.id = i.part_id
    JOIN inventory_spot s ON s.id = h.from_spot_id
    JOIN inventory_place p ON p.id = s.place_id
    WHERE k.pick_list_id = %s AND k.hold_id IN ({})"""


def _check_scans(
    act: Act, job: Job, holds: dict[int, Pending], scans: Sequence[Scan], tubes: Mapping[int, InTube]
) -> None:
    stopped = stopped_items({hold.item_id for hold in holds.values()})
    wrong = picked_wrong(_family(job), list(holds))
    sheetless = without_sheet(((hold.thing.part_id, hold.part, hold.kind) for hold in holds.values()), act.occurred_at)
    today = shop_day(act.occurred_at)
    day = job.fit_day(today)
    why, failing = reasons(job, today), _failing_sets(job, holds.values())
    elsewhere = shut_out(job.engine, {hold.thing.part_id for hold in holds.values()})
    errors: list[tuple[int, DomainError]] = []
    for number, scan in enumerate(scans, 1):
        hold = holds[scan.hold]
        error = wrong_bin(hold, scan.bin) or wrong_scan(hold, scan.scanned, today, why)
        error = error or part_of_tube(hold, scan.amount, tubes) or _unusable(day, hold, hold.item_id in stopped)
        error = error or _wrong_rubber(hold, wrong.get(hold.pk, ""))
        error = error or _for_other_engines(job, hold, elsewhere.get(hold.thing.part_id, ""))
        error = error or sheetless.get(hold.thing.part_id)
        error = error or (set_fails(hold.serial, failing[hold.serial]) if hold.serial in failing else None)
        if error is not None:
            errors.append((number, error))
    if errors:
        raise ManyErrors(tuple(errors))


def _failing_sets(job: Job, holds: Iterable[Pending]) -> dict[str, str]:
    """Sets that were measured since they were held, and fail."""
    sets = {hold.thing.serial_id: hold.serial for hold in holds if hold.kind == SET_KIND and hold.thing.serial_id}
    return sets_that_fail(_family(job), sets, job.number) if sets else {}


def _family(job: Job) -> Family:
    return family_of(FamilyRevision.objects.defer("document").get(pk=job.family_revision_id))


def _wrong_rubber(hold: Pending, why: str) -> DomainError | None:
    if not why:
        return None
    ways = ("Release the line and hold a part of a rubber that stands it.",)
    return DomainError("wrong-rubber", why, ways_out=ways, hold=hold.pk, part=hold.part)


def _for_other_engines(job: Job, hold: Pending, numbers: str) -> DomainError | None:
    if not numbers:
        return None
    why = number_sentence(job.engine, hold.part, numbers)
    ways = ("Release the line, and hold what replaces the part.",)
    return DomainError("not-for-engine", why, ways_out=ways, hold=hold.pk, part=hold.part, numbers=numbers)


def _unusable(day: date, hold: Pending, is_stopped: bool) -> DomainError | None:
    label = f"{hold.part} {hold.label}"
    if is_stopped:
        return DomainError("lot-stopped", f"{label} is stopped: it may not be used.", hold=hold.pk)
    if not usable_on(hold.use_by, day):
        return DomainError(
            "expired",
            f"{label} is usable through {hold.use_by}, fitting is on {day} at the earliest.",
            hold=hold.pk,
            use_by=str(hold.use_by),
        )
    return None


def hand_over(*, actor: Person, stamp: Stamp, pick_list: int, received_by: Person, missing: Sequence[str] = ()) -> Done:
    """Cart to bench, signed by two people, what is missing named; the special tools go along on loan.

    Who takes it over is another person than the giver, and one who may fit ("same-person", "may-not-take-over"; common practice).

    Everything on the job's cart moves. What the list (and, at its steps, the job's list of now) asks for and that is neither on
    the cart, at the bench, fitted, reused, nor not needed must be named in `missing`: parts by number, choices that are still
    open by their code, parts in conflict and what is to be bought in and has no part yet by their position ("missing-not-named" tells each with how much, where and why). It
    stays held or lacking, so the line is open again.
    What is stopped, past its use-by on the day of fitting, or left to other engines by a notice goes to no bench ("lot-stopped", "expired", "not-for-engine").
    Sets and bearings on the cart have been looked at by a second person ("second-look-missing").
    What was picked for a revision that a maker's bulletin stops goes nowhere ("stopped-by-maker"), nor what stands in for a listed part
    without the owner's word where that is needed by now ("substitute-not-agreed").
    What may not be mixed on one engine, or on one bank, is checked again here ("mixed"), and whether everything on the cart still has
    its companion on the list ("companion-missing"). Who receives a chemical has signed its
    safety data sheet as read ("safety-sheet-unread"). A tool that the crib has not got is named in the outcome. Outcome: {"job", "moved": [...], "missing": [names], "absent": [{name, what, amount, base, shown,
    positions, step, why}], "not_missing": named and here all the same, "to_count": bins that do not hold what the books say, which
    are listed until they are counted (`kits/queries/bins_to_count.py`) [{place, spot, item, part, lot, serial, tube, on_books, base}], "tools": [...], "tools_short": [...]}.
    """
    listed = pick_list_by_id(pick_list, whole=True)
    request = {"pick_list": pick_list, "received_by": received_by.pk, "missing": sorted(missing)}

    def work(act: Act) -> Body:
        if received_by.pk == actor.pk:
            raise DomainError("same-person", "A hand-over is signed by two people.", person=str(actor))
        if not received_by.has_perm("kits.act_fit"):
            raise DomainError(
                "may-not-take-over",
                f"{received_by} may not take the cart over: whoever signs for it fits what is on it.",
                ways_out=("Name the technician who takes it.",),
                person=str(received_by),
            )
        job = open_job(listed.job.number)
        lock_engine(job)
        on_cart = in_place([job.cart_id])
        today = shop_day(act.occurred_at)
        refuse_unusable(on_cart, job, today)
        now = job_list(job, today, stock=False)
        promised = promised_of(job)
        absent, to_count = absent_of(now, listed, promised)
        named = _all_named(absent, missing)
        if not on_cart:
            raise DomainError("nothing-there", f"The cart of job {job.number} is empty.", job=job.number)
        _refuse_cart(now, on_cart, promised, today)
        moved = _to_bench(act, job, on_cart, received_by)
        insert(
            Handover._meta.db_table,
            ("pick_list_id", "act_id", "received_by_id", "missing"),
            [(listed.pk, act.pk, received_by.pk, named)],
        )
        BinToCount.objects.bulk_create(
            [
                BinToCount(
                    act=act, pick_list=listed, item_id=one["item"], spot_id=one.pop("spot_id"),
                    why=f"missing at the hand-over of pick list {listed.number} of job {job.number}",
                )
                for one in to_count
            ]
        )  # fmt: skip
        lent, short = _lend(act, job, [row["tool"] for row in listed.document.get("tools", [])])
        touch(job)
        return {
            "job": job.number,
            "moved": moved,
            "missing": named,
            "absent": [one.document() for one in absent],
            "not_missing": sorted(
                {name.strip() for name in missing} - {name for one in absent for name in _names(one)}
            ),
            "to_count": to_count,
            "tools": lent,
            "tools_short": short,
        }

    return run("hand over", work, actor=actor, stamp=stamp, request=request, subject=listed.job.number)


def _refuse_cart(now: JobList, on_cart: Sequence[Standing], promised: Sequence[Promised], today: date) -> None:
    """What by the list of now goes to no bench."""
    clash = mixed_on_job(now) if may_be_mixed(now) else []
    if clash:
        raise DomainError("mixed", "; ".join(one["why"] for one in clash), conflicts=clash)
    refuse_going_alone(now, {one.part_id for one in on_cart})
    amounts: Counter[int] = Counter()
    for one in on_cart:
        amounts[one.item_id] += one.amount
    refuse_going(now, promised, amounts, today)
    refuse_stopped_cart(now, {one.item_id for one in on_cart})
    refuse_not_looked_at(now.job, on_cart)


def _names(one: Absent) -> set[str]:
    return {one.name, *one.also}


def _all_named(absent: Sequence[Absent], missing: Sequence[str]) -> list[str]:
    """The names of what is missing, sorted; DomainError "missing-not-named" tells each that nobody named."""
    said = {name.strip() for name in missing}
    unnamed = [one for one in absent if not said & _names(one)]
    if unnamed:
        raise DomainError(
            "missing-not-named",
            f"Not with the cart and not named as missing: {'; '.join(one.sentence() for one in unnamed)}.",
            ways_out=("Pick it, or hold it and pick it.", "Name it as missing: it stays held, or lacking."),
            parts=sorted({one.name for one in unnamed}),
            missing=[one.document() for one in unnamed],
        )
    return sorted({one.name for one in absent})


def _to_bench(act: Act, job: Job, rows: Sequence[Standing], receiver: Person) -> list[Body]:
    refuse_unread(((row.part_id, row.part, row.kind) for row in rows), receiver, act.occurred_at)
    cart, bench = things.spots(job.cart, {row.spot_name for row in rows}), things.spot(job.bench)
    post(act, [Move(row.thing, row.amount, cart[row.spot_name], bench) for row in rows])
    return [
        {
            "part": row.part,
            "lot": row.lot_code,
            "serial": row.serial,
            "tube": row.tube_number,
            "amount": row.amount,
        }
        for row in rows
    ]


def _lend(act: Act, job: Job, tools: Iterable[str]) -> tuple[list[str], list[Body]]:
    """Tools of the list that are not on loan to the job yet; what the crib has not got is named with who has it."""
    wanted = list(dict.fromkeys(tools))
    if not wanted:
        return [], []
    locks.name("tool crib", job.site.code)
    marks = by_hand.marks(len(wanted))
    have = dict(by_hand.rows(_CRIB.format(marks), [job.site_id, *wanted]))
    holders: dict[str, list[str]] = defaultdict(list)
    for tool, holder in by_hand.rows(_LENT.format(marks), [job.site_id, *wanted]):
        holders[tool].append(holder)
    wanted = [tool for tool in wanted if job.number not in holders[tool]]
    lent = [tool for tool in wanted if len(holders[tool]) < have.get(tool, 0)]
    short = [
        {"tool": tool, "with": sorted(holders[tool]), "crib": have.get(tool, 0)} for tool in wanted if tool not in lent
    ]
    _hand_out(act, job, lent)
    return lent, short


def _hand_out(act: Act, job: Job, tools: Sequence[str]) -> None:
    insert(
        ToolLoan._meta.db_table,
        ("job_id", "act_id", "site_id", "tool"),
        [(job.pk, act.pk, job.site_id, tool) for tool in tools],
    )


_CRIB = "SELECT tool, count FROM kits_cribtool WHERE site_id = %s AND tool IN ({})"
_LENT = """
    SELECT l.tool, j.number FROM kits_toolloan l JOIN kits_job j ON j.id = l.job_id
    LEFT JOIN kits_toolback b ON b.loan_id = l.id
    WHERE l.site_id = %s AND l.tool IN ({}) AND b.loan_id IS NULL"""
