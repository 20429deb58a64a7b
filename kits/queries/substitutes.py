"""Parts issued in place of the listed ones."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypedDict

from inventory.domain.errors import DomainError
from inventory.domain.supersession import Link
from inventory.domain.supersession_choice import Choice, Families, choose, choose_by_place, mix_scope
from inventory.models import Part
from inventory.queries.replacements import links_of
from inventory.queries.stock import on_shelves
from kits.domain.engine_numbers import fits_number
from kits.queries.job_list import JobList, free_for
from kits.queries.mixing import bound_by

#: Stands for every bank of an engine and what sits on none.
EVERY = "*"


@dataclass(frozen=True, slots=True)
class Substitution:
    """What is issued for a listed part, piece for piece, in order of preference, and why.

    at   bank → (part, pieces); `EVERY`: for the whole engine. A bank that is not named keeps the listed part
    """

    at: Mapping[str, tuple[tuple[Part, int], ...]]
    because: tuple[str, ...]

    @property
    def parts(self) -> tuple[tuple[Part, int], ...]:
        """All of it."""
        return tuple(one for parts in self.at.values() for one in parts)


class Rules(TypedDict):
    """What may be used, and which engine numbers a notice speaks of."""

    may_use: Callable[[str], bool]
    fits: Callable[[str], bool]


def substitute(
    listed: JobList,
    wanted: Mapping[str, int],
    whole: Mapping[str, Mapping[str, int]] | None = None,
    unwanted: Collection[tuple[str, str]] = (),
) -> dict[str, Substitution]:
    """Replacements for listed parts that the shelves do not cover, or that may not stand with what the job has, by the notices on record.

    wanted   pieces still to be held now, by listed part number
    whole    the same of the whole list, by bank ("": of none): what may not be mixed is chosen for all of it, so that no later hold brings another kind
    unwanted (listed part, part instead) that the owner of the engine does not want
    Only parts outside either/or groups that no person named (what must go together is decided there; another record of the same
    number is no other part), and only piece-for-piece replacements are taken without asking; every other route is shown with the shorts.
    One kind serves the whole engine where it can; where kinds may not be mixed on one bank, and no kind serves all, each bank gets one.
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
    found: dict[str, Substitution] = {}
    for part in wanted:
        its = links if part in free_choice else [link for link in links if getattr(link, "one_number", False)]
        pieces = {"": wanted[part]}
        if mix_scope(part, its):
            pieces = dict((whole or {}).get(part, pieces))
        chosen = _chosen(listed, part, pieces, free.get(part, 0), its, stock, unwanted)
        issued = {bank: choice.issue for bank, choice in chosen.items()}
        if any(number != part for issue in issued.values() for number, _ in issue):
            found[part] = Substitution(
                {bank: tuple((everything[number], count) for number, count in issue) for bank, issue in issued.items()},
                tuple(dict.fromkeys(why for choice in chosen.values() for why in choice.because)),
            )
    return found


def _chosen(
    listed: JobList,
    part: str,
    pieces: Mapping[str, int],
    free: int,
    links: Sequence[Link],
    stock: Mapping[str, int],
    unwanted: Collection[tuple[str, str]],
) -> Mapping[str, Choice]:
    """What serves for a part: for `EVERY` bank alike, or bank by bank; nothing where the part itself does, or nothing does."""
    there = bound_by(listed, part, [key[0] for line in listed.lines if line.part == part for key in line.keys], links)
    scope = mix_scope(part, links)
    if scope == "bank":  # what another bank has already binds nobody
        there = {bank: others for bank, others in there.items() if bank in pieces}
    families = Families(links)
    apart = {bank: sorted(other for other in others if families.apart(part, other)) for bank, others in there.items()}
    total = sum(pieces.values())
    if free >= total and not any(apart.values()):
        return {}
    engine, width = listed.scope.engine_number, listed.scope.family.numbering.width
    rules: Rules = {
        "may_use": partial(_not_refused, unwanted, part),
        "fits": lambda key: fits_number(key, engine, width),
    }
    if scope != "bank" or not any(apart.values()):
        answer = choose(part, total, links, stock, already=frozenset().union(*there.values()), **rules)
        if isinstance(answer, Choice) and sum(count for _, count in answer.issue) == total:
            return {EVERY: answer}
    by_bank = choose_by_place(part, pieces, links, stock, there, **rules) if scope == "bank" else {}
    for bank, others in apart.items():
        if others and bank not in by_bank:
            raise _mixed(listed, part, others)
    return by_bank


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
