"""Which facts of a family decide each kind of result: where a newer revision states others, it is to be judged again."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from kits.domain.facts import Facts
from kits.domain.judging import CLEARANCE, GAPS, GASKET, HALVES, WASHERS
from kits.domain.standing_verdicts import HEIGHT

_PISTON = ("piston_clearance", "piston_measured_at_nm", "expansion_ppm")
_HEIGHT = (
    "liner_height", "block_depth", "protrusion", "clamping", "within_one_liner_nm", "turns_deg", "any_turn", "shims", "base_rings",
    "seat", "expansion_ppm",
)  # fmt: skip

#: Kind of a result -> names of the facts that its verdict comes from.
DECIDED_BY: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        CLEARANCE: _PISTON,
        GAPS: ("ring_gaps", "expansion_ppm"),
        HALVES: ("bearings", "expansion_ppm"),
        WASHERS: ("end_float", "expansion_ppm"),
        GASKET: ("head_gasket_grades", "expansion_ppm"),
        HEIGHT: _HEIGHT,
        "layout": (*_HEIGHT, "step", "weight_spread_mg", "weight_with"),
    }
)


def limits_differ(kind: str, before: Facts, now: Facts) -> bool:
    """Whether what decides a kind of result is stated otherwise now; a kind that no fact decides stays as it was judged."""
    return any(getattr(before, name) != getattr(now, name) for name in DECIDED_BY.get(kind, ()))
