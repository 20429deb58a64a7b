"""What verdicts on clearance and ring gaps ask of the bench. Private to services: an open transaction is there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from inventory.domain.errors import DomainError
from inventory.models import Item
from kits.domain.standing_verdicts import BINDS, Said, binding, set_put_aside
from kits.models import Job
from kits.queries.standing_verdicts import verdicts_on

_BOUND = frozenset(kind for kinds in BINDS.values() for kind in kinds)


def verdicts_for(job: Job, items: Iterable[Item]) -> list[Said]:
    """The verdicts that stand on the job, where anything is fitted that one may speak of; no query else."""
    return verdicts_on(job) if any(item.part.kind in _BOUND for item in items) else []


def forbidden(said: Sequence[Said], item: Item, position: str) -> DomainError | None:
    """Why a set or its rings may not go in by what was measured; None where nothing speaks against it."""
    serial = item.serial.number if item.serial is not None else ""
    aside = set_put_aside(said, serial) if serial else None
    if aside is not None:
        return DomainError(
            "set-put-aside",
            f"{item.called} into {position}: result {aside.id} puts the set aside: {'; '.join(aside.why)}.",
            ways_out=("Bring it back: the set goes to quarantine whole.", "Read it again and judge it anew."),
            position=position,
            item=item.pk,
            result=aside.id,
        )
    place = position.partition("/")[0]
    for one in binding(said, place, serial, item.part.kind):
        if one.fails:
            why = f": {'; '.join(one.why)}" if one.why else ""
            return DomainError(
                "verdict-fails",
                f"{item.called} into {position}: the {one.kind} of {one.subject} fails by result {one.id}{why}.",
                ways_out=(
                    "Fit another one, read it there, and judge again.",
                    "Read it again and judge it anew, where a reading was wrong.",
                ),
                position=position,
                item=item.pk,
                result=one.id,
                kind=one.kind,
                subject=one.subject,
            )
    return None
