"""What the open joints of a job ask for."""

from __future__ import annotations

from collections.abc import Iterable

from kits.domain.renewals import ALWAYS_NEW, COUNTED, USED_UP, class_asked, renewed_with
from kits.models import Fitting, Removal
from kits.queries.at_positions import emptied
from kits.queries.job_list import JobList
from kits.queries.reuse import procedures_of


def left_old(listed: JobList, positions: Iterable[str]) -> dict[str, str]:
    """Those of some positions that are always new under a joint that was opened on the job: position → where it was opened.

    What was taken out counts as well where no procedure of the job speaks of it and another one renews it. Five queries at most,
    none where no position is named.
    """
    asked = set(positions)
    if not asked:
        return {}
    out = Removal.objects.filter(job=listed.job, act__corrected_by__isnull=True, item__base=COUNTED)
    new = Fitting.objects.filter(job=listed.job, act__corrected_by__isnull=True, item__base=COUNTED)
    touched = set(out.values_list("spot__name", flat=True).union(new.values_list("spot__name", flat=True)))
    found = renewed_with(listed.settled, {number: part.kind for number, part in listed.parts.items()}, touched)
    on_list = {key[0] for key in listed.explosion.requirements}
    empty = set(emptied(listed.job)) if touched & asked - on_list else set()
    solid = out.filter(spot__name__in=(empty & asked) - on_list).exclude(item__part__kind__in=USED_UP)
    gone = sorted(set(solid.values_list("spot__name", flat=True))) if empty else []
    scope, closure = listed.scope, listed.explosion.closure
    every = procedures_of(scope) if gone else ()
    found |= {
        position: position
        for position in gone
        if class_asked(every, position, closure, scope.family.map, scope.engine_number) == ALWAYS_NEW
    }
    return {position: opened for position, opened in found.items() if position in asked}
