"""Parts issued in place of the listed ones."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.supersession_choice import Choice, Families, choose, mix_scope
from inventory.models import Part
from inventory.queries.replacements import links_of
from inventory.queries.stock import on_shelves
from kits.domain.engine_numbers import fits_number
from kits.queries.job_list import JobList, free_for
from kits.queries.mixing import bound_by


@dataclass(frozen=True, slots=True)
class Substitution:
    """What is issued for a listed part, piece for piece: (part, pieces) in order of preference, and why."""

    parts: tuple[tuple[Part, int], ...]
    because: tuple[str, ...]


def substitute(
    listed: JobList,
    wanted: Mapping[str, int],
    whole: Mapping[str, int] | None = None,
    unwanted: Collection[tuple[str, str]] = (),
) -> dict[str, Substitution]:
    """Replacements for listed parts that the shelves do not cover, or that may not stand with what the job has, by the notices on record.

    wanted   pieces still to be held now, by listed part number
    whole    the same of the whole list: what may not be mixed is chosen for all of it, so that no later hold brings another kind
    unwanted (listed part, part instead) that the owner of the engine does not want
    Only parts outside either/or groups that no person named (what must go together is decided there; another record of the same
    number is no other part), and only piece-for-piece replacements are taken without asking; every other route is shown with the shorts.
    Raises DomainError "mixed" where nothing serves that may stand with what the job has.
    One query where no notice joins anything, else two to seven; some five more where mixing is forbidden.
    """
    links = links_of([listed.parts[part].pk for part in wanted])
    if not links:
        return {}
    free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
    free_choice = {line.part for line in listed.settled.lines if not line.candidate.choice and not line.reason}
    named = {part for link in links for part in _named(link)}
    others = {part.number: part for part in Part.objects.filter(number__in=named - listed.parts.keys())}
    everything = {**listed.parts, **others}
    standings = (*listed.standings, *on_shelves([part.pk for part in others.values()], listed.job.site_id))
    stock = free_for(listed.fit_day, listed.shop, everything, tuple(standings))
    engine, width = listed.scope.engine_number, listed.scope.family.numbering.width
    found: dict[str, Substitution] = {}
    for part in wanted:
        its = links if part in free_choice else [link for link in links if getattr(link, "one_number", False)]
        there = bound_by(listed, part, [key[0] for line in listed.lines if line.part == part for key in line.keys], its)
        apart = sorted(other for other in there if Families(its).apart(part, other))
        pieces = (whole or wanted)[part] if mix_scope(part, its) else wanted[part]
        if free.get(part, 0) >= pieces and not apart:
            continue
        answer = choose(
            part, pieces, its, stock, already=there,
            may_use=partial(_not_refused, unwanted, part),
            fits=lambda key: fits_number(key, engine, width),
        )  # fmt: skip
        serves = isinstance(answer, Choice) and sum(count for _, count in answer.issue) == pieces
        if not serves and apart:
            raise _mixed(listed, part, apart)
        if isinstance(answer, Choice) and serves and [number for number, _ in answer.issue] != [part]:
            parts = tuple((everything[number], count) for number, count in answer.issue)
            found[part] = Substitution(parts, answer.because)
    return found


def _not_refused(unwanted: Collection[tuple[str, str]], part: str, other: str) -> bool:
    return (part, other) not in unwanted


def _mixed(listed: JobList, part: str, apart: Sequence[str]) -> DomainError:
    return DomainError(
        "mixed",
        f"{part} may not be mixed with {', '.join(apart)}, which job {listed.job.number} has, and nothing that may serves for it.",
        ways_out=(f"Release what is held of {', '.join(apart)}, or return it, and hold again: one kind for all.",),
        part=part,
        there=list(apart),
    )


def _named(link: Any) -> set[str]:
    if hasattr(link, "a"):
        return {link.a, link.b}
    return {link.old, *(new for new, _ in link.limbs)}
