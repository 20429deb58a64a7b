"""One more, asked in mid-job: always with a reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from inventory import locks
from inventory.domain.allocation import Need, Short, allocate, natural
from inventory.domain.errors import DomainError
from inventory.models import Act, Hold, Part, Person
from inventory.queries.days import shop_day
from inventory.queries.joins import records_of
from inventory.queries.replacements import joined_parts
from inventory.queries.shop import shop
from inventory.queries.stock import Standing, on_shelves
from inventory.services import holding, things
from inventory.services.holding import Promise
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.extra_findings import findings_meant
from kits.domain.fills import refuse_over_book
from kits.domain.serving import PIECE
from kits.models import Extra, ExtraFinding, Job, JobHold, PickList
from kits.queries.documents import family_of
from kits.queries.fills import filled_with
from kits.queries.holders import holders_of, kept_of
from kits.queries.job_list import job_list
from kits.queries.standing_verdicts import sort_out
from kits.services.doubts import doubt_lines
from kits.services.hold_rules import refuse_alone, refuse_asked_over_limit, refuse_other_engine
from kits.services.maker_stops import refuse_stopped_extra
from kits.services.shared import check_positions, lock_engine, lot_of, open_job, refuse_unsorted, touch
from kits.services.substitute_rules import refuse_asked_substitute
from kits.services.whole_packs import in_whole_packs


def ask_for_more(
    *, actor: Person, stamp: Stamp, job: str, part: str, amount: str | int, reason: str, positions: Sequence[str] = ()
) -> Done:
    """Hold one more of a part for a job, outside its list; a short when the shelves have none.

    reason  one of the short list ("found after strip", "damaged in fitting", "wrong on list", "dropped", "lost", "due after first run")
    Refused as a hold is: ("not-for-engine") where lines or notices rule it out for this engine's number, ("companion-missing") where the part would go without what its replacement notice says goes with it,
    ("fill-over-book") where it makes a fill more than one and a half times the book and no word confirms that,
    ("stopped-by-maker") where a maker's bulletin stops the revision that asks for it,
    ("substitute-not-agreed") where it replaces what is listed there, and the owner has to agree and did not,
    ("over-limit") where it was found after strip and the extra work comes to more than the owner agreed to.
    "found after strip" counts as the findings that its parts line names (`kits/domain/extra_findings.py`).
    "wrong on list" is kept as a doubt of the parts line that is meant: three bring it up for review (`kits/queries/line_reviews.py`).
    Outcome: {"pick_list", "number", "held": [{hold, item, lot, serial, place, amount}], "short": pieces missing, "why", "held_by": the
    jobs that hold what would have served}.
    """

    def work(act: Act) -> Body:
        _need_listed(reason)
        row = open_job(job)
        check_positions(row, positions)
        wanted = things.parts_by_number([part])[part]
        refuse_unsorted([wanted])
        number, _ = things.amount(wanted, amount)
        records = records_of([wanted.pk])
        lock_engine(row)
        locks.scarcer((part_id, row.site_id) for part_id in records)
        today = shop_day(act.occurred_at)
        listed = job_list(row, today, stock=False)
        joined = joined_parts([wanted.pk]) | {wanted.pk}
        same = {number for number, one in listed.parts.items() if one.pk in joined} | {wanted.number}
        refuse_stopped_extra(listed, same, positions)
        refuse_other_engine(listed, wanted)
        refuse_alone(listed, joined, asked=(part, number if wanted.base == PIECE else 0, positions))
        refuse_asked_substitute(listed, wanted.number, joined - {wanted.pk}, positions, today)
        refuse_over_book(filled_with(listed, wanted, number, positions))
        if reason == Extra.Reason.FOUND:
            refuse_asked_over_limit(listed, wanted, number)
        standings = _standing(records, wanted, row)
        need = Need("extra", wanted.pk, number, row.fit_day(today), row.number, shop().margin_days)
        holds, short = _held(act, row, need, standings, wanted)
        extra = Extra.objects.create(
            job=row, act=act, part=wanted, amount=number, reason=reason, positions=list(positions)
        )
        if reason == Extra.Reason.FOUND:
            meant = findings_meant(same, positions, listed.scope.operations)
            ExtraFinding.objects.bulk_create([ExtraFinding(extra=extra, code=code) for code in meant])
        if reason == Extra.Reason.WRONG:
            doubt_lines(extra, listed, same, positions)
        pick_list = _pick_list(extra, holds)
        touch(row)
        return {
            "pick_list": pick_list.pk,
            "number": pick_list.number,
            "held": _said(holds, standings),
            "short": short.quantity if short else 0,
            "why": "; ".join([short.why, *kept_of(standings).values()]) if short else "",
            "held_by": _holders(standings, row, need) if short else [],
        }

    request = {"job": job, "part": part, "amount": amount, "reason": reason, "positions": list(positions)}
    return run("extra", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _pick_list(extra: Extra, holds: Sequence[Hold]) -> PickList:
    """The pick list of one extra. It serves no listed position a second time: it carries its positions with the amount 0."""
    job, part, positions = extra.job, extra.part, extra.positions
    asked = {
        "part": part.number, "amount": extra.amount, "base": part.base, "reason": extra.reason, "positions": positions
    }  # fmt: skip
    number = PickList.objects.filter(job=job).count() + 1
    pick_list = PickList.objects.create(job=job, act=extra.act, number=number, document={"extra": asked, "tools": []})
    none = [[name, 1, 0] for name in positions]
    JobHold.objects.bulk_create(
        [JobHold(hold=hold, job=job, pick_list=pick_list, wanted=part, positions=none) for hold in holds]
    )
    return pick_list


def _need_listed(reason: str) -> None:
    if reason not in Extra.Reason.values:
        raise DomainError(
            "reason-missing", f"A reason from the list is needed: {', '.join(Extra.Reason.values)}.", reason=reason[:60],
            reasons=list(Extra.Reason.values),
        )  # fmt: skip


def _standing(records: set[int], wanted: Part, job: Job) -> list[Standing]:
    """What is on the shelves of the job's site, and what stands there under another record of the number, which serves as well."""
    rows, _ = sort_out(family_of(job.family_revision), on_shelves(records, job.site_id), job.number)
    return [replace(one, part_id=wanted.pk) for one in rows if not one.tube_number]


def _held(
    act: Act, job: Job, need: Need, standings: Sequence[Standing], wanted: Part
) -> tuple[list[Hold], Short | None]:
    """Hold what the shelves have of it, packs that may not be broken whole; what they lack."""
    allocation = allocate([need], [lot_of(one) for one in standings])
    promises = [Promise(line.item_id, line.spot_id, line.quantity, job.fit_on) for line in allocation.lines]
    holds = holding.hold(act, things.spot(job.cart), in_whole_packs(promises, standings, {wanted.pk: wanted}))
    return holds, allocation.short[0] if allocation.short else None


def _holders(standings: Sequence[Standing], job: Job, need: Need) -> list[str]:
    found = holders_of(standings, job, need.fit_date, need.margin_days)
    return sorted({number for numbers in found.values() for number in numbers}, key=natural)


def _said(holds: Sequence[Hold], standings: Sequence[Standing]) -> list[Body]:
    """What was held, for the outcome: the thing and where it is picked."""
    at = {(one.item_id, one.spot_id): one for one in standings}
    said = []
    for hold in holds:
        stands = at[hold.item_id, hold.from_spot_id]
        said.append(
            {
                "hold": hold.pk,
                "item": hold.item_id,
                "lot": stands.lot_code,
                "serial": stands.serial,
                "place": stands.place_code,
                "amount": hold.amount,
            }
        )
    return said
