"""Whether an owner has to agree to parts instead of listed ones, and what was said."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.queries import by_hand
from inventory.queries.joins import kept_for
from inventory.queries.replacements import joined_parts
from kits.domain.requirements import Key
from kits.domain.substitute_words import Pair, lacking, why_asked
from kits.models import Fitting, Job, SubstituteWord
from kits.queries.job_list import JobList, job_list
from kits.queries.served import lying_new, promised_of
from kits.queries.terms import term_on

#: (position, make, amount) of what a hold serves; the amount is 0 for one more that was asked for outside the list.
Share = tuple[str, int, int]


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


def pairs_of(listed: JobList, wanted: str, part: str, part_id: int, shares: Sequence[Share]) -> set[Pair]:
    """(listed part, part instead) of what is held or picked. One query for one more, else none."""
    keys = [(position, make) for position, make, amount in shares if amount]
    if not keys:
        return asked_pairs(listed, part, joined_parts([part_id]), [share[0] for share in shares])
    return listed_pairs(listed, wanted, part, keys)


def asked_pairs(listed: JobList, part: str, joined: Collection[int], positions: Sequence[str]) -> set[Pair]:
    """The same of one more, which is asked for outside the list, at positions or wherever the list has its like.

    joined  parts that notices join with it
    """
    lines = [line for line in listed.settled.lines if not positions or line.position in positions]
    if any(line.part == part and not line.in_place_of for line in lines):
        return set()
    others = {line.in_place_of or line.part for line in lines if line.part == part}
    others = others or {line.part for line in lines if listed.parts[line.part].pk in joined}
    return {(other, part) for other in others}


def listed_pairs(listed: JobList, wanted: str, part: str, keys: Iterable[Key]) -> set[Pair]:
    """The same of what is for listed positions: by a person's choice there the part that the list asked for before counts."""
    named = {(line.key, line.part): line.in_place_of for line in listed.settled.lines if line.in_place_of}
    return {(named.get((key, wanted), wanted), part) for key in keys}


class Agreed:
    """What was fitted instead of listed parts, and the owner's yes to it as it stood by then. Two queries, none where nothing was."""

    def __init__(self, job: Job, fittings: Iterable[Fitting]) -> None:
        pairs = [(one.instead_of.number, one.item.part.number) for one in fittings if one.instead_of is not None]
        rows = SubstituteWord.objects.filter(job=job).select_related("listed", "instead", "act").order_by("pk")
        self._words = list(rows) if pairs else []
        said = [(one.listed.number, one.instead.number) for one in self._words]
        self._kept = kept_for({number for pair in (*pairs, *said) for number in pair})

    def _plain(self, listed: str, instead: str) -> Pair:
        return self._kept.get(listed, listed), self._kept.get(instead, instead)

    def said(self, fitting: Fitting) -> dict[str, Any] | None:
        """{listed, given_by, how, at}; empty words where the owner did not agree by then, None for what was listed itself."""
        if fitting.instead_of is None:
            return None
        pair = self._plain(fitting.instead_of.number, fitting.item.part.number)
        if pair[0] == pair[1]:  # another record of the same number
            return None
        mine = [
            one
            for one in self._words
            if self._plain(one.listed.number, one.instead.number) == pair
            and one.act.occurred_at <= fitting.act.occurred_at
        ]
        yes = mine[-1] if mine and mine[-1].agreed else None
        return {
            "listed": fitting.instead_of.number,
            "given_by": yes.given_by if yes else "",
            "how": yes.how if yes else "",
            "at": yes.act.occurred_at if yes else None,
        }


def words_record(job: Job, on: date) -> dict[str, Any]:
    """Every word as it is on record, oldest first, why they are needed on a day, and what of the running job waits for one: held, or picked
    and not fitted. Six queries at most where nobody is asked; some twenty more where somebody is."""
    why = said_on(job).why(on)
    rows = SubstituteWord.objects.filter(job=job).select_related("listed", "instead", "act__actor").order_by("pk")
    return {
        "job": job.number,
        "asked": why,
        "waiting": waiting_on(job, on) if why else [],
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


def waiting_on(job: Job, on: date) -> list[dict[str, Any]]:
    """Pairs to which the owner has to agree on a day and did not, with what is held of the one for the other and what lies on cart and
    bench for it: {listed, instead, said_no, held, here}, base units. Nothing waits on a job that ended. One query where nobody is asked."""
    said = said_on(job)
    if job.state != Job.State.BOOKED or not said.may_be_asked:
        return []
    listed, lies = job_list(job, on, stock=False), {one.item: one.amount for one in lying_new(job)}
    found: dict[Pair, dict[str, int]] = {}
    for one in promised_of(job):
        there = one.amount if one.open else min(one.amount, lies.get(one.item, 0))
        for pair in pairs_of(listed, one.wanted, one.part, one.product[0], one.shares) if there else ():
            row = found.setdefault(pair, {"held": 0, "here": 0})
            row["held" if one.open else "here"] += there
    left, _ = said.lacking(found.keys(), on)
    return [{"listed": pair[0], "instead": pair[1], "said_no": no, **found[pair]} for pair, no in left.items()]
