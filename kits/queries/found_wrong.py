"""Results that rest on a gauge that its next calibration found wrong: nobody knows since when it was."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from django.db.models import OuterRef, Q, QuerySet, Subquery

from inventory.queries.days import day_of
from kits.models import Calibration, ResultReading
from kits.queries.read_again import Again, about


def with_next_calibration(links: QuerySet[ResultReading]) -> QuerySet[ResultReading]:
    """With the first calibration of each reading's gauge since it was read, as far as one is on record: whether it was passed, its day,
    the number of its act. No query of its own."""
    later = (
        Calibration.objects.filter(gauge=OuterRef("reading__gauge"))
        .filter(Q(done_on__gt=OuterRef("read_on")) | Q(done_on=OuterRef("read_on"), act__gt=OuterRef("result__act")))
        .order_by("done_on", "-pk")
    )
    return links.annotate(read_on=day_of("reading__act__occurred_at")).annotate(
        next_passed=Subquery(later.values("passed")[:1]),
        next_on=Subquery(later.values("done_on")[:1]),
        next_act=Subquery(later.values("act")[:1]),
    )


def found_wrong(
    links: Iterable[ResultReading], acts: Mapping[int, int], upto_act: int | None = None
) -> dict[int, list[Again]]:
    """Result → why it is to be judged again: what was found of its gauges after it was judged. No query.

    links  of `with_next_calibration`; acts: result → number of the act that judged it; upto_act: what came after it does not count
    """
    found: dict[int, list[Again]] = defaultdict(list)
    for link in links:
        passed, on, act = (getattr(link, name) for name in ("next_passed", "next_on", "next_act"))
        if passed is not False or act <= acts[link.result_id] or (upto_act is not None and act > upto_act):
            continue
        text = f"the gauge of reading {link.reading_id} was found wrong on {on}: read it again with another"
        found[link.result_id].append(about(link.reading, text))
    return found
