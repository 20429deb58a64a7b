"""What other sites have of what a job lacks, and what rides to its site already: with the day on which it could be here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from inventory.domain.shelf_life import usable_on
from inventory.domain.transfers import days_between, here_on
from inventory.models import Place
from inventory.queries.stock import Standing, on_shelves
from inventory.queries.transfers import riding_to
from kits.queries.job_list import JobList

Ways = dict[str, list[dict[str, Any]]]


def from_elsewhere(listed: JobList, ids: Mapping[int, str], day: date, soonest: Mapping[int, date]) -> Ways:
    """Part of the list → ways "on the way" and "other site", as seen on a day. Five queries at most.

    ids      part id → number; soonest: part id → the first day on which it is here if it is bought on the day
    A way says `arrives_on` by the shop's days on the road (None: nobody said), `in_time` for the fitting, and `before_buying`: whether the
    van beats every supplier's days (None: nobody said how long the road takes; True where no supplier's days are known).
    """
    ways: Ways = defaultdict(list)
    fit_on, site = listed.job.fit_on, listed.job.site.code
    for line in riding_to(listed.job.site_id, ids):
        ways[line.part].append(
            {
                "way": "on the way",
                "note": line.note,
                "lot": line.name,
                "amount": line.in_transit,
                "for_job": line.for_job,
                "arrives_on": line.expected_on.isoformat() if line.expected_on else None,
                "in_time": line.expected_on <= fit_on if line.expected_on else None,
            }
        )
    rows = [row for row in on_shelves(ids) if good_for(listed, row) and row.free]
    sites = dict(
        Place.objects.filter(code__in={row.place_code for row in rows})
        .exclude(site=listed.job.site_id)
        .values_list("code", "site__code")
    )
    for row in rows:
        if row.place_code not in sites:
            continue
        here = here_on(day, days_between(listed.shop.travel_days, sites[row.place_code], site))
        bought = soonest.get(row.part_id)
        ways[ids[row.part_id]].append(
            {
                "way": "other site",
                "site": sites[row.place_code],
                "place": row.place_code,
                "lot": row.lot_code or row.serial,
                "amount": row.free,
                "arrives_on": here.isoformat() if here else None,
                "in_time": here <= fit_on if here else None,
                "before_buying": (bought is None or here < bought) if here else None,
            }
        )
    return ways


def here_from_elsewhere(listed: JobList, part_ids: Mapping[int, int], day: date) -> dict[int, date]:
    """Part id → when the van could bring all that is lacking of it (part id → amount), from one site; none where no site has it all, or
    nobody said how long the road takes. Two queries."""
    rows = [row for row in on_shelves(part_ids) if good_for(listed, row) and row.free]
    sites = dict(
        Place.objects.filter(code__in={row.place_code for row in rows})
        .exclude(site=listed.job.site_id)
        .values_list("code", "site__code")
    )
    free: dict[tuple[int, str], int] = defaultdict(int)
    for row in rows:
        if row.place_code in sites:
            free[row.part_id, sites[row.place_code]] += row.free
    found: dict[int, date] = {}
    for (part, site), amount in sorted(free.items()):
        days = days_between(listed.shop.travel_days, site, listed.job.site.code)
        if days is not None and amount >= part_ids[part]:
            found[part] = min(found.get(part, date.max), day + timedelta(days=days))
    return found


def good_for(listed: JobList, row: Standing) -> bool:
    """Whether it may be used on the day of fitting."""
    return not row.stopped and not row.tube_number and usable_on(row.use_by, listed.fit_day, listed.shop.margin_days)
