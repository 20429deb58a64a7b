"""Stock value carried forward, moment by moment: a cache beside the books, and no act of theirs."""

from __future__ import annotations

from datetime import date, datetime

from inventory import locks
from inventory.models import PartCarried, Person, ValueCarried
from inventory.queries.value_points import EACH, next_to_carry
from inventory.services.run import in_one


def carry_forward(*, actor: Person | None, today: date, each: int = EACH) -> datetime | None:
    """Carry the books of value forward by one moment: the end of the first day by which `each` movements were made since the last one.

    actor  nobody: the machine's timetable
    The moment, or None where there is none to carry yet. Moments that hold no more are dropped, for the newer one follows the last
    that holds. Two who carry at once carry one moment once.
    """
    found = next_to_carry(today, each)
    if found is None:
        return None

    def once() -> None:
        locks.name("value", "carried")
        after = [*ValueCarried.objects.filter(pk__gt=found.after or 0)]
        if any((one.upto, one.acts, one.method) == (found.upto, found.acts, found.method) for one in after):
            return  # another one was quicker
        _drop([one.pk for one in after])
        point = ValueCarried.objects.create(
            upto=found.upto, acts=found.acts, method=found.method, sums=found.sums, differences=found.differences
        )
        PartCarried.objects.bulk_create(
            [PartCarried(point=point, part_id=part, kept=kept) for part, kept in found.parts.items()], batch_size=1000
        )

    in_one(once)
    return found.upto


def _drop(points: list[int]) -> None:
    PartCarried.objects.filter(point__in=points).delete()
    ValueCarried.objects.filter(pk__in=points).delete()
