"""Positions that get nothing by a person's word, as long as nothing asks for them that was not known when it was said."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db.models import Min

from kits.domain.engine_numbers import EngineNumber
from kits.domain.families import Family
from kits.domain.findings import Finding
from kits.domain.requirements import Explosion
from kits.models import Job, JobFinding, JobOperation, NotNeeded
from kits.queries.documents import exploded, operation_of

#: Why positions are asked for: use position → (operation, chain of findings) of every unit.
_Asked = dict[str, set[tuple[str, tuple[str, ...]]]]


def not_needed(
    job: Job,
    family: Family,
    operations: Sequence[JobOperation],
    found: tuple[Finding, ...],
    number: EngineNumber,
    standing: tuple[tuple[Finding, frozenset[str]], ...],
    upto_act: int | None = None,
) -> dict[str, str]:
    """Positions that get nothing, each with the newest reason: a finding or an operation that asks for one anew, and came onto the job
    after it was said, puts it on the list again.

    operations, found, standing   of the job as it is asked about: its booked operations, findings that count, those of the engine's sizes
    Two queries, one where no word was said.
    """
    rows = NotNeeded.objects.filter(job=job, act__corrected_by__isnull=True).order_by("pk")
    words = {row.position: row for row in rows if upto_act is None or row.act_id <= upto_act}
    if not words:
        return {}
    firsts = JobFinding.objects.filter(job=job, act__corrected_by__isnull=True).values_list("code", "place")
    since = {Finding(code, place): act for code, place, act in firsts.annotate(first=Min("act")).order_by()}

    def reasons(upto: int | None) -> _Asked:
        known = tuple(one for one in found if upto is None or since.get(one, 0) <= upto)
        its = tuple(
            operation_of(row.procedure_revision, family)
            for row in operations
            if upto is None or row.added_by_id <= upto
        )
        return _asked(exploded(family, its, known, number, standing))

    now = reasons(None)
    then = {act: reasons(act) for act in {row.act_id for row in words.values()}}
    return {
        position: row.because
        for position, row in words.items()
        if now.get(position, set()) <= then[row.act_id].get(position, set())
    }


def _asked(explosion: Explosion) -> _Asked:
    found: _Asked = {}
    for requirement in explosion.requirements.values():
        there = found.setdefault(requirement.position, set())
        for candidate in requirement.candidates:
            for because in candidate.becauses:
                there |= {(because.operation, chain) for chain in because.chains or ((),)}
    for one in explosion.buy_ins:
        found.setdefault(one.position, set()).add(("", one.chain))
    return found


def positions_asked(explosion: Explosion) -> Iterable[str]:
    """Use positions that a list asks anything for, what is to be bought in among it."""
    return _asked(explosion).keys()
