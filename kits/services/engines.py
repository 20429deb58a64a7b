"""What is said of an engine itself: that it was changed in the field, so that its number does not tell its parts; that it is under class."""

from __future__ import annotations

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Person
from inventory.services.run import Body, Done, Stamp, run
from kits.models import Engine
from kits.queries.engines import engine_by_number
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

    Outcome: {"engine", "classed"}. Raises DomainError "reason-missing", "not-found", "nothing-changed".
    """

    def work(act: Act) -> Body:
        if not reason.strip():
            raise DomainError("reason-missing", "How is it known whether the engine is under class?")
        row = engine_called(engine)
        locks.row("kits_engine", [row.pk])
        _mark(row, "classed", classed)
        return {"engine": row.number, "classed": classed}

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
