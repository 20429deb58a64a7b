"""May what was closed in once go in again, as after a dry build or a test run? By the class of its line, with the reason. Pure.

A joint that is made twice has a line for each make, so what is crushed in a trial counts again there, and only there: where the
procedure has no second make, a trial is done without it (soft test pieces, common practice) and one is counted. The maker's manual
overrides this.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.articles import a

#: Squeezed to their shape when a joint is closed: they do not seal a second time (common practice).
CRUSHED = frozenset({"O-ring", "gasket", "lip seal", "seal", "stem seal"})


@dataclass(frozen=True, slots=True)
class Again:
    """yes: it may, on the condition that `reason` names; no: `reason` says why not."""

    yes: bool
    reason: str


def used_again(line_class: str, kind: str) -> Again:
    """The answer for a part of this kind at a line of this class: "always-new", "measured" or "inspect"."""
    if line_class == "always-new":
        return Again(
            False, "always new: closed in once, it is crushed or stretched, and every make of the joint takes its own"
        )
    if line_class == "measured" and kind in CRUSHED:
        return Again(
            False,
            f"{a(kind)} is chosen by measurement and crushed as the joint is closed: a new one of that size goes in",
        )
    if line_class == "measured":
        return Again(True, "after a good inspection; its size stays the one that was measured for")
    return Again(True, "after a good inspection that is recorded for the position: the procedure says so")
