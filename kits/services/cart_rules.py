"""What may not leave the cart for the bench, and what a stop takes from a job that had it already. Private to services."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date

from django.db.models import Exists, OuterRef

from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import usable_on
from inventory.models import Act, Balance, HoldEnd, Movement, Short
from inventory.queries.stock import Standing
from kits.models import Job, JobHold
from kits.queries.at_positions import old_at_bench
from kits.queries.by_notice import number_sentence, shut_out


def refuse_unusable(on_cart: Sequence[Standing], job: Job, today: date) -> None:
    """DomainError "lot-stopped", or else "expired", names everything on the cart that is stopped or past its use-by on the day of fitting;
    "not-for-engine" what a replacement notice, entered after the pick, leaves to other engines."""
    _refuse_for_other_engines(on_cart, job)
    day = job.fit_day(today)
    bad = [row for row in on_cart if row.stopped or not usable_on(row.use_by, day)]
    if not bad:
        return
    stopped = any(row.stopped for row in bad)
    raise DomainError(
        "lot-stopped" if stopped else "expired",
        "It goes to no bench: " + "; ".join(_why(row) for row in bad) + ".",
        ways_out=("Return it from the cart: it goes to quarantine. What it served is held and picked anew.",),
        things=[
            {
                "item": row.item_id,
                "part": row.part,
                "lot": row.lot_code,
                "serial": row.serial,
                "amount": row.amount,
                "stopped": row.stopped,
                "use_by": row.use_by.isoformat() if row.use_by else None,
            }
            for row in bad
        ],
    )


def _refuse_for_other_engines(on_cart: Sequence[Standing], job: Job) -> None:
    limited = [row for row in on_cart if row.limited]
    elsewhere = shut_out(job.engine, {row.part_id for row in limited})
    bad = [row for row in limited if row.part_id in elsewhere]
    if not bad:
        return
    said = dict.fromkeys(number_sentence(job.engine, row.part, elsewhere[row.part_id]) for row in bad)
    raise DomainError(
        "not-for-engine",
        "It goes to no bench: " + " ".join(said),
        ways_out=("Return it from the cart, and hold what replaces it.",),
        things=[{"item": row.item_id, "part": row.part, "lot": row.lot_code, "amount": row.amount} for row in bad],
    )


def _why(row: Standing) -> str:
    called = " ".join(word for word in (row.part, row.lot_code or row.serial) if word)
    return f"{called} is stopped" if row.stopped else f"{called} was usable through {row.use_by}"


def short_of_stopped(act: Act, items: Collection[int], why: str) -> list[Short]:
    """A named short for each running job on whose cart or at whose bench one of these items lies new: it serves nothing any more."""
    rows = Balance.objects.filter(item__in=items, amount__gt=0, real=True).exclude(place__kind="engine")
    amounts = list(rows.values_list("place_id", "item_id", "amount"))
    places = {place for place, _, _ in amounts}
    jobs = Job.objects.filter(cart__in=places) | Job.objects.filter(bench__in=places)
    shorts: list[Short] = []
    for job in jobs.filter(state=Job.State.BOOKED).select_related("cart").order_by("pk"):
        lying: dict[int, int] = {}
        for place, item, amount in amounts:
            if place in (job.cart_id, job.bench_id):
                lying[item] = lying.get(item, 0) + amount
        shorts += _lacking(act, job, lying, dict.fromkeys(lying, why))
    return Short.objects.bulk_create(shorts)


def short_of_too_old(act: Act, job: Job, rows: Sequence[Standing], day: date, was: date | None) -> list[Short]:
    """A named short for what lies new on a running job's cart or at its bench and is past its use-by on the day of fitting; once only, unless
    it was good on the day before this one was named.

    rows  what lies there and may not be fitted; what is stopped came up short by its stop
    """
    old = [row for row in rows if not row.stopped]
    lying: dict[int, int] = {}
    for row in old:
        lying[row.item_id] = lying.get(row.item_id, 0) + row.amount
    whys = {row.item_id: f"{_why(row)}, fitting is on {day} at the earliest" for row in old}
    found = _lacking(act, job, lying, whys) if lying else []
    good = {row.item_id for row in old if was is not None and usable_on(row.use_by, was)}
    said = Short.objects.filter(hold__in=[one.hold_id for one in found])
    # What was lost off the cart came up short by itself: it says nothing of what lies there still.
    lost = Movement.objects.filter(act=OuterRef("act"), item=OuterRef("hold__item"), from_spot=OuterRef("to_spot"))
    known = set(said.filter(~Exists(lost)).values_list("hold_id", flat=True))
    return Short.objects.bulk_create(
        [one for one in found if one.hold is not None and (one.hold.item_id in good or one.hold_id not in known)]
    )


def _lacking(act: Act, job: Job, lying: Mapping[int, int], whys: Mapping[int, str]) -> list[Short]:
    """Shorts, not written yet, of what a job picked of these items and lies new on its cart or at its bench."""
    old = old_at_bench(job, lying)
    picked = JobHold.objects.filter(job=job, hold__item__in=lying, hold__end__how=HoldEnd.How.PICKED).select_related(
        "hold__item__part", "hold__to_spot__place"
    )
    newest = {row.hold.item_id: row.hold for row in picked.order_by("hold_id")}
    return [
        Short(
            act=act,
            hold=newest[item],
            to_spot=newest[item].to_spot,
            part=newest[item].item.part,
            amount=new,
            why=whys[item],
        )
        for item, amount in sorted(lying.items())
        if item in newest and (new := amount - old.get(item, 0)) > 0
    ]
