"""What extra work costs in parts, against what the owner agreed to.

The parts of extra work are the difference between the list with its findings and the list without them. A part is priced by its
unit; what is sold closed (a tube, a tin) counts whole. Only parts are counted, at catalogue prices: tax is not in it, and hours are counted by
themselves (`extra_hours`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from inventory.domain.errors import DomainError


@dataclass(frozen=True, slots=True)
class Price:
    """What one unit of a part costs in coins (None: no price on record), how many base units it is, and whether it is sold whole."""

    coins: int | None
    per: Fraction
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Word:
    """The owner's newest word on one finding of extra work: which approval, and its limit in coins (None: no limit)."""

    approval: int
    limit_coins: int | None


@dataclass(frozen=True, slots=True)
class Spending:
    """Limit, what the parts come to, in coins, and the parts that have no price. `limit_coins` None: nothing is limited."""

    limit_coins: int | None
    used_coins: int
    unpriced: tuple[str, ...]

    @property
    def left_coins(self) -> int | None:
        """What is left; less than nothing: over the limit."""
        return None if self.limit_coins is None else self.limit_coins - self.used_coins

    @property
    def over(self) -> bool:
        """Above the limit; exactly on it passes."""
        return self.left_coins is not None and self.left_coins < 0


def limit_of(words: Iterable[Word]) -> int | None:
    """The sum of the limits of the approvals that stand, each once; None where none of them has one."""
    limits = {one.approval: one.limit_coins for one in words if one.limit_coins is not None}
    return sum(limits.values()) if limits else None


def spending(
    limit_coins: int | None, extra: Mapping[str, int], booked: Mapping[str, int], prices: Mapping[str, Price]
) -> Spending:
    """What the list with the extra work costs more than the list without it, rounded up to a whole coin.

    extra, booked   part → amount in base units, with the extra work and without it
    A part that only the booked list has is credited: the extra work put another in its place. KeyError for a part without a `Price`.
    Raises DomainError "amount-negative".
    """
    total, unpriced = Fraction(0), []
    for part in sorted(extra.keys() | booked.keys()):
        more, less = extra.get(part, 0), booked.get(part, 0)
        if min(more, less) < 0:
            raise DomainError("amount-negative", f"{part}: less than nothing is listed.", part=part)
        if more == less:
            continue
        price = prices[part]
        units = _units(more, price) - _units(less, price)
        if price.coins is None:
            unpriced.append(part)
        else:
            total += units * price.coins
    return Spending(limit_coins, ceil(total), tuple(unpriced))


def _units(amount: int, price: Price) -> Fraction:
    units = amount / price.per
    return Fraction(ceil(units)) if price.whole else units
