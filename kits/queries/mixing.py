"""What may not stand together on one engine, or on one bank: checked on the finished list, at hand-over, and at fitting."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from inventory.domain.supersession_choice import mix_scope, mixed
from inventory.models import Balance, Part
from inventory.queries.replacements import links_of
from kits.domain.families import Family
from kits.models import Job
from kits.queries.documents import family_of
from kits.queries.served import promises_of


def mixed_on_job(job: Job, coming: dict[str, str] | None = None) -> list[dict[str, Any]]:
    """Kinds that replacement notices forbid to mix, among what is picked for the job and what stays in the engine.

    coming  more positions with the part number about to be fitted there
    What is picked for a position stands for what sits there now. Five queries.
    """
    family = family_of(job.family_revision)
    at: dict[str, str] = dict(
        Balance.objects.filter(place=job.engine.place_id, amount__gt=0).values_list("spot__name", "part__number")
    )
    for promise in promises_of(job):
        if promise.picked:
            at |= {position: promise.hold.item.part.number for position, _, _ in promise.shares}
    at |= coming or {}
    parts = dict(Part.objects.filter(number__in=set(at.values())).values_list("number", "pk"))
    links = links_of(parts.values())
    if not links:
        return []
    found = []
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
