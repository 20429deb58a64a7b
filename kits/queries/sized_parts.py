"""Parts whose measures are on record: rings by their part, and what engine families state of shims, base rings and thrust washers."""

from __future__ import annotations

from inventory.domain.find_by_size import Near, Sized, near_sizes, read_size
from inventory.models import Part
from kits.queries.rings import newest_families, ring_of


def parts_of_size(text: str) -> list[Near]:
    """Parts near to a size as it was typed, the nearest first. Two queries, one more for each family that was never read.

    Errors as `read_size`.
    """
    asked = read_size(text)
    return near_sizes(asked, _rings() if len(asked) == 2 else _thicknesses())


def _rings() -> list[Sized]:
    rings = [ring_of(part) for part in Part.objects.exclude(ring={}).order_by("number")]
    return [Sized(one.number, (one.inside_nm, one.section_nm)) for one in rings]


def _thicknesses() -> list[Sized]:
    found: dict[tuple[str, int], Sized] = {}
    for family in newest_families():
        facts = family.facts
        stated = [
            pair
            for them in (facts.shims, facts.base_rings)
            if them is not None
            for pair in zip(them.parts, them.sizes_nm, strict=False)
        ]
        stated += [(one.part, one.thickness_nm) for one in (facts.end_float.washers if facts.end_float else ())]
        found |= {pair: Sized(pair[0], (pair[1],)) for pair in stated}
    return list(found.values())
