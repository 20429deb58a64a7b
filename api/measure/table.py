"""What a measurement found, and how it is printed: the same table for every topic.

A median is held against its limit: so many times the twin's median, or a time in milliseconds, whichever is looser; some limits
ask for both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import median

#: An act may take this many times as long in a shop ten times as large; its answers have the same size.
GROWTH = Fraction(13, 10)


class OtherAnswer(Exception):
    """What is measured and its twin gave different answers, or wrote different rows: nothing is said of their times."""


@dataclass(frozen=True, slots=True)
class Limit:
    """`times` the twin's median, or `milliseconds` (None: no such way out). `grows`: the growth limit does not apply. `both`: neither
    alone is enough."""

    times: Fraction
    milliseconds: int | None
    grows: bool = False
    both: bool = False

    def said(self) -> str:
        """For a person."""
        ratio = f"{float(self.times):g} ×"
        return ratio if self.milliseconds is None else f"{ratio} {'and' if self.both else 'or'} {self.milliseconds} ms"


@dataclass(slots=True)
class Sample:
    """Times of one act and of its twin in nanoseconds, in the order in which they were taken, and its count of queries.

    equal   how many pairs of answers were compared; every one of them was equal, else the measurement would have ended
    """

    act: str
    limit: Limit
    taken_ns: list[int] = field(default_factory=list)
    twin_ns: list[int] = field(default_factory=list)
    queries: int = 0
    equal: int = 0

    @property
    def median_ns(self) -> int:
        """Median of the act."""
        return round(median(self.taken_ns))

    @property
    def twin_median_ns(self) -> int:
        """Median of the twin."""
        return round(median(self.twin_ns))

    @property
    def p95_ns(self) -> int:
        """The time that 95 of 100 runs did not exceed (nearest rank)."""
        return sorted(self.taken_ns)[math.ceil(len(self.taken_ns) * 95 / 100) - 1]

    @property
    def ratio(self) -> Fraction:
        """Median over the twin's median."""
        return Fraction(self.median_ns, self.twin_median_ns)

    @property
    def ok(self) -> bool:
        """Within the looser of the two limits, or within both where both are asked for."""
        in_time = self.limit.milliseconds is not None and self.median_ns <= self.limit.milliseconds * 1_000_000
        in_ratio = self.ratio <= self.limit.times
        return (in_time and in_ratio) if self.limit.both else (in_time or in_ratio)


@dataclass(frozen=True, slots=True)
class Grown:
    """One act in a small and in a large shop."""

    act: str
    small_ns: int
    large_ns: int

    @property
    def ratio(self) -> Fraction:
        """How many times as long in the large shop."""
        return Fraction(self.large_ns, self.small_ns)

    @property
    def ok(self) -> bool:
        """Within the limit of growth."""
        return self.ratio <= GROWTH


def growth(small: Iterable[Sample], large: Iterable[Sample]) -> list[Grown]:
    """Every act that must not grow, by name."""
    others = {sample.act: sample for sample in large}
    return [
        Grown(sample.act, sample.median_ns, others[sample.act].median_ns) for sample in small if not sample.limit.grows
    ]


def _ms(nanoseconds: int) -> str:
    return f"{nanoseconds / 1_000_000:.2f} ms"


def _word(ok: bool) -> str:
    return "ok" if ok else "short"


def sample_lines(samples: Iterable[Sample], *, twin: str = "twin's", instances: bool = False) -> list[str]:
    """The table of one shop; of a topic without a database it says how many instances there were, and no queries."""
    counts = "instances" if instances else "queries"
    head = ("act", "median", "p95", counts, f"{twin} median", "ratio", "limit", "equal answers", "")
    body = [
        (
            sample.act,
            _ms(sample.median_ns),
            _ms(sample.p95_ns),
            str(len(sample.taken_ns) if instances else sample.queries),
            _ms(sample.twin_median_ns),
            f"{float(sample.ratio):.2f}",
            sample.limit.said(),
            f"{sample.equal} of {len(sample.taken_ns)}",
            _word(sample.ok),
        )
        for sample in samples
    ]
    return _aligned([head, *body])


def growth_lines(rows: Iterable[Grown], small: int, large: int) -> list[str]:
    """The table of growth between two sizes."""
    head = ("act", f"median at {small}", f"median at {large}", "ratio", "limit", "")
    body = [
        (row.act, _ms(row.small_ns), _ms(row.large_ns), f"{float(row.ratio):.2f}", f"{float(GROWTH):g}", _word(row.ok))
        for row in rows
    ]
    return _aligned([head, *body])


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Words to the left, numbers to the right, two blanks between."""
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]))]
    last = len(widths) - 1
    return [
        "  ".join(cell.ljust(widths[at]) if at in (0, last) else cell.rjust(widths[at]) for at, cell in enumerate(row)).rstrip()
        for row in rows
    ]  # fmt: skip
