"""What closed kits hold, down to the parts that are in no kit again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping

from inventory.models import KitContent, KitRevision


def flattened(revisions: Collection[int]) -> dict[int, Counter[str]]:
    """Id of a kit revision → (part number → pieces) of everything in it; of a kit inside, the newest revision.

    One query for each level, one for the kits inside. A part with no contents on record is a leaf.
    """
    newest: dict[int, int] = {}
    inside: dict[int, list[tuple[int, str, int]]] = {}
    asked = set(revisions)
    while asked:
        rows = list(
            KitContent.objects.filter(revision__in=asked)
            .order_by("pk")
            .values_list("revision_id", "part_id", "part__number", "amount")
        )
        inside |= {revision: [] for revision in asked}
        for revision, part, number, amount in rows:
            inside[revision].append((part, number, amount))
        parts = {part for _, part, _, _ in rows} - newest.keys()
        newest |= dict(KitRevision.objects.filter(kit__in=parts).order_by("revision").values_list("kit", "pk"))
        asked = {newest[part] for part in parts if part in newest} - inside.keys()
    return {revision: _leaves(revision, inside, newest) for revision in revisions}


def _leaves(revision: int, inside: Mapping[int, list[tuple[int, str, int]]], newest: Mapping[int, int]) -> Counter[str]:
    leaves: Counter[str] = Counter()
    for part, number, amount in inside[revision]:
        within = _leaves(newest[part], inside, newest) if part in newest else Counter({number: 1})
        for leaf, pieces in within.items():
            leaves[leaf] += pieces * amount
    return leaves
