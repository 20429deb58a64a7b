"""How deep a counterbore would have to be recut so that a liner passes on a shim. Pure, exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kits.domain.protrusion import HeightLimits, microns


@dataclass(frozen=True, slots=True)
class Recut:
    """A shim (0: none) and the cut, from and to, both included, with which every point passes with the gauge's allowance."""

    shim_nm: int
    least_nm: int
    most_nm: int

    def said(self) -> str:
        """For a person."""
        on = f"on the shim of {microns(self.shim_nm)}" if self.shim_nm else "without a shim"
        return f"recut by {microns(self.least_nm)} to {microns(self.most_nm)}, {on}"


def recuts(heights_nm: Sequence[int], limits: HeightLimits, gauge_nm: int, deepest_nm: int) -> tuple[Recut, ...]:
    """Every shim with which a recut helps, thinnest first. heights_nm: of the liner in the uncut bore, without a shim."""
    if max(heights_nm) - min(heights_nm) > limits.within_nm:
        return ()
    found = []
    for shim in (0, *sorted(limits.shims_nm)):
        least = max(max(heights_nm) + shim - (limits.high_nm - gauge_nm), 0)
        most = min(min(heights_nm) + shim - (limits.low_nm + gauge_nm), deepest_nm)
        if least <= most and most > 0:
            found.append(Recut(shim, least, most))
    return tuple(found)
