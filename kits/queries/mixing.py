"""What may not stand together on one engine, or on one bank: checked on the finished list, at hand-over, and at fitting."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from typing import Any

from inventory.domain.supersession import Link
from inventory.domain.supersession_choice import mix_scope, mixed
from inventory.models import Balance, Part, Replacement
from inventory.queries.replacements import joined_parts, links_of
from kits.domain.alike import NoMix
from kits.domain.alike import mixed as kinds_mixed
from kits.domain.families import Family
from kits.domain.requirements import Conflict
from kits.models import JobHold
from kits.queries.job_list import JobList, sits_in
from kits.queries.served import fitted, lying_new, promised_of


def mixed_on_job(listed: JobList, coming: dict[str, str] | None = None) -> list[dict[str, Any]]:
    """Kinds that replacement notices forbid to mix, among what is picked for the job and what stays in the engine; and base rings of two
    kinds under one head, where the family wants all alike.

    coming  more positions with the part number about to be fitted there
    What lies picked for a position stands for what sits there now; what sits at a listed position comes out, unless it was fitted
    on this job. Some ten queries.
    """
    job, family = listed.job, listed.scope.family
    at = _staying(listed)
    lying = {one.item for one in lying_new(job)}
    for promise in sorted(promised_of(job), key=lambda one: one.name):
        if not promise.open and promise.item in lying:
            at |= {position: promise.part for position, _, _ in promise.shares}
    at |= coming or {}
    parts = dict(Part.objects.filter(number__in=set(at.values())).values_list("number", "pk"))
    links = links_of(parts.values())
    found = [_rings_said(family, at, clash) for clash in kinds_mixed(family.map, at, _alike(family))]
    for scope, amounts in _by_scope(family, at, links):
        for (one, one_pieces), (other, other_pieces) in mixed(amounts, links):
            found.append(
                {
                    "scope": scope,
                    "parts": {one: one_pieces, other: other_pieces},
                    "why": f"{one} ({one_pieces}) and {other} ({other_pieces}) may not be mixed on one {scope}",
                }
            )
    return found


def _staying(listed: JobList) -> dict[str, str]:
    """Position → part that sits there and stays: what sits at a listed position comes out, unless it was fitted on this job."""
    job = listed.job
    renewed = {line.position for line in listed.settled.lines} - {one.position for one in listed.taken_off.taken}
    renewed -= {one.key[0] for one in fitted(job, listed.explosion.requirements.keys())}
    return {position: part for position, part in sits_in(job).items() if position not in renewed}


def bound_by(
    listed: JobList, part: str, positions: Collection[str], links: Sequence[Link]
) -> dict[str, frozenset[str]]:
    """Numbers that are held or picked for the job, or stay in its engine, where what serves for a part may not be mixed with others: anywhere
    on the engine (""), or by each bank of the positions. No query where notices let it be mixed, else some five.
    """
    scope = mix_scope(part, links)
    if not scope:
        return {}
    at = _staying(listed)
    lying = {one.item for one in lying_new(listed.job)}
    for promise in promised_of(listed.job):
        if not promise.on_approval and (promise.open or promise.item in lying):
            at |= {position: promise.part for position, _, _ in promise.shares}
    if scope == "engine":
        return {"": frozenset(at.values())}
    banks = {position.name: position.bank or "" for position in listed.scope.family.map.positions}
    mine: dict[str, set[str]] = {banks.get(position, ""): set() for position in positions}
    for name, other in at.items():
        if banks.get(name, "") in mine:
            mine[banks.get(name, "")].add(other)
    return {bank: frozenset(others) for bank, others in mine.items()}


def _alike(family: Family) -> tuple[NoMix, ...]:
    """Base rings: one kind under a head, where the family says so."""
    rings = family.facts.base_rings
    if rings is None or not rings.alike:
        return ()
    return (NoMix(tuple(frozenset({part}) for part in rings.parts), "bank", "base rings are all of one kind"),)


def _rings_said(family: Family, at: dict[str, str], clash: Conflict) -> dict[str, Any]:
    """Rings of two kinds under one head, with how many of each lie there."""
    head = clash.detail.partition(":")[0]
    under = Counter(
        part for position, part in at.items() if part in clash.parts and family.map.contains(head, position)
    )
    return {"scope": "bank", "parts": dict(sorted(under.items())), "why": clash.detail}


def may_be_mixed(listed: JobList) -> bool:
    """Whether a notice forbids to mix anything that was picked for the job or sits in its engine, or its family wants base rings alike:
    else there is nothing to look for. Two queries, one more where such notices are on record."""
    job = listed.job
    if _alike(listed.scope.family):
        return True
    notices = Replacement.objects.filter(withdrawn=False).exclude(no_mix_on="")
    kept_apart = set(notices.values_list("old_id", flat=True))
    if not kept_apart:
        return False
    sits = Balance.objects.filter(place=job.engine.place_id, amount__gt=0).values_list("part_id", flat=True)
    picked = JobHold.objects.filter(job=job, hold__end__picked__gt=0).values_list("hold__item__part_id", flat=True)
    concerned = {*sits, *picked}
    return not kept_apart.isdisjoint(concerned | joined_parts(concerned))


def _by_scope(family: Family, at: dict[str, str], links: list[Any]) -> list[tuple[str, dict[str, int]]]:
    """Pieces by part for the engine and for each bank; a part counts where its notice forbids mixing."""
    banks = {position.name: position.bank or "" for position in family.map.positions}
    engine: dict[str, int] = defaultdict(int)
    by_bank: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for position, part in at.items():
        scope = mix_scope(part, links)
        if scope == "engine":
            engine[part] += 1
        elif scope == "bank":
            by_bank[banks.get(position, "")][part] += 1
    return [("engine", dict(engine)), *(("bank", dict(amounts)) for _, amounts in sorted(by_bank.items()))]
