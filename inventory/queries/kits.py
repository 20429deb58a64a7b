"""What closed kits hold, down to the parts that are in no kit again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping

from inventory.models import Item, KitContent, KitRevision


def flattened(revisions: Collection[int]) -> dict[int, Counter[str]]:
    """Id of a kit revision → (part number → pieces) of everything in it; of a kit inside, what it held when this was entered (the
    newest, where nothing was on record then).

    One query for each level, one for the kits inside. A part with no contents on record is a leaf.
    """
    newest: dict[int, int] = {}
    inside: dict[int, list[_Line]] = {}
    asked = set(revisions)
    while asked:
        rows = list(
            KitContent.objects.filter(revision__in=asked)
            .order_by("pk")
            .values_list("revision_id", "part_id", "part__number", "amount", "inside_id")
        )
        parts = {part for _, part, _, _, packed in rows if packed is None} - newest.keys()
        newest |= dict(KitRevision.objects.filter(kit__in=parts).order_by("revision").values_list("kit", "pk"))
        inside |= {revision: [] for revision in asked}
        for revision, part, number, amount, packed in rows:
            inside[revision].append((number, amount, packed or newest.get(part)))
        asked = {packed for lines in inside.values() for _, _, packed in lines if packed is not None} - inside.keys()
    return {revision: _leaves(revision, inside) for revision in revisions}


#: Part number, pieces, and which revision of it is packed, if it is a kit.
_Line = tuple[str, int, int | None]


def _leaves(revision: int, inside: Mapping[int, list[_Line]]) -> Counter[str]:
    leaves: Counter[str] = Counter()
    for number, amount, packed in inside[revision]:
        within = _leaves(packed, inside) if packed is not None else Counter({number: 1})
        for leaf, pieces in within.items():
            leaves[leaf] += pieces * amount
    return leaves


def revision_of(kit: Item) -> KitRevision | None:
    """What the boxes of this item hold: by their lot, else by the box that they came out of, else the newest; None: not on record."""
    if kit.lot is not None and kit.lot.kit_revision is not None:
        return kit.lot.kit_revision
    if kit.from_kit is not None and (outer := revision_of(kit.from_kit)) is not None:
        packed = outer.contents.filter(part=kit.part_id).select_related("inside").first()
        if packed is not None and packed.inside is not None:
            return packed.inside
    return KitRevision.objects.filter(kit=kit.part_id).order_by("-revision").first()


def kits_inside(revision: KitRevision) -> set[str]:
    """Numbers of the kits that are in it, at any depth; its own is not among them. One query a level."""
    found: set[str] = set()
    asked = {revision.pk}
    while asked:
        rows = KitContent.objects.filter(revision__in=asked, inside__isnull=False)
        below = dict(rows.values_list("inside_id", "part__number"))
        found |= set(below.values())
        asked = set(below)
    return found


def depth_of(revision: KitRevision) -> int:
    """How deep kits are packed in it: 1 where it holds parts only. One query a level."""
    depth, asked = 0, {revision.pk}
    while asked:
        depth += 1
        rows = KitContent.objects.filter(revision__in=asked, inside__isnull=False)
        asked = set(rows.values_list("inside_id", flat=True))
    return depth
