"""What lies on the cart of a job, and nobody booked it there: it is issued now, what the list does not want of it as an extra."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Item, Person, Place, Spot
from inventory.queries.days import shop_day
from inventory.queries.replacements import joined_parts
from inventory.queries.stock import on_shelves
from inventory.services import holding, lookup, things
from inventory.services.holding import Promise
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Extra, Job, JobHold, PickList
from kits.queries.job_list import JobList, list_basis, list_on
from kits.services.hold_list import Lent, hold_listed
from kits.services.hold_rules import refuse_asked_over_limit, refuse_other_engine
from kits.services.shared import lock_engine, open_job, refuse_unsorted, touch
from kits.services.substitute_rules import refuse_asked_substitute


def issue_found(
    *,
    actor: Person,
    stamp: Stamp,
    job: str,
    item: int,
    place: str,
    amount: str | int,
    reason: str,
    spot: str = NO_SPOT,
    extra_reason: str = "",
) -> Done:
    """A thing was found on the job's cart that the books have at a shelf: it is issued, in one entry of the books.

    place, spot   where the books have it. Where it was counted short meanwhile, that count is taken back first.
    extra_reason  of the short list of extras, for what the job's list does not want of it; it becomes an extra of the job
    Outcome: {"item", "part", "amount", "wanted": so much served the list, "extra": so much did not, "pick_list", "number", "holds"}.
    Raises "reason-missing" (also for an extra), "wrong-place", "not-free", "lot-stopped", "expired", "serial-is-one", and what a hold of
    the list is refused for.
    """
    request = {
        "job": job, "item": item, "place": place, "spot": spot, "amount": amount, "reason": reason, "extra_reason": extra_reason,
    }  # fmt: skip

    def work(act: Act) -> Body:
        lookup.need_reason(reason, "How did it come to the cart?")
        row = open_job(job)
        thing, lies = lookup.item(item), things.place(place)
        _check_place(lies, row)
        refuse_unsorted([thing.part])
        basis = list_basis(row)
        wanted = {part.pk for part in basis.parts.values()}
        joined = joined_parts(wanted)
        lock_engine(row)
        locks.scarcer((part_id, row.site_id) for part_id in wanted | joined | {thing.part_id})
        number, _ = lookup.amount(thing, amount)
        where = things.spot(lies, spot)
        listed = list_on(basis, shop_day(act.occurred_at))
        _check_good(listed, thing, where, number)
        made = _served(act, row, listed, Lent(thing.part_id, thing.pk, where.pk, number), joined)
        served = sum(one["amount"] for one in made["held"])
        holds = [one["hold"] for one in made["held"]]
        pick_list, which = made["pick_list"], made["number"]
        if number > served:
            extra = _extra(act, row, listed, thing, number - served, extra_reason)
            hold, pick_list, which = _hold_extra(extra, thing, where, pick_list, which)
            holds.append(hold)
        found = holding.open_holds(holds)
        holding.pick(act, [(found[one], found[one].amount) for one in holds], as_one=True)
        touch(row)
        return {
            "item": thing.pk, "part": thing.part.number, "amount": number, "wanted": served, "extra": number - served,
            "pick_list": pick_list, "number": which, "holds": holds,
        }  # fmt: skip

    return run("issue what was found", work, actor=actor, stamp=stamp, request=request, subject=job, reason=reason)


def _check_place(lies: Place, job: Job) -> None:
    if lies.kind != PlaceKind.SHELF or lies.site_id != job.site_id:
        raise DomainError(
            "wrong-place",
            f"{lies.code} is no shelf of the site of job {job.number}.",
            ways_out=("Transfer it to a shelf of the site first, from another site by a note.",),
            place=lies.code,
        )


def _check_good(listed: JobList, thing: Item, where: Spot, amount: int) -> None:
    """There, free, not stopped, good on the day of fitting; an opened tube is picked by its own line."""
    rows = [one for one in on_shelves([thing.part_id]) if (one.item_id, one.spot_id) == (thing.pk, where.pk)]
    if not rows or rows[0].free < amount:
        raise lookup.not_free(thing, where, amount, lookup.balances([(thing.pk, where.pk)]).get((thing.pk, where.pk)))
    label = lookup.label(thing)
    if thing.tube_id is not None:
        raise DomainError("not-whole", f"{label} is an opened tube: hold and pick it.", item=label)
    if rows[0].stopped:
        raise DomainError("lot-stopped", f"{label} is stopped: it may not be used.", item=label)
    if not usable_on(rows[0].use_by, listed.fit_day):
        raise DomainError(
            "expired", f"{label} is usable through {rows[0].use_by}, fitting is on {listed.fit_day}.", item=label
        )


def _served(act: Act, job: Job, listed: JobList, found: Lent, joined: set[int]) -> Body:
    """What of it the list wants, held; nothing, where it wants none."""
    try:
        return hold_listed(act, job, listed, set(), None, joined, found)
    except DomainError as error:
        if error.code != "nothing-to-hold":  # refused before anything is written
            raise
        return {"held": [], "pick_list": None, "number": None}


def _extra(act: Act, job: Job, listed: JobList, thing: Item, amount: int, reason: str) -> Extra:
    if reason not in Extra.Reason.values:
        raise DomainError(
            "reason-missing",
            f"{amount} are more than the list wants: an extra needs a reason of {', '.join(Extra.Reason.values)}.",
            reason=reason[:60],
            reasons=list(Extra.Reason.values),
        )
    refuse_other_engine(listed, thing.part)
    refuse_asked_substitute(listed, thing.part.number, joined_parts([thing.part_id]), (), shop_day(act.occurred_at))
    if reason == Extra.Reason.FOUND:
        refuse_asked_over_limit(listed, thing.part, amount)
    return Extra.objects.create(job=job, act=act, part=thing.part, amount=amount, reason=reason)


def _hold_extra(
    extra: Extra, thing: Item, where: Spot, pick_list: int | None, number: int | None
) -> tuple[int, int, int | None]:
    """Hold what is an extra, on the pick list of the act; made where the list wanted nothing of it."""
    job = extra.job
    promise = Promise(thing.pk, where.pk, extra.amount, job.fit_on)
    (hold,) = holding.hold_ids(extra.act, things.spot(job.cart), [promise])
    if pick_list is None:
        asked = {"part": extra.part.number, "amount": extra.amount, "reason": extra.reason, "positions": []}
        number = PickList.objects.filter(job=job).count() + 1
        made = PickList.objects.create(job=job, act=extra.act, number=number, document={"extra": asked, "tools": []})
        pick_list = made.pk
    JobHold.objects.create(hold_id=hold, job=job, pick_list_id=pick_list, wanted=extra.part, positions=[])
    return int(hold), pick_list, number
