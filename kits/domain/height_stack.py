"""What new parts of a family come to: the height of a liner over its block before anything is read. Pure.

Height of the liner less depth of the block, on the base ring that one of them is stated with. It says whether new parts have to be
measured (they nearly always have), and whether the facts agree with each other; it replaces no reading.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.errors import DomainError
from kits.domain.facts import Facts, NewPart
from kits.domain.limits import Limits
from kits.domain.stacks import Contributor, Stack, Standing, against, stack


@dataclass(frozen=True, slots=True)
class HeightStack:
    """The members, what they come to, how that stands to the family's limits; printed_nm: the height that the maker prints, None: none."""

    members: tuple[Contributor, ...]
    found: Stack
    limits: Limits
    standing: Standing
    printed_nm: int | None


def height_stack(facts: Facts) -> HeightStack:
    """The stack of a family's facts. DomainError "no-limit" where they lack the liner, the block or the limits of the height."""
    liner, block, height = facts.liner_height, facts.block_depth, facts.protrusion
    if liner is None or block is None or height is None:
        raise DomainError("no-limit", "The family's document does not state liner, block and height of new parts.")
    members = [_member(liner, 1), _member(block, -1)]
    ring = block.ring_nm or liner.ring_nm
    if ring:
        members.append(Contributor("base ring", 1, ring))
    found = stack(members)
    return HeightStack(tuple(members), found, height.limits, against(found, height.limits), height.nominal_nm)


def _member(part: NewPart, sign: int) -> Contributor:
    """A new part about its nominal, where one is stated, else about the middle of its limits; an end that is open is the nominal itself."""
    ends = [end for end in (part.limits.low_nm, part.limits.high_nm) if end is not None]
    nominal = part.nominal_nm if part.nominal_nm is not None else sum(ends) // len(ends)
    return Contributor(part.what, sign, nominal, max(*ends, nominal) - nominal, nominal - min(*ends, nominal))
