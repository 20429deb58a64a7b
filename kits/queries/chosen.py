"""The choices of jobs that count: not taken back, and not accepted from a result of which a reading was withdrawn since."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Exists, OuterRef

from kits.models import Job, JobChoice, ResultReading


def counting(jobs: Iterable[Job], upto_act: int | None = None) -> list[JobChoice]:
    """Choices of these jobs that count, oldest first; bores are no choices of the list. One query.

    upto_act  as it stood when that act was recorded
    A word whose readings were withdrawn leaves its choice open: what was said before it was replaced, and does not come back.
    """
    found: list[JobChoice] = []
    for row, void in _rows(jobs, upto_act):
        if void:
            found = [one for one in found if _of(one) != _of(row)]
        else:
            found.append(row)
    return found


def left_open(job: Job) -> list[JobChoice]:
    """Words that do not count any more, since a reading behind them was withdrawn, and that nothing has replaced. One query."""
    newest = {_of(row): (row, void) for row, void in _rows([job], None)}
    return [row for row, void in newest.values() if void]


def _rows(jobs: Iterable[Job], upto_act: int | None) -> list[tuple[JobChoice, bool]]:
    """Every word, oldest first, each with whether a reading behind it was withdrawn."""
    gone = ResultReading.objects.filter(result__acceptances__act=OuterRef("act"), reading__withdrawal__isnull=False)
    rows = JobChoice.objects.filter(job__in=list(jobs), act__corrected_by__isnull=True).exclude(choice=JobChoice.BORE)
    if upto_act is not None:
        gone = gone.filter(reading__withdrawal__act_id__lte=upto_act)
        rows = rows.filter(act_id__lte=upto_act)
    return [(row, row.void) for row in rows.annotate(void=Exists(gone)).select_related("act").order_by("pk")]


def _of(row: JobChoice) -> tuple[int, str, str]:
    return row.job_id, row.choice, row.place
