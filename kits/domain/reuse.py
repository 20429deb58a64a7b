"""Bolts that may be used again: only where the maker gives a limit, and only what is measured with a gauge that is in date, and of known history.

The limits are facts of the engine family (`Facts.bolts`), from its maker's manual, which overrides every default. Torque-and-angle bolts are
never used again unless there is such a limit: a bolt that was used once too often breaks or loses its clamp.
"""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from kits.domain.facts import ReuseLimit
from kits.domain.gauges import IN_DATE


def found_nm(result: str) -> int | None:
    """The length, stretch or diameter that an inspection found, from its text up to the first ";"; None where it begins with no length."""
    try:
        return read_amount(result.partition(";")[0].strip(), Dimension.LENGTH).amount
    except DomainError:
        return None


def why_not(limit: ReuseLimit, measured_nm: int | None, uses: int | None, gauge_state: str | None) -> str:
    """Why a bolt is not used again, empty where it may be.

    measured_nm  what the maker judges it by, as the inspection found it
    uses         final tightenings so far by our records; None: its history is unknown, which counts as used up
    gauge_state  how the gauge that it was read with stands on the day ("in date" or not); None: no gauge was named
    """
    if limit.never:
        return f"{limit.part} is never used again: its maker gives no limit."
    if limit.uses_most is not None and (uses is None or uses < 1):
        return f"{limit.part}: its history is unknown, so it counts as used {limit.uses_most} times already."
    if limit.uses_most is not None and uses is not None and uses >= limit.uses_most:
        return f"{limit.part} was tightened {uses} times; {limit.uses_most} are the most."
    if limit.limited and measured_nm is None:
        return f"{limit.part}: its {limit.measured} is to be measured; the result names none."
    if limit.most_nm is not None and measured_nm is not None and measured_nm > limit.most_nm:
        return f"{limit.part}: its {limit.measured} is above the limit."
    if limit.neck_least_nm is not None and measured_nm is not None and measured_nm < limit.neck_least_nm:
        return f"{limit.part}: its {limit.measured} is below the limit."
    if limit.limited and gauge_state != IN_DATE:
        return f"{limit.part}: " + (f"the gauge is {gauge_state}." if gauge_state else "no gauge is named.")
    return ""
