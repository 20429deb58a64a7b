"""A bench is there for its job, as long as that is open: nothing is bought to it afterwards, for nothing would take it from there.
Private to services: an open transaction is there."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.models import Place
from inventory.services import benches
from kits.models import Job
from kits.services.shared import open_still


def refuse_ended(bench: Place) -> None:
    """DomainError "job-ended" where the bench is that of a job that was closed or cancelled; an open one is locked, so that it stays."""
    job = Job.objects.filter(bench=bench).first()
    if job is None:
        return
    try:
        open_still(job)
    except DomainError as error:
        raise DomainError(
            error.code,
            f"{bench.code} is the bench of job {job.number}, which is {job.state}: nothing comes to it any more.",
            ways_out=(
                "Receive it at the bench of the job that uses it.",
                "Receive it on a shelf, or into quarantine where its lot cannot be read.",
            ),
            job=job.number,
            state=job.state,
            place=bench.code,
        ) from error


benches.ask(refuse_ended)
