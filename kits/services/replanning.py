"""What a stop makes impossible is held anew from other stock in the same act, as far as there is some. Private to services."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import Q

from inventory.models import Act, Hold, HoldEnd, Short
from inventory.queries.shop import shop
from inventory.services import holding
from inventory.services.run import Body
from kits.models import Job, JobHold
from kits.queries.by_notice import shut_out
from kits.queries.served import promises_of
from kits.services.rechecking import hold_anew


def hold_other_lots(act: Act, holds: Sequence[Hold], why: str) -> tuple[list[Hold], list[Body], list[Short]]:
    """Of pieces that are alike; who is fitted first is served first. A set was chosen for its bore, an opened tube for its joints, a lot
    that somebody named was named for a reason, and what is lent was agreed: these are short, and a person decides.

    The holds that were left alone, what is held instead, the named shorts of the rest. The parts are locked at every site.
    """
    rows = JobHold.objects.filter(
        Q(hold__lent__isnull=True) | Q(hold__lent__loan__end__isnull=False),
        hold__in=[one.pk for one in holds if not one.item.single and not one.item.tube_id],
        job__state=Job.State.BOOKED,
        on_approval=False,
    ).exclude(Q(hold__act__kind="hold") & ~Q(hold__act__reason=""))
    ours = dict(rows.values_list("hold_id", "job_id"))
    if not ours:
        return list(holds), [], []
    jobs = (
        Job.objects.filter(pk__in=set(ours.values())).select_related("cart", "engine__family").order_by("fit_on", "pk")
    )
    gone = {
        job: [one for one in promises_of(job) if one.open and one.hold.pk in ours and not one.poured] for job in jobs
    }
    ended = [one.hold for its in gone.values() for one in its]
    holding.end(act, ended, HoldEnd.How.IMPOSSIBLE, why)
    broken = {hold.pk: why for hold in ended}
    instead: list[Body] = []
    for job, its in gone.items():
        shut = shut_out(job.engine, {one.hold.item.part_id for one in its})
        replaced, _ = hold_anew(act, job, its, broken, shop().margin_days, shut)
        instead += [{"job": job.number, **one} for one in replaced]
    shorts = Short.objects.filter(act=act, hold__in=broken).select_related("hold__item__part", "hold__to_spot__place")
    left = [one for one in holds if one.pk not in broken]
    return left, instead, sorted(shorts, key=_later_first)


def _later_first(short: Short) -> tuple[int, int]:
    assert short.hold is not None  # asked for by its hold
    return -short.hold.day.toordinal(), -short.hold.pk
