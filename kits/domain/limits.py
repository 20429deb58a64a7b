"""A measured value against its limits, with the allowance of the gauge.

Idea of ISO 14253-1 (from memory; its zones as quoted are in the tests): the allowance narrows what passes and widens what
fails; between the two nobody can say, so it is measured again or a person decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from inventory.domain.errors import DomainError


class Verdict(StrEnum):
    """What can be said of a value; the worse comes later."""

    PASS = "pass"
    DOUBTFUL = "doubtful"
    FAIL = "fail"


_ORDER = tuple(Verdict)


def whole_nm(value: object, what: str, *, code: str = "limits-unreadable", least: int | None = 0) -> int:
    """`value` as a whole number of nanometres, not below `least`; DomainError `code` for anything else, a bool too."""
    if not isinstance(value, int) or isinstance(value, bool) or (least is not None and value < least):
        raise DomainError(code, f"{what} must be a whole number of nanometres, was {value!r}.", what=what)
    return value


@dataclass(frozen=True, slots=True)
class Limits:
    """From `low_nm` to `high_nm`, both pass; None: no limit on that side, but not on both.

    Raises DomainError `limits-unreadable`.
    """

    low_nm: int | None
    high_nm: int | None

    def __post_init__(self) -> None:
        ends = [end for end in (self.low_nm, self.high_nm) if end is not None]
        for end in ends:
            whole_nm(end, "a limit", least=None)
        if not ends or (len(ends) == 2 and ends[0] > ends[1]):
            raise DomainError(
                "limits-unreadable", "Limits go from the lower to the upper one.", low=self.low_nm, high=self.high_nm
            )


def judge(value_nm: int | Fraction, limits: Limits, allowance_nm: int = 0) -> Verdict:
    """Pass if lo + U <= x <= hi - U, fail if x < lo - U or x > hi + U, else doubtful; U is the allowance, in nanometres."""
    whole_nm(allowance_nm, "the gauge allowance")
    if not isinstance(value_nm, int | Fraction) or isinstance(value_nm, bool):
        raise DomainError("limits-unreadable", f"A value in nanometres is needed, was {value_nm!r}.")
    low, high = limits.low_nm, limits.high_nm
    if (low is not None and value_nm < low - allowance_nm) or (high is not None and value_nm > high + allowance_nm):
        return Verdict.FAIL
    if (low is None or value_nm >= low + allowance_nm) and (high is None or value_nm <= high - allowance_nm):
        return Verdict.PASS
    return Verdict.DOUBTFUL


def gauge_too_coarse(limits: Limits, allowance_nm: int) -> bool:
    """Whether nothing could pass with that allowance: the gauge is not good enough for this limit."""
    if limits.low_nm is None or limits.high_nm is None:
        return False
    return limits.high_nm - limits.low_nm < 2 * whole_nm(allowance_nm, "the gauge allowance")


def worst(verdicts: tuple[Verdict, ...]) -> Verdict:
    """The worst of several verdicts; pass where there are none."""
    return max(verdicts, key=_ORDER.index, default=Verdict.PASS)
