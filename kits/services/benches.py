"""Cart and bench are there for their job, as long as that is open: nothing new comes to them afterwards, for nothing would take it from
there. Private to services: an open transaction is there."""

from __future__ import annotations

from django.db.models import Q

from inventory.domain.errors import DomainError
from inventory.models import Place
from inventory.services import benches
from kits.models import Job
from kits.services.shared import open_still


def ended(place: Place) -> DomainError | None:
    """The refusal "job-ended" where it is the cart or the bench of a job that was closed or cancelled; an open one is locked, so that it stays."""
    job = Job.objects.filter(Q(bench=place) | Q(cart=place)).first()
    if job is None:
        return None
    try:
        open_still(job)
    except DomainError as error:
        what = "bench" if job.bench_id == place.pk else "cart"
        return DomainError(
            error.code,
            f"{place.code} is the {what} of job {job.number}, which is {job.state}: nothing comes to it any more.",
            job=job.number,
            state=job.state,
            place=place.code,
        )
    return None


benches.ask(ended)
