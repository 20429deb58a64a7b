"""Whether an owner has to agree to parts instead of listed ones, and what was said."""

from __future__ import annotations

from datetime import date
from typing import Any

from kits.domain.substitute_words import Pair, why_asked
from kits.models import Engine, Job, SubstituteWord
from kits.queries.terms import term_on


def owner_asked(engine: Engine, on: date) -> str:
    """Why the owner of an engine has to agree to a part instead of the listed one, on a day; empty: need not. Four queries at most."""
    return why_asked(engine.classed, term_on(engine, on)[0])


def words_on(job: Job) -> dict[Pair, bool]:
    """(listed, instead) → the owner's newest word. One query."""
    rows = SubstituteWord.objects.filter(job=job).order_by("pk")
    return {
        (listed, instead): agreed
        for listed, instead, agreed in rows.values_list("listed__number", "instead__number", "agreed")
    }


def words_record(job: Job, on: date) -> dict[str, Any]:
    """Every word as it is on record, oldest first, and why they are needed on a day. Five queries at most."""
    rows = SubstituteWord.objects.filter(job=job).select_related("listed", "instead", "act__actor").order_by("pk")
    return {
        "job": job.number,
        "asked": owner_asked(job.engine, on),
        "words": [
            {
                "listed": row.listed.number,
                "instead": row.instead.number,
                "agreed": row.agreed,
                "given_by": row.given_by,
                "how": row.how,
                "at": row.act.occurred_at,
                "by": row.act.actor.username,
            }
            for row in rows
        ],
    }
