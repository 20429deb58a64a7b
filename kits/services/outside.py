"""A piece of a job goes from its bench to an outside machinist and comes back: acts that move it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Item, Person, Place, Short, Spot
from inventory.queries.days import shop_day
from inventory.services import lookup, things
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Job, OutsideDue, OutsideLoss, OutsideReturn, OutsideWork
from kits.queries.at_positions import came_out, old_at_bench
from kits.queries.outside import piece, refuse_not_out, sent_out
from kits.queries.scope import scope_of
from kits.services.rechecking import fit_on_day
from kits.services.shared import check_steps, open_job, touch


def send_outside(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    machinist: str,
    item: int,
    due_on: date,
    amount: str | int = 1,
    work: str = "",
    needed_by: Sequence[str] = (),
) -> Done:
    """A piece that came out of the engine goes from the job's bench to the place of an outside machinist, where it stands under the
    job's number.

    machinist  code of a place of the kind "outside work"
    amount     text with a unit, or whole base units
    needed_by  steps of the job ("P4/15") that need it, where the positions at which it sat do not say it rightly

    When it is due back after the day of fitting, that day moves with it. Outcome: {"outside_work", "item", "part", "amount", "positions",
    "from", "to", "due_on", "fit_on", and, when the day moved, the outcome of the check of holds}. Raises "dates-turned",
    "step-not-on-job", "wrong-place", "not-found", "not-there" (not at the bench of this job), "not-out-of-engine", those of amounts.
    """

    def do(act: Act) -> Body:
        row = open_job(job)
        sent = shop_day(act.occurred_at)
        if due_on < sent:
            raise DomainError(
                "dates-turned", f"Due back {due_on} lies before it is sent on {sent}.", due_on=str(due_on)
            )
        check_steps(scope_of(row), needed_by, "Leave it out: then its positions say which steps wait.")
        thing, place = lookup.item(item), _machinist(machinist)
        lookup.lock([(thing, row.bench), (thing, place)])
        number, _ = lookup.amount(thing, amount)
        bench, there = things.spot(row.bench), things.spot(place, row.number)
        _check_at_bench(row, thing, bench, number)
        sat = list(dict.fromkeys(came_out(row).get(thing.pk, ())))
        out = OutsideWork.objects.create(
            job=row, act=act, item=thing, amount=number, spot=there, positions=sat, needed_by=sorted(set(needed_by)),
            work=work.strip(), sent_on=sent, due_on=due_on,
        )  # fmt: skip
        post(act, [Move(thing, number, bench, there)])
        body: Body = {
            "outside_work": out.pk, "item": thing.pk, "part": thing.part.number, "amount": number, "positions": sat,
            "from": row.bench.code, "to": place.code, "due_on": due_on,
        }  # fmt: skip
        if due_on > row.fit_on:
            body |= fit_on_day(act, row, due_on, f"{piece(out)} is at {place.code} until {due_on}")
        touch(row)
        return {**body, "fit_on": row.fit_on}

    request = {
        "job": job, "machinist": machinist, "item": item, "amount": amount, "due_on": due_on, "work": work,
        "needed_by": sorted(set(needed_by)),
    }  # fmt: skip
    return run("send outside", do, actor=actor, stamp=stamp, request=request, subject=job)


def promise_back(*, actor: Person, stamp: Stamp, job: str, outside_work: int, due_on: date, reason: str) -> Done:
    """The machinist named another day for a piece that is out: from now on it is due back then.

    After the day of fitting it moves that day, as `send_outside` does; a day that is sooner moves nothing. Outcome: {"outside_work",
    "due_on", "was_due_on", "fit_on", and, when the day moved, the outcome of the check of holds}. Raises "reason-missing", "not-found",
    "back-already", "lost-outside", "dates-turned", "job-ended".
    """

    def do(act: Act) -> Body:
        lookup.need_reason(reason, "Who named the other day, and why?")
        row = open_job(job)
        out = sent_out(row, outside_work)
        refuse_not_out(out)
        today = shop_day(act.occurred_at)
        if due_on < today:
            raise DomainError(
                "dates-turned", f"Due back {due_on} lies before {today}, when it was said.", due_on=str(due_on)
            )
        OutsideDue.objects.create(outside_work=out, act=act, due_on=due_on, reason=reason)
        body: Body = {"outside_work": out.pk, "due_on": due_on, "was_due_on": out.due}
        if due_on > row.fit_on:
            body |= fit_on_day(act, row, due_on, f"{piece(out)} is at {out.spot.place.code} until {due_on}")
        touch(row)
        return {**body, "fit_on": row.fit_on}

    request = {"job": job, "outside_work": outside_work, "due_on": due_on, "reason": reason}
    return run("promise back from outside", do, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def back_from_outside(*, actor: Person, stamp: Stamp, job: str, outside_work: int) -> Done:
    """The piece came back, all of it that was not lost there: it lies at the job's bench again.

    Outcome: {"outside_work", "item", "amount", "from", "to", "back_on", "due_on"}. Raises "not-found", "back-already", "lost-outside", "job-ended".
    """

    def do(act: Act) -> Body:
        row = open_job(job)
        out = sent_out(row, outside_work)
        lookup.lock([(out.item, out.spot.place), (out.item, row.bench)])
        refuse_not_out(out)
        back_on = shop_day(act.occurred_at)
        OutsideReturn.objects.create(outside_work=out, act=act, back_on=back_on)
        post(act, [Move(out.item, out.left, out.spot, things.spot(row.bench))])
        touch(row)
        return {
            "outside_work": out.pk, "item": out.item_id, "amount": out.left, "from": out.spot.place.code,
            "to": row.bench.code, "back_on": back_on, "due_on": out.due,
        }  # fmt: skip

    request = {"job": job, "outside_work": outside_work}
    return run("back from outside", do, actor=actor, stamp=stamp, request=request, subject=job)


def lose_outside(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    outside_work: int,
    said_by: str,
    reason: str,
    amount: str | int | None = None,
) -> Done:
    """The machinist says that the piece is lost there: it leaves what the shop has, counted short, and the job is short of it by name.

    said_by  who there said so, in words
    amount   how much of it; None: all that is out. The rest is out still, and due back
    What it was taken out of stays an open line until something else is there. Found after all, the act is corrected: the piece is out
    again. Outcome: {"outside_work", "item", "part", "amount", "still_out", "at", "positions", "said_by", "short": {part, amount, why}}.
    Raises "reason-missing", "not-found", "back-already", "lost-outside", "not-there" for more than is out, "job-ended", those of amounts.
    """

    def do(act: Act) -> Body:
        lookup.need_reason(reason, "How was it lost?")
        lookup.need_reason(said_by, "Who there said that it is lost?")
        row = open_job(job)
        out = sent_out(row, outside_work)
        lookup.lock([(out.item, out.spot.place)])
        out = sent_out(row, outside_work)
        refuse_not_out(out)
        number = out.left if amount is None else lookup.amount(out.item, amount)[0]
        place, left = out.spot.place.code, out.left - number
        if left < 0:
            raise DomainError(
                "not-there",
                f"{out.left} of {out.item.called} are at {place} for job {job}; {number} cannot be lost there.",
                outside_work=out.pk, there=out.left, asked=number,
            )  # fmt: skip
        OutsideLoss.objects.create(outside_work=out, act=act, amount=number, said_by=said_by.strip(), reason=reason)
        post(act, [Move(out.item, number, out.spot, things.books_only(PlaceKind.COUNT_DIFFERENCE))])
        why = f"lost at {place}, said by {said_by.strip()}: {reason}"
        part = out.item.part
        Short.objects.create(act=act, to_spot=things.spot(row.cart), part=part, amount=number, why=why)
        touch(row)
        return {
            "outside_work": out.pk, "item": out.item_id, "part": part.number, "amount": number, "still_out": left,
            "at": place, "positions": list(out.positions), "said_by": said_by.strip(),
            "short": {"part": part.number, "amount": number, "why": why},
        }  # fmt: skip

    request = {"job": job, "outside_work": outside_work, "said_by": said_by, "reason": reason, "amount": amount}
    return run("lose outside", do, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _machinist(code: str) -> Place:
    found = things.place(code)
    if found.kind != PlaceKind.OUTSIDE:
        raise DomainError(
            "wrong-place",
            f"{code} is {a(found.kind)}: a piece goes to a place of an outside machinist.",
            ways_out=(f"Enter the machinist as a place of the kind {PlaceKind.OUTSIDE}.",),
            place=code,
        )
    return found


def _check_at_bench(job: Job, thing: Item, bench: Spot, number: int) -> None:
    row = lookup.balances([(thing.pk, bench.pk)]).get((thing.pk, bench.pk))
    if row is None or row.amount - row.held < number:
        error = lookup.not_free(thing, bench, number, row)
        raise DomainError(
            error.code,
            f"{error.message} What goes outside lies at the bench of job {job.number} first.",
            ways_out=("Remove it from the engine to the bench first.",),
            **error.values,
        )
    old = old_at_bench(job, [thing.pk]).get(thing.pk, 0)
    if old < number:
        raise DomainError(
            "not-out-of-engine",
            f"{old} of {lookup.label(thing)} at the bench came out of this engine; {number} were to go outside.",
            ways_out=("Send what came out of the engine; what is new goes back to its shelf first.",),
            item=thing.pk, part=thing.part.number, old=old, asked=number,
        )  # fmt: skip
