"""How much of dated stock is likely to be written off: Poisson demand against what is there, first to expire first out. Pure.

E[(Q - D)+] for one lot of Q pieces and a demand D until its last day. Several lots stand in line: demand takes the earliest that is
still good, and what one lot cannot serve falls on the next. These are estimates, and floats; nothing is decided by comparing them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import exp, fsum, lgamma, log, sqrt

#: Fewer uses than this in the window are too few to trust a rate. A default, from memory; a person judges.
FEW_USES = 5
#: Standard deviations beyond which the chances are left out; they are below 1e-18 there.
_TAIL = 12
#: Chances below this are nothing.
_NOTHING = 1e-18


def poisson(mean: float) -> dict[int, float]:
    """How likely each count is; counts whose chance is below 1e-18 are left out. A mean of 0 (or below) is surely 0."""
    if mean <= 0:
        return {0: 1.0}
    reach = _TAIL * sqrt(mean) + 30
    chances = (
        (count, exp(count * log(mean) - mean - lgamma(count + 1)))
        for count in range(max(0, int(mean - reach)), int(mean + reach) + 1)
    )
    return {count: chance for count, chance in chances if chance > _NOTHING}


def expected_write_off(quantity: int, mean: float) -> float:
    """E[(Q - D)+], D Poisson of that mean."""
    return fsum((quantity - count) * chance for count, chance in poisson(mean).items() if count < quantity)


def chance_of_any(quantity: int, mean: float) -> float:
    """How likely it is that anything is left: P(D < Q)."""
    return min(1.0, fsum(chance for count, chance in poisson(mean).items() if count < quantity))


@dataclass(frozen=True, slots=True)
class DatedStock:
    """Pieces of one lot that no job holds, and the last day of fitting that they are good for; None: good for none (no date, or
    past)."""

    free: int
    last: date | None


@dataclass(frozen=True, slots=True)
class Loss:
    """expected  pieces written off; chance: that any is; mean: pieces that are expected to be wanted, beyond what is held, between
    the last day of the lot before it and its own"""

    expected: float
    chance: float
    mean: float


def losses(
    stock: Sequence[DatedStock], on: date, per_day: Fraction, booked: Sequence[tuple[date, int]] = ()
) -> list[Loss]:
    """What is likely to be left of each lot after its last day, in the order given, which is that of their last days.

    on       the day asked about; it and the last day of a lot are days of use
    per_day  pieces used in a day, by past use
    booked   (day, pieces) held for jobs: they are part of that use and are served already, so only use beyond them is still to come
    """
    found: list[Loss] = []
    over: dict[int, float] = {0: 1.0}
    seen = Fraction(0)
    for lot in stock:
        if lot.last is None or lot.last < on:
            found.append(Loss(float(lot.free), 1.0 if lot.free else 0.0, 0.0))
            continue
        due = sum(pieces for day, pieces in booked if day <= lot.last)
        wanted = max(seen, per_day * ((lot.last - on).days + 1) - due)
        mean, seen = float(wanted - seen), wanted
        claims = _add(over, poisson(mean))
        left = fsum((lot.free - claim) * chance for claim, chance in claims.items() if claim < lot.free)
        any_left = fsum(chance for claim, chance in claims.items() if claim < lot.free)
        found.append(Loss(left, min(1.0, any_left), mean))
        over = _beyond(claims, lot.free)
    return found


def _add(one: dict[int, float], other: dict[int, float]) -> dict[int, float]:
    """The chances of the sum of two independent counts."""
    total: dict[int, float] = {}
    for first, first_chance in one.items():
        for second, second_chance in other.items():
            total[first + second] = total.get(first + second, 0.0) + first_chance * second_chance
    return {count: chance for count, chance in total.items() if chance > _NOTHING}


def _beyond(claims: dict[int, float], free: int) -> dict[int, float]:
    """The chances of what a lot cannot serve."""
    over: dict[int, float] = {}
    for claim, chance in claims.items():
        over[max(0, claim - free)] = over.get(max(0, claim - free), 0.0) + chance
    return over
