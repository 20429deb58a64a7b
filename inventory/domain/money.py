"""Money in whole coins: reading a price and splitting a total without losing a coin.

Receipts keep totals; a unit cost is a fraction of a total and is never stored rounded.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from .errors import DomainError
from .text import shown

#: Decimal places of the shop's money, and coins in one unit of it.
PLACES = 2
COINS = 100
_PRICE = re.compile(r"([0-9]{1,12})(?:\.([0-9]{1,2}))?")


def parse_money(text: str) -> int:
    """`93.20` -> 9320 coins; `93.2` and `93` are read as 93.20 and 93.00. Raises DomainError `money-unreadable` for
    anything else.

    No sign, no currency word, no comma (it can mean thousands or decimals), no more than two places.
    """
    found = _PRICE.fullmatch(text.strip(" ")) if isinstance(text, str) and len(text) <= 20 else None
    if found is None:
        comma = isinstance(text, str) and "," in text
        raise DomainError(
            "money-unreadable",
            f'"{shown(text)}" is not an amount of money',
            ways_out=("write 3.50 or 3500" if comma else "write it as in 93.20",),
            typed=shown(text),
        )
    return int(found[1]) * COINS + int((found[2] or "").ljust(PLACES, "0"))


def format_money(total_coins: int) -> str:
    """9320 -> `93.20`."""
    sign = "-" if total_coins < 0 else ""
    whole, coins = divmod(abs(total_coins), COINS)
    return f"{sign}{whole}.{coins:0{PLACES}d}"


def split_total(total_coins: int, weights: Sequence[int | Fraction]) -> list[int]:
    """Shares of `total_coins` in proportion to `weights`, in whole coins, adding up to it exactly.

    Largest remainder (Hamilton's method): everybody gets the whole part, the coins left over go one each to the largest
    fractions, a tie to the first in order. A share differs from its exact value by less than a coin; weight 0 gets
    nothing. Raises ValueError for no weights, a negative weight, or weights that are all 0 (nothing to split by is a
    defect of the caller, not of an input).
    """
    exact_weights = [Fraction(weight) for weight in weights]
    whole = sum(exact_weights, Fraction(0))
    if whole == 0 or any(weight < 0 for weight in exact_weights):
        raise ValueError("a total is split by weights that are not negative and not all nothing")
    exact = [total_coins * weight / whole for weight in exact_weights]
    shares = [share.numerator // share.denominator for share in exact]
    left = total_coins - sum(shares)
    by_remainder = sorted(range(len(exact)), key=lambda index: (shares[index] - exact[index], index))
    for index in by_remainder[:left]:
        shares[index] += 1
    return shares
