"""What is said of an engine itself: that it was changed in the field, so that its number does not tell its parts; that it is under class."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.queries.days import shop_day
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Engine, Job
from kits.queries.engines import engine_by_number
from kits.queries.scope import job_by_number
from kits.queries.substitute_words import waiting_on
from kits.services.meters import engine_called


def mark_field_modified(*, actor: Person, stamp: Stamp, engine: str, modified: bool, reason: str) -> Done:
    """Say that an engine was changed in the field, or that it was not: with the mark a person confirms what its number decides.

    Outcome: {"engine", "field_modified"}. Raises DomainError "reason-missing", "not-found", "nothing-changed".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "How is it known whether the engine was changed in the field?")
        try:
            row = engine_by_number(engine)
        except DomainError as error:
            raise DomainError("not-found", error.message, ways_out=error.ways_out, **error.values) from None
        locks.row("kits_engine", [row.pk])
        _mark(row, "field_modified", modified)
        return {"engine": row.number, "field_modified": modified}

    request = {"engine": engine, "modified": modified, "reason": reason}
    return run("mark engine", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason)


def mark_classed(*, actor: Person, stamp: Stamp, engine: str, classed: bool, reason: str) -> Done:
    """Say that an engine stands under the rules of a class society, or does not any more: with the mark its owner agrees to every part
    that goes in instead of a listed one. What is held, picked or at the bench is asked about from then on; what was fitted stays.

    Outcome: {"engine", "classed", "waiting": what waits for the owner's word on its running jobs by now, [{job, listed, instead, said_no,
    held, here}]}. Raises DomainError "reason-missing", "not-found", "nothing-changed".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "How is it known whether the engine is under class?")
        row = engine_called(engine)
        locks.row("kits_engine", [row.pk])
        _mark(row, "classed", classed)
        day = shop_day(act.occurred_at)
        numbers = Job.objects.filter(engine=row, state=Job.State.BOOKED).order_by("pk").values_list("number", flat=True)
        jobs = [job_by_number(number) for number in numbers]
        waiting = [{"job": job.number, **one} for job in jobs for one in waiting_on(job, day)]
        return {"engine": row.number, "classed": classed, "waiting": waiting}

    request = {"engine": engine, "classed": classed, "reason": reason}
    return run(
        "mark engine under class", work, actor=actor, stamp=stamp, request=request, subject=engine, reason=reason
    )


def _mark(engine: Engine, name: str, value: bool) -> None:
    """Set a mark of a locked engine; DomainError "nothing-changed"."""
    if not Engine.objects.filter(pk=engine.pk).exclude(**{name: value}).update(**{name: value}):
        raise DomainError(
            "nothing-changed", f"Engine {engine.number} is marked like that already.", engine=engine.number
        )
