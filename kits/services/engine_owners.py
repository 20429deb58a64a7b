"""An engine changed hands: from a day on it is somebody else's. Nothing of the person is kept here but the owner's number."""

from __future__ import annotations

from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.queries.owners import owner as owner_called
from inventory.services.run import Body, Done, Stamp, run
from kits.queries.engine_owners import owners_on
from kits.services.meters import engine_called
from kits.services.owning import now_owned


def change_hands(*, actor: Person, stamp: Stamp, engine: str, owner_id: int, since: date, reason: str = "") -> Done:
    """Record whose an engine is from a day on; what was said of earlier days stays. The newest counts, by day.

    since   the first day on which it was theirs; not after the act
    Outcome: {"engine", "owner", "since", "before": number of the owner on record for that day, "now": of today}. Raises DomainError
    "engine-unknown", "not-found" (owner), "dates-turned", "nothing-changed".
    """
    request = {"engine": engine, "owner": owner_id, "since": since, "reason": reason}

    def work(act: Act) -> Body:
        row, owner = engine_called(engine), owner_called(owner_id)
        locks.row("kits_engine", [row.pk])
        if since > shop_day(act.occurred_at):
            raise DomainError(
                "dates-turned", f"Engine {row.number} is nobody else's from {since} on yet.", since=since.isoformat()
            )
        before = owners_on([row.pk], since).get(row.pk)
        if before is not None and before.pk == owner.pk:
            raise DomainError(
                "nothing-changed", f"Engine {row.number} is on record as owner {owner.pk}'s on {since}.", owner=owner.pk
            )
        now = now_owned(act, row, owner, since)
        return {
            "engine": row.number,
            "owner": owner.pk,
            "since": since,
            "before": before.pk if before else None,
            "now": now,
        }

    return run("change hands", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)
