"""How likely a finding is before the strip, by the shop's own past jobs. Chances are shares of jobs, exact.

With few jobs the plain share says "never" or "always" too soon: half a job is added to each side, (x + 1/2) / (n + 1), which is the
mean under Jeffreys' prior (a published rule, from memory). The range is the exact one of Clopper and Pearson (1934), 95 of 100.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import comb

#: Fewer past jobs than this are thin data: shown with their range, and said to be thin (common practice).
ENOUGH = 5
#: What the range leaves out at each end.
_TAIL = Fraction(25, 1000)
#: Ends of the range are given in thousandths.
_STEPS = 1000


@dataclass(frozen=True, slots=True)
class Likely:
    """A finding of a family: in how many of so many past jobs it was found."""

    finding: str
    found: int
    jobs: int

    def __post_init__(self) -> None:
        if not 0 <= self.found <= self.jobs:
            raise ValueError(f"{self.finding}: found in {self.found} of {self.jobs} jobs")

    @property
    def chance(self) -> Fraction:
        """That the next job has it; never 0, never 1."""
        return Fraction(2 * self.found + 1, 2 * (self.jobs + 1))

    @property
    def thin(self) -> bool:
        """Too few jobs to go by."""
        return self.jobs < ENOUGH

    @property
    def range(self) -> tuple[Fraction, Fraction]:
        """Lowest and highest share that the past jobs do not speak against, widened outwards to thousandths."""
        low = _first(lambda step: self._at_least(Fraction(step, _STEPS)) > _TAIL) - 1 if self.found else 0
        high = _first(lambda step: self._at_most(Fraction(step, _STEPS)) < _TAIL) if self.found < self.jobs else _STEPS
        return Fraction(max(low, 0), _STEPS), Fraction(high, _STEPS)

    def _at_most(self, share: Fraction) -> Fraction:
        """The chance of so many or fewer, were the share this."""
        return sum((self._exactly(count, share) for count in range(self.found + 1)), Fraction(0))

    def _at_least(self, share: Fraction) -> Fraction:
        return 1 - self._at_most(share) + self._exactly(self.found, share)

    def _exactly(self, count: int, share: Fraction) -> Fraction:
        return comb(self.jobs, count) * share**count * (1 - share) ** (self.jobs - count)


def _first(holds: Callable[[int], bool]) -> int:
    """The first thousandth for which something holds that holds for all after it, by halving."""
    low, high = 0, _STEPS
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return low
