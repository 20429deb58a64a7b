"""Whether an owner has to agree to parts instead of listed ones, and what was said."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.queries import by_hand
from inventory.queries.joins import kept_for
from kits.domain.substitute_words import Pair, lacking, why_asked
from kits.models import Engine, Job, SubstituteWord
from kits.queries.terms import term_on


@dataclass(frozen=True, slots=True)
class Said:
    """What is on record of an owner: whether the engine is under class now, whether it ever went out (only then can a term run), and
    every word on this job, oldest first."""

    job: Job
    classed: bool
    went_out: bool
    words: tuple[tuple[Pair, bool], ...]

    @property
    def may_be_asked(self) -> bool:
        """Whether the owner may have to be asked at all."""
        return self.classed or self.went_out

    def why(self, on: date) -> str:
        """Why the owner has to be asked on a day; empty: need not. No query under class, else four at most."""
        if not self.may_be_asked:
            return ""
        return why_asked(self.classed, None if self.classed else term_on(self.job.engine, on)[0])

    def lacking(self, pairs: Collection[Pair], on: date) -> tuple[dict[Pair, bool], str]:
        """Of these pairs those to which the owner has to agree on a day and did not (→ whether the owner said no), and why.

        No query where nobody is asked or every pair is agreed to; one for other records of the numbers and those of `why` else.
        """
        if not self.may_be_asked or not lacking(pairs, self.words, {}):
            return {}, ""
        numbers = {number for pair in (*pairs, *(pair for pair, _ in self.words)) for number in pair}
        left = lacking(pairs, self.words, kept_for(numbers))
        why = self.why(on) if left else ""
        return (left, why) if why else ({}, "")


def said_on(job: Job) -> Said:
    """What is on record now; whoever decides by it has locked the engine. One query."""
    rows = by_hand.rows(_SAID, [job.pk, job.engine_id])
    words = tuple(((listed, instead), bool(agreed)) for _, _, listed, instead, agreed in rows if listed is not None)
    return Said(job, bool(rows[0][0]), bool(rows[0][1]), words)


_SAID = """
    SELECT e.classed,
           EXISTS (SELECT 1 FROM kits_enginehandover h JOIN kits_job o ON o.id = h.job_id
                   WHERE o.engine_id = e.id AND h.new_term),
           l.number, i.number, w.agreed
    FROM kits_engine e
    LEFT JOIN kits_substituteword w ON w.job_id = %s
    LEFT JOIN inventory_part l ON l.id = w.listed_id
    LEFT JOIN inventory_part i ON i.id = w.instead_id
    WHERE e.id = %s ORDER BY w.id"""


def owner_asked(engine: Engine, on: date) -> str:
    """Why the owner of an engine has to agree to a part instead of the listed one, on a day; empty: need not. Four queries at most."""
    return why_asked(engine.classed, None if engine.classed else term_on(engine, on)[0])


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
