"""Whether it pays to have a part sent fast: the price of express against the cost of a bench that stands idle. Pure.

Days are calendar days, money whole coins.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Express:
    """What express does: here on `arrives_on`, so many idle days of the bench fewer, what these would have cost.

    idle_days_saved  None where the usual days are not known
    saved_coins      None where that, or what an idle day costs, is not known
    worth_it         None where nobody can tell; costing what it saves is worth it
    """

    arrives_on: date
    in_time: bool
    idle_days_saved: int | None
    saved_coins: int | None
    worth_it: bool | None


def idle_days(needed_on: date, arrives_on: date) -> int:
    """How many days a bench waits for what is needed on one day and here on another; 0 where it is here by then."""
    return max(0, (arrives_on - needed_on).days)


def express(
    ordered_on: date,
    needed_on: date,
    lead_days: int | None,
    express_days: int,
    express_coins: int,
    idle_day_coins: int | None,
) -> Express:
    """Express of a part that is ordered on a day, against its usual days. `express_coins` is what express costs more."""
    arrives = ordered_on + timedelta(days=express_days)
    saved_days = None
    if lead_days is not None:
        usual = idle_days(needed_on, ordered_on + timedelta(days=lead_days))
        saved_days = max(0, usual - idle_days(needed_on, arrives))
    saved = None if saved_days is None or idle_day_coins is None else saved_days * idle_day_coins
    # A day that costs nothing, or none saved, is worth no coin: 0 coins are not "worth it" by being equal to 0.
    worth = None if saved is None else bool(saved_days) and express_coins <= saved
    return Express(arrives, arrives <= needed_on, saved_days, saved, worth)
