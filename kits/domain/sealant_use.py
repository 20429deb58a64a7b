"""Sealant planned against used: the shop's own waste, learned from its records with its range, and beads that run too fat."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

#: Fewer records than this are thin: shown, and said to be thin.
ENOUGH = 5
#: A joint that took more than this many times its book in each of so many jobs running is looked at.
FAT = Fraction(3, 2)
FAT_JOBS = 5


@dataclass(frozen=True, slots=True)
class Use:
    """One bead: of which job and joint, what was to stay in it, what priming took, what was planned and what was used, µL."""

    job: str
    joint: str
    laid_ul: int
    prime_ul: int
    planned_ul: int
    actual_ul: int

    @property
    def waste(self) -> Fraction:
        """The share that this bead lost: what was used less the priming, over what was to stay in the joint, less one."""
        return Fraction(self.actual_ul - self.prime_ul, self.laid_ul) - 1


@dataclass(frozen=True, slots=True)
class Learned:
    """The shop's own waste factor: from how many beads, their mean, lowest and highest; None from none."""

    count: int
    mean: Fraction | None
    low: Fraction | None
    high: Fraction | None

    @property
    def thin(self) -> bool:
        """Too few records to go by."""
        return self.count < ENOUGH


def learned(uses: Sequence[Use]) -> Learned:
    """The waste of these beads, each counted once."""
    wastes = [use.waste for use in uses]
    if not wastes:
        return Learned(0, None, None, None)
    return Learned(len(wastes), sum(wastes, Fraction(0)) / len(wastes), min(wastes), max(wastes))


def too_fat(uses: Sequence[Use]) -> bool:
    """Whether a joint's last `FAT_JOBS` jobs each took more than `FAT` times their book; `uses` in order of time.

    All beads of a job are added up; one that was made again has its book twice.
    """
    planned: dict[str, int] = {}
    actual: dict[str, int] = {}
    for use in uses:
        planned[use.job] = planned.pop(use.job, 0) + use.planned_ul
        actual[use.job] = actual.get(use.job, 0) + use.actual_ul
    last = list(planned)[-FAT_JOBS:]
    return len(last) == FAT_JOBS and all(actual[job] > FAT * planned[job] for job in last)
