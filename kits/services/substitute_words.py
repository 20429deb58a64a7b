"""The owner's word on a part that goes in instead of a listed one."""

from __future__ import annotations

from datetime import date

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, HoldEnd, Person
from inventory.queries.days import shop_day
from inventory.queries.joins import kept_for
from inventory.services import holding, things
from inventory.services.run import Body, Done, Stamp, run
from kits.domain.substitute_words import Pair
from kits.models import Job, SubstituteWord
from kits.queries.job_list import job_list
from kits.queries.served import JobPromise, promises_of
from kits.queries.substitute_words import pairs_of, waiting_on
from kits.services.shared import open_job, touch


def record_substitute_word(
    *, actor: Person, stamp: Stamp, job: str, listed: str, instead: str, agreed: bool, given_by: str, how: str
) -> Done:
    """Record what the owner says to one part in place of a listed one, on a job: who gave the word (their role), and how.

    The newest word on the two parts counts. A no frees what is held of the one for the other and was not picked.
    Outcome: {"job", "listed", "instead", "agreed", "released": holds that ended, "waiting": what waits for a word still, as
    `waiting_on` says it: after a no what is here is returned}. Raises DomainError "not-found", "job-ended",
    "reason-missing", "nothing-given" (the two are one part).
    """

    def work(act: Act) -> Body:
        if not given_by.strip() or not how.strip():
            raise DomainError("reason-missing", "Say who gave the word, and how.")
        if listed == instead:
            raise DomainError("nothing-given", f"{listed} in place of itself is no substitute.")
        row = open_job(job)
        parts = things.parts_by_number([listed, instead])
        SubstituteWord.objects.create(
            job=row, act=act, listed=parts[listed], instead=parts[instead], agreed=agreed, given_by=given_by, how=how
        )
        ended: list[JobPromise] = []
        if not agreed:
            locks.scarcer([(parts[instead].pk, row.site_id)])
            ended = _held(row, listed, instead, shop_day(act.occurred_at))
            why = f"the owner does not want {instead} in place of {listed}"
            holding.end(act, [one.hold for one in ended], HoldEnd.How.RELEASED, why)
        touch(row)
        released = [one.hold.pk for one in ended]
        waiting = waiting_on(row, shop_day(act.occurred_at))
        said = {"job": job, "listed": listed, "instead": instead, "agreed": agreed}
        return {**said, "released": released, "waiting": waiting}

    request = {"job": job, "listed": listed, "instead": instead, "agreed": agreed, "given_by": given_by, "how": how}
    return run("record word on substitute", work, actor=actor, stamp=stamp, request=request, subject=job)


def _held(job: Job, listed: str, instead: str, on: date) -> list[JobPromise]:
    """Open holds of the one that stand for the other, by the notices, by a person's choice, or as one more."""
    now, open_now = job_list(job, on, stock=False), [one for one in promises_of(job) if one.open]
    kept = kept_for({listed, instead, *now.parts, *(one.hold.item.part.number for one in open_now)})

    def plain(pair: Pair) -> Pair:
        return kept.get(pair[0], pair[0]), kept.get(pair[1], pair[1])

    wanted = plain((listed, instead))
    found = []
    for one in open_now:
        part = one.hold.item.part
        pairs = pairs_of(now, one.wanted, part.number, part.pk, one.shares)
        if wanted in {plain(pair) for pair in pairs}:
            found.append(one)
    return found
