"""The choices of jobs that count: not taken back, and not accepted from a result of which a reading was withdrawn or taken again since,
whose pistons are others now, or which was decided by other limits than the job goes by now."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from inventory.queries.prepared import Prepared
from kits.models import Acceptance, Job, JobChoice, ResultReading, RevisionWord
from kits.queries.results import rendered, results


def counting(jobs: Iterable[Job], upto_act: int | None = None) -> list[JobChoice]:
    """Choices of these jobs that count, oldest first; bores are no choices of the list. One query; nine at most where
    one was accepted from a measurement.

    upto_act  as it stood when that act was recorded
    A word whose result does not stand any more leaves its choice open: what was said before it was replaced, and does not come back.
    """
    found: list[JobChoice] = []
    for row, void in _rows(jobs, upto_act):
        if void:
            found = [one for one in found if _of(one) != _of(row)]
        else:
            found.append(row)
    return found


def left_open(job: Job) -> list[JobChoice]:
    """Words that do not count any more, since their result does not stand any more, and that nothing has
    replaced. Queries as `counting`."""
    newest = {_of(row): (row, void) for row, void in _rows([job], None)}
    return [row for row, void in newest.values() if void]


def _rows(jobs: Iterable[Job], upto_act: int | None) -> list[tuple[JobChoice, bool]]:
    """Every word, oldest first, each with whether what it was accepted from does not stand any more."""
    wanted = [job.pk for job in jobs]
    found = _ALL(wanted[0]) if upto_act is None and len(wanted) == 1 else list(_words(wanted, upto_act))
    asked = {row.accepted for row in found if row.accepted is not None}
    fallen = _fallen(asked, upto_act) if asked else set()
    return [(row, row.void or row.accepted in fallen) for row in found]


def _words(jobs: list[int], upto_act: int | None = None) -> QuerySet[Any]:
    """The words themselves, each with whether a reading behind it was withdrawn and which result it was accepted from."""
    gone = ResultReading.objects.filter(result__acceptances__act=OuterRef("act"), reading__withdrawal__isnull=False)
    rows = JobChoice.objects.filter(job__in=jobs, act__corrected_by__isnull=True).exclude(choice=JobChoice.BORE)
    if upto_act is not None:
        gone = gone.filter(reading__withdrawal__act_id__lte=upto_act)
        rows = rows.filter(act_id__lte=upto_act)
    accepted = Acceptance.objects.filter(act=OuterRef("act"))
    named = rows.annotate(void=Exists(gone), accepted=Subquery(accepted.values("result_id")[:1]))
    return named.select_related("act").order_by("pk")


_ALL = Prepared(lambda job: _words([job]), -1, fixed=[JobChoice.BORE])


def _fallen(ids: Collection[int], upto_act: int | None) -> set[int]:
    """Which of these results are to be judged again, or were when that act was recorded: what they rest on was read anew or cut, another
    set stands there, or the limits are others."""
    rows = results().filter(pk__in=ids)
    every = list(rows)
    fallen = {row.id for row in rendered(every, upto_act=upto_act) if row.again}
    if all(row.family_revision_id == row.job.family_revision_id for row in every):
        return fallen
    if upto_act is not None:
        later = RevisionWord.objects.filter(
            job=OuterRef("job"), procedure_revision__isnull=True, taken=True, act_id__gt=upto_act
        )
        rows = rows.exclude(Exists(later))
    return fallen | {row.id for row in rendered(list(rows)) if row.other_limits}


def _of(row: JobChoice) -> tuple[int, str, str]:
    return row.job_id, row.choice, row.place
