"""Parts issued in place of the listed ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.supersession_choice import Choice, choose
from inventory.models import Part
from inventory.queries.replacements import links_of
from inventory.queries.stock import on_shelves
from kits.domain.engine_numbers import EngineNumber, parse_engine_number
from kits.queries.job_list import JobList, free_for


@dataclass(frozen=True, slots=True)
class Substitution:
    """What is issued for a listed part, piece for piece: (part, pieces) in order of preference, and why."""

    parts: tuple[tuple[Part, int], ...]
    because: tuple[str, ...]


def fits_number(key: str, engine: EngineNumber, width: int) -> bool:
    """Whether an engine is in the range that a replacement notice names: "below NUMBER" or "from NUMBER"."""
    word, _, text = key.partition(" ")
    try:
        limit = parse_engine_number(text, {engine.prefix: width})
    except DomainError:
        return False
    return engine.digits < limit.digits if word == "below" else engine.digits >= limit.digits


def substitute(listed: JobList, wanted: Mapping[str, int]) -> dict[str, Substitution]:
    """Replacements for listed parts that the shelves do not cover, by the notices on record.

    wanted   pieces still to be held, by listed part number
    Only parts outside either/or groups (what must go together is decided there; another record of the same number is no other
    part), and only piece-for-piece replacements are taken without asking; every other route is shown with the shorts.
    Two to six queries, only when something is short.
    """
    free = free_for(listed.fit_day, listed.shop, listed.parts, listed.standings)
    free_choice = {line.part for line in listed.settled.lines if not line.candidate.choice}
    short = [part for part, pieces in wanted.items() if free.get(part, 0) < pieces]
    links = links_of([listed.parts[part].pk for part in short]) if short else []
    if not links:
        return {}
    named = {part for link in links for part in _named(link)}
    others = {part.number: part for part in Part.objects.filter(number__in=named - listed.parts.keys())}
    everything = {**listed.parts, **others}
    standings = (*listed.standings, *on_shelves([part.pk for part in others.values()], listed.job.site_id))
    stock = free_for(listed.fit_day, listed.shop, everything, tuple(standings))
    engine, width = listed.scope.engine_number, listed.scope.family.numbering.width
    found: dict[str, Substitution] = {}
    for part in short:
        its = links if part in free_choice else [link for link in links if getattr(link, "one_number", False)]
        answer = choose(part, wanted[part], its, stock, fits=lambda key: fits_number(key, engine, width))
        if not isinstance(answer, Choice) or [number for number, _ in answer.issue] == [part]:
            continue
        if sum(pieces for _, pieces in answer.issue) == wanted[part]:
            parts = tuple((everything[number], pieces) for number, pieces in answer.issue)
            found[part] = Substitution(parts, answer.because)
    return found


def _named(link: Any) -> set[str]:
    if hasattr(link, "a"):
        return {link.a, link.b}
    return {link.old, *(new for new, _ in link.limbs)}


def linked_with(part: Part) -> set[str]:
    """Numbers of all parts that replacement notices link with a part, in any direction and over any number of steps."""
    return {name for link in links_of([part.pk]) for name in _named(link)} - {part.number}
