"""Sets that carry a job's paint marks and do not lie where the mark says: it is cleaned off before the job ends."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.models import Balance
from kits.domain import marks
from kits.models import Job, JobChoice, JobHold


@dataclass(frozen=True, slots=True)
class Marked:
    """A set (or what is left of a broken one) that carries a mark and lies at a place: `with_job`, on its cart or bench or held for
    it, so that it may yet be fitted."""

    serial: str
    item_id: int
    place: str
    with_job: bool


def words_of(job: Job) -> list[tuple[str, str]]:
    """Every word on bores of the job, oldest first. One query."""
    rows = JobChoice.objects.filter(job=job, choice=JobChoice.BORE, act__corrected_by__isnull=True).order_by("pk")
    return list(rows.values_list("place", "alternative"))


def bores_of(job: Job) -> dict[str, str]:
    """Use position → serial of the set that is marked for it: the newest word for a bore, and for a set. One query."""
    return marks.bores(words_of(job))


def marked_sets(job: Job) -> list[Marked]:
    """Sets that carry a mark of the job and lie at a place that is no engine, by serial. Three queries; one where nothing is marked.

    What is in an engine is where it belongs, what was scrapped or went to somebody else is not ours to clean.
    """
    serials = marks.marked(words_of(job))
    if not serials:
        return []
    rows = (
        Balance.objects.filter(
            real=True, amount__gt=0, item__serial__number__in=serials, item__part__tracked_by=Tracked.SET.value
        )
        .exclude(place__kind=PlaceKind.ENGINE.value)
        .select_related("item__serial", "place")
        .order_by("item__serial__number", "item_id")
    )
    held = set(JobHold.objects.filter(job=job, hold__end__isnull=True).values_list("hold__item", flat=True))
    return [
        Marked(
            row.item.serial_number,
            row.item_id,
            row.place.code,
            row.place_id in (job.cart_id, job.bench_id) or row.item_id in held,
        )
        for row in rows
    ]
