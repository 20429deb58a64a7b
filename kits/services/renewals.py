"""What goes in new because something came out. Private to services: an open transaction is there, the job is locked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from inventory.domain.errors import DomainError
from inventory.models import Act
from inventory.queries.days import shop_day
from inventory.services.run import Body
from kits.domain.renewals import removed_findings
from kits.models import Job, JobFinding, Removal
from kits.queries.job_list import job_list
from kits.queries.renewals import left_old
from kits.queries.scope import scope_of


def bring_renewals(act: Act, job: Job, rows: Sequence[Removal]) -> list[Body]:
    """Findings that the removals bring: no extra work that waits for a word, for what is out has to go together again."""
    scope = scope_of(job)
    family = scope.family
    shown = removed_findings(family.removed, family.findings, family.map, [row.spot.name for row in rows])
    known = scope.explosion().closure if shown else ()
    made = JobFinding.objects.bulk_create(
        [
            JobFinding(
                job=job, act=act, code=one.code, place=one.place, extra_work=False, note=f"{position} was taken out"
            )
            for one, position in shown.items()
            if one not in known
        ]
    )
    return [{"id": one.pk, "code": one.code, "place": one.place} for one in made]


def refuse_left_old(act: Act, job: Job, positions: Iterable[str]) -> None:
    """ "Not needed" is no answer where a joint was opened and a part of it is always new. DomainError "always-new"."""
    left = left_old(job_list(job, shop_day(act.occurred_at), stock=False), positions)
    if left:
        position, opened = next(iter(left.items()))
        raise DomainError(
            "always-new",
            f"{position} is always new, and its joint was opened" + ("." if opened == position else f" at {opened}."),
            ways_out=("Fit a new one.", "Withdraw the finding that asks for it, where it was recorded wrongly."),
            position=position,
            positions=left,
        )
