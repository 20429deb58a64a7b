"""How a liner stood when its height was judged, and how it is to go in: turn, shim, base ring. Pure.

A height is of one arrangement: a liner that is turned otherwise, or stands on another shim, has another one.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from kits.domain.facts import Facts
from kits.domain.protrusion import microns


@dataclass(frozen=True, slots=True)
class AsJudged:
    """An arrangement. turn_deg  clockwise seen from the head, from how the liner was read; shim_nm, ring_nm: nominal, 0 for none."""

    turn_deg: int
    shim_nm: int
    ring_nm: int

    def unlike(
        self, turn_deg: int | None, shims_nm: Collection[int], rings_nm: Collection[int], *, old: bool = False
    ) -> tuple[str, ...]:
        """What is otherwise, for a person; () where nothing is.

        turn_deg  None: nobody said how an old liner stands
        shims_nm, rings_nm  nominal sizes of what lies under it by our records, or comes with it
        old       an old liner may stand on what nobody recorded: only what is on record speaks against it
        """
        found = []
        if turn_deg is not None and turn_deg != self.turn_deg:
            found.append(f"turned {turn_deg}°, judged at {self.turn_deg}°")
        for what, judged, there in (("shim", self.shim_nm, shims_nm), ("base ring", self.ring_nm, rings_nm)):
            if (old and not there) or set(there) == ({judged} if judged else set()):
                continue
            on = " and ".join(microns(one) for one in sorted(there)) or "none"
            found.append(f"{what}: {on}, judged on {microns(judged) if judged else 'none'}")
        return tuple(found)


def sizes_under(facts: Facts, instead: Collection[tuple[str, str]] = ()) -> tuple[dict[str, int], dict[str, int]]:
    """Part → nominal size of shims, and of base rings. instead  (part of the family, part that was promised in its place)."""
    found = []
    for fact in (facts.shims, facts.base_rings):
        known = dict(zip(fact.parts, fact.sizes_nm, strict=False)) if fact is not None else {}
        found.append(known | {other: known[wanted] for wanted, other in instead if wanted in known})
    return found[0], found[1]
