"""Whether a sample of a delivered lot lets it pass. Pure.

The plan is the shop's own: it names how many pieces are looked at and how many of these may be bad. A standard's tables of sample sizes
(ISO 2859-1) are for whoever sets it; none of them is here.
"""

from __future__ import annotations

from dataclasses import dataclass

from inventory.domain.errors import DomainError

MOST_SAMPLE = 100_000


@dataclass(frozen=True, slots=True)
class Plan:
    """So many pieces are looked at, and so many bad ones among them are accepted; sample 0: nothing is looked at."""

    sample: int
    accept: int

    def needed(self, delivered: int) -> int:
        """How many pieces of a lot of so many are looked at: all of a smaller one."""
        return min(self.sample, delivered)


def check_plan(plan: Plan) -> None:
    """DomainError "sample-unusable" for a plan that no lot can fail, or that makes no sense."""
    if plan == Plan(0, 0):
        return
    if not 0 <= plan.accept < plan.sample <= MOST_SAMPLE:
        raise DomainError(
            "sample-unusable",
            f"{plan.accept} bad ones accepted of {plan.sample}: such a plan is no inspection.",
            ways_out=("A sample of 0 with 0 ends the plan.",),
            sample=plan.sample,
            accept=plan.accept,
        )


def passes(plan: Plan, delivered: int, sampled: int, bad: int) -> bool:
    """Whether the lot passes: on the number that is accepted it does, with one more it does not.

    DomainError "sample-unusable": fewer were looked at than the plan asks for, more than were delivered, or more bad than looked at.
    """
    needed = plan.needed(delivered)
    if not needed <= sampled <= delivered or sampled < 1:
        raise DomainError(
            "sample-unusable",
            f"{sampled} of {delivered} were looked at; the plan asks for {needed}.",
            sampled=sampled,
            needed=needed,
            delivered=delivered,
        )
    if not 0 <= bad <= sampled:
        raise DomainError("sample-unusable", f"{bad} bad ones of {sampled}.", sampled=sampled, bad=bad)
    return bad <= plan.accept
