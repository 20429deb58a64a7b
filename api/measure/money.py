"""The topic `money`: what stock is worth, today and on past days, and what a job costs, beside a walk by hand over everything that ever
happened; by moving average and first in first out, after stock value was carried forward as a shop does it every night.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import datetime, timedelta
from fractions import Fraction
from typing import Any

from django.db.models import Max

from api.measure.catalogue import NOW
from api.measure.own import own_database, pointed_at
from api.measure.pairs import must_equal, pair
from api.measure.shop import SPAN, Say, Shop, load_shop, new_stamp, old_jobs
from api.measure.table import Limit, OtherAnswer, Sample
from api.measure.twins_of_money import walked
from inventory.domain.cost_pools import Method
from inventory.models import Movement, Part, ValueCarried
from inventory.queries.audit import audit
from inventory.queries.days import last_of, shop_day
from inventory.queries.valuation import stock_value
from inventory.queries.value_walk import AsOf
from inventory.services.set_up import set_up_shop
from inventory.services.value_points import carry_forward
from kits.models import Job
from kits.queries.job_costs import costs_of

#: A tenth of what going over everything takes, or half a second. How much was moved since the last moment carried is chance, and of
#: today there is one only: its growth says nothing.
TODAY, READ = Limit(Fraction(1, 10), 500, grows=True), Limit(Fraction(1, 10), 500)
LIMITS = {"stock value today": TODAY, "stock value on a past day": READ, "costs of a job": READ}


def measure_money(sizes: Sequence[int], pairs: int, say: Say) -> list[list[Sample]]:
    """Samples of every read by both methods for each size, `pairs` timed pairs each. OtherAnswer where a read and its twin differ."""
    with ExitStack() as stack:
        found = []
        for size in sizes:
            with pointed_at(stack.enter_context(own_database(str(size)))):
                shop = load_shop(size, say)
                found.append([sample for method in Method for sample in _by(method, shop, pairs, say)])
                say("auditing")
                if wrong := audit():
                    raise OtherAnswer(f"the audit finds: {wrong[0]}")
        return found


def _by(method: Method, shop: Shop, pairs: int, say: Say) -> list[Sample]:
    set_up_shop(actor=shop.catalogue.clerk, stamp=new_stamp(), settings={"valuation": method.value})
    began, longest, many = time.monotonic(), 0.0, 0
    while True:
        one = time.monotonic()
        if carry_forward(actor=None, today=shop_day(NOW)) is None:
            break
        longest, many = max(longest, time.monotonic() - one), many + 1
    said = f"carried forward {many} moments in {time.monotonic() - began:.1f} s, the longest {longest:.2f} s"
    say(f"{shop.jobs} jobs, {method.value}: {said}")
    samples = [Sample(f"{name}, {method.value}", limit) for name, limit in LIMITS.items()]
    for number, plan in enumerate(old_jobs(shop, pairs + 1)):
        _pairs(samples, number, method is Method.FIRST_IN, SPAN * (number + 1) / (pairs + 2), plan.at + 1, plan.site)
    if ValueCarried.objects.exclude(method=method.value).exists():
        raise OtherAnswer("moments of another method are kept")
    return samples


def _pairs(samples: Sequence[Sample], number: int, first_in: bool, back: timedelta, job_number: int, site: str) -> None:
    today, past, of_job = samples
    answer, other = pair(today, number, lambda: _worth(AsOf()), lambda: walked(NOW, first_in).worth())
    must_equal(today, number, answer, other)
    day = last_of(shop_day(NOW - back))
    answer, other = pair(past, number, lambda: _worth(AsOf(day)), lambda: walked(day, first_in).worth())
    must_equal(past, number, answer, other)
    job = Job.objects.get(number=f"{site}/old {job_number}")
    ended = _ended(job)
    answer, other = pair(
        of_job,
        number,
        lambda: [(row["item"], row["issued"], row["coins"]["issued"]) for row in costs_of(job, AsOf())["items"]],
        lambda: [(item, *sums) for item, sums in walked(ended, first_in, job.bench_id).charged[job.bench_id].items()],
    )
    must_equal(of_job, number, sorted(answer), sorted(other))


def _ended(job: Job) -> datetime:
    moved = Movement.objects.filter(to_spot__place=job.bench_id).aggregate(at=Max("act__occurred_at"))
    at: datetime = moved["at"]
    return at


def _worth(as_of: AsOf) -> list[tuple[Any, ...]]:
    rows = stock_value(as_of)["rows"]
    parts = dict(Part.objects.filter(number__in=[row["part"] for row in rows]).values_list("number", "pk"))
    return sorted((parts[row["part"]], row["own_cost"], row["amount"], row["coins"]) for row in rows)
