"""What a job can have of some parts: what is free on the shelves of its site, and what it has: held, lying with it, or fitted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from datetime import date

from inventory.models import Part
from inventory.queries.shop import shop
from inventory.queries.stock import on_shelves, stopped_items
from kits.models import Job
from kits.queries.job_list import free_for
from kits.queries.served import fitted, lying_new, promises_of


def pieces_for(job: Job, numbers: Collection[str], on: date) -> dict[str, int]:
    """Part → pieces, whole and good on the day of fitting as it stands on a day (`Job.fit_day`); 0 for one that is not in the catalogue. Stopped things do not count, nor
    what other jobs hold."""
    parts = {part.number: part for part in Part.objects.filter(number__in=numbers)}
    standings = tuple(on_shelves([part.pk for part in parts.values()], job.site_id))
    pieces: Counter[str] = Counter(free_for(job.fit_day(on), shop(), parts, standings))
    held = [one for one in promises_of(job) if one.open and one.hold.item.part.number in parts]
    lying = [one for one in lying_new(job) if one.part in parts]
    stopped = stopped_items([*(one.hold.item_id for one in held), *(one.item for one in lying)])
    for one in held:
        if one.hold.item_id not in stopped:
            pieces[one.hold.item.part.number] += one.hold.amount
    for there in fitted(job):
        if there.part in parts:
            pieces[there.part] += there.amount
    for thing in lying:
        if thing.item not in stopped:
            pieces[thing.part] += thing.amount
    return {number: pieces[number] for number in numbers}
