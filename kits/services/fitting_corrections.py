"""What was recorded as fitted was another thing: the wrong one leaves the engine's record, the right one enters it, by one act."""

from __future__ import annotations

from dataclasses import replace

from inventory import locks
from inventory.domain.articles import a
from inventory.domain.errors import DomainError
from inventory.domain.items import Base
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Item, Person, Spot
from inventory.queries.days import shop_day
from inventory.queries.stock import stopped_items
from inventory.services import lookup, things
from inventory.services.holding import room_for
from inventory.services.post import Move, post
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Fitting, FittingCorrection, Job
from kits.queries.marks import bores_of
from kits.queries.scope import job_by_number
from kits.services.shared import touch

#: Where the right thing may stand by the books while it is in the engine.
_STANDS_IN = (PlaceKind.SHELF, PlaceKind.QUARANTINE)


def correct_fitting(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    position: str,
    item: int,
    right: int,
    place: str,
    reason: str,
    spot: str = NO_SPOT,
    amount: int | None = None,
) -> Done:
    """Correct which lot or serial was fitted at a use position of a job, be it closed.

    item, right    the item that was recorded and the one that went in: of one part
    place, spot    where the right one stands by the books (a shelf, quarantine; of a running job its cart and bench); the wrong
                   one, which never was in the engine, stands there from now on
    amount         whole base units that were of the right one; None: all that was recorded

    True since the fitting: `stamp.occurred_at` is replaced by its moment. Fitter, checker and what else was said of it stay. No rule of
    quality stops it: what really is in the engine is recorded, and `loud` says what is wrong with it. Outcome: {"job", "position",
    "part", "amount", "occurred_at", "wrong": {item, lot, serial, now_at}, "right": {item, lot, serial, came_from}, "fitter",
    "checker", "loud": [...], "shorts": [...]}.
    Raises DomainError "not-found", "reason-missing", "wrong-part", "wrong-place", "more-than-listed",
    "amount-not-positive", "not-correctable" (out of a tube), "not-there", "backdated-below-zero".
    """
    request = {
        "job": job, "position": position, "item": item, "right": right, "place": place, "spot": spot, "amount": amount, "reason": reason,
    }  # fmt: skip
    found = _fitted(job, position, item)
    when = replace(stamp, occurred_at=found.act.occurred_at) if found is not None else stamp

    def work(act: Act) -> Body:
        lookup.need_reason(reason, f"How is it known what was fitted at {position}?")
        row = job_by_number(job)
        locks.row("kits_job", [row.pk])
        locks.row("kits_engine", [row.engine_id])
        row.refresh_from_db(fields=["state", "version"])
        fitting = _fitted(job, position, item)
        if fitting is None or found is None or fitting.pk != found.pk:
            raise _not_fitted(row, position, item)
        wrong, other = lookup.item(item), lookup.item(right)
        _check_things(wrong, other, position)
        number = _how_many(fitting, amount)
        came_from = _stands(row, place, spot)
        lookup.lock((one, came_from.place) for one in (wrong, other))
        standing = lookup.balances([(other.pk, came_from.pk)]).get((other.pk, came_from.pk))
        if standing is None or standing.amount < number:
            raise lookup.not_free(other, came_from, number, standing)
        leaving = {(other.pk, came_from.pk): number}
        shorts = room_for(
            act, leaving, f"it was in engine {row.engine.number} since {shop_day(act.occurred_at)}: {reason}"
        )
        post(act, [Move(wrong, number, fitting.spot, came_from), Move(other, number, came_from, fitting.spot)])
        _say(act, fitting, other, number)
        touch(row)
        return {
            "job": job,
            "position": position,
            "part": wrong.part.number,
            "amount": number,
            "occurred_at": act.occurred_at,
            "wrong": _named(wrong) | {"now_at": came_from.place.code},
            "right": _named(other) | {"came_from": came_from.place.code},
            "fitter": fitting.fitter.username,
            "checker": fitting.checker.username if fitting.checker else "",
            "loud": _loud(act, row, other, position),
            "shorts": lookup.said(shorts),
        }

    return run("correct fitting", work, actor=actor, stamp=when, request=request, subject=job, reason=reason)


def _fitted(job: str, position: str, item: int) -> Fitting | None:
    """The newest fitting of the item there on the job that counts."""
    rows = Fitting.objects.filter(
        job__number=job, spot__name=position, item=item, act__corrected_by__isnull=True, correction__isnull=True
    )
    return rows.select_related("act", "spot__place", "fitter", "checker", "corrects").order_by("-pk").first()


def _not_fitted(job: Job, position: str, item: int) -> DomainError:
    there = Fitting.objects.filter(
        job=job, spot__name=position, act__corrected_by__isnull=True, correction__isnull=True
    ).select_related("item__part")
    return DomainError(
        "not-found",
        f"Job {job.number} did not fit item {item} at {position[:80]}.",
        ways_out=("Name the item that our records say was fitted there.",),
        item=item,
        position=position[:80],
        fitted=[{"item": one.item_id, "called": one.item.called} for one in there.order_by("pk")],
    )


def _check_things(wrong: Item, right: Item, position: str) -> None:
    if right.part_id != wrong.part_id or right.member != wrong.member or right.pk == wrong.pk:
        raise DomainError(
            "wrong-part",
            f"{position}: {right.called} is not another lot or serial of {wrong.called}.",
            ways_out=(
                "Of another part, remove what is recorded on the next job of the engine, and record what was found.",
            ),
            position=position,
            item=wrong.pk,
            right=right.pk,
        )
    if wrong.base != Base.PIECE or right.base != Base.PIECE:
        raise DomainError(
            "not-correctable",
            f"{wrong.called} at {position} came out of a tube, and its bead was weighed with it.",
            ways_out=("Stop the lot of the tube that was really used: its other tubes are found so.",),
            item=wrong.pk,
        )


def _how_many(fitting: Fitting, amount: int | None) -> int:
    number = fitting.amount if amount is None else amount
    if number <= 0:
        raise DomainError("amount-not-positive", f"{number}: an amount above zero is needed.")
    if number > fitting.amount:
        raise DomainError(
            "more-than-listed",
            f"{fitting.amount} were recorded at {fitting.spot.name}, not {number}.",
            position=fitting.spot.name,
            recorded=fitting.amount,
            asked=number,
        )
    return number


def _stands(job: Job, place: str, spot: str) -> Spot:
    """Where the right one stands by the books."""
    found = things.place(place)
    own = job.state == Job.State.BOOKED and found.pk in (job.cart_id, job.bench_id)
    if lookup.kind(found) not in _STANDS_IN and not own:
        raise DomainError(
            "wrong-place",
            f"{place} is {a(found.kind)}: what was fitted stands by the books on a shelf or in quarantine.",
            ways_out=("Bring it to a shelf or to quarantine first.",),
            place=place,
        )
    return things.spot(found, spot)


def _say(act: Act, fitting: Fitting, right: Item, number: int) -> None:
    """The fitting as it was, with the right thing; and what of the recorded thing went in all the same."""
    said = {
        "job": fitting.job, "act": act, "spot": fitting.spot, "make": fitting.make, "reused": fitting.reused,
        "instead_of": fitting.instead_of,
        "lubricant": fitting.lubricant, "clock_deg": fitting.clock_deg, "side": fitting.side, "doubtful": fitting.doubtful,
        "fitter": fitting.fitter, "checker": fitting.checker,
    }  # fmt: skip
    made = Fitting.objects.create(item=right, amount=number, **said)
    left = fitting.amount - number
    rest = Fitting.objects.create(item=fitting.item, amount=left, **said) if left else None
    FittingCorrection.objects.create(fitting=fitting, act=act, since_id=fitting.first_recorded, right=made, rest=rest)


def _named(item: Item) -> Body:
    return {
        "item": item.pk,
        "lot": item.lot_code,
        "serial": item.serial_number,
    }


def _loud(act: Act, job: Job, right: Item, position: str) -> list[str]:
    """What is wrong with what is in the engine."""
    said = []
    if stopped_items([right.pk]):
        said.append(f"{right.called} is stopped and is in engine {job.engine.number} at {position}.")
    use_by = right.lot.expires_on if right.lot else None
    if not usable_on(use_by, shop_day(act.occurred_at)):
        said.append(f"{right.called} was usable through {use_by} and was fitted on {shop_day(act.occurred_at)}.")
    if right.serial is not None:
        bores = bores_of(job)
        marked = next((where for where, serial in bores.items() if serial == right.serial.number), None)
        meant = bores.get(position)
        if marked is not None and marked != position:
            said.append(f"{right.called} was marked for {marked}, not for {position}.")
        elif meant is not None and meant != right.serial.number:
            said.append(f"{position} was marked for {meant}, not for {right.serial.number}.")
    return said
