"""What is not closed before somebody else has looked at it with a photo.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from inventory.domain.errors import DomainError
from kits.domain.photo_checks import held_up, open_checks
from kits.models import Job
from kits.queries.job_list import JobList
from kits.queries.photo_checks import unseen


def unlooked(job: Job, listed: JobList, coming: Collection[str]) -> dict[str, list[str]]:
    """Use position → what has to be seen before it is closed, as "what at where"; what goes in by this act is not seen yet."""
    checks = listed.scope.family.build.photo_checks
    asked = [position for position in coming if any(position in check.before for check in checks)]
    if not asked:
        return {}
    missing = {(check.what, place): (check, place) for check, place in [*unseen(job), *open_checks(checks, coming, ())]}
    found = {position: held_up(missing.values(), position) for position in asked}
    return {position: [f"{check.what} at {place}" for check, place in rows] for position, rows in found.items() if rows}


def not_looked_at(missing: Mapping[str, list[str]], position: str) -> DomainError | None:
    """What would close over something that nobody but its fitter has seen."""
    if position not in missing:
        return None
    return DomainError(
        "photo-check-missing",
        f"{position} closes over what nobody else has seen good: {'; '.join(missing[position])}.",
        ways_out=("Let a second person look, and keep the photo.",),
        position=position,
        missing=missing[position],
    )
