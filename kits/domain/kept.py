"""Until when the kept piece of a lot is kept: until the last term of an engine with that lot has ended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

#: Engines that a sentence names.
MOST = 5


@dataclass(frozen=True, slots=True)
class EngineTerm:
    """An engine that something of the lot was ever fitted in, also where it came out since.

    ends_on  last day of its term, by months; None: no term of it has begun since that was fitted, or it has no such limit
    over     its term has ended, by months or by what its meters show
    """

    engine: str
    ends_on: date | None
    over: bool


@dataclass(frozen=True, slots=True)
class Kept:
    """Whether the piece may go, and why not. `until`: last day on which it is kept for certain; None: nobody can say yet."""

    may_go: bool
    until: date | None
    why: str


def kept_for(terms: Sequence[EngineTerm]) -> Kept:
    """The decision over all engines with the lot. Fitted nowhere, it is kept for nobody: a person may give it up."""
    running = sorted((one for one in terms if not one.over), key=lambda one: one.engine)
    if not terms:
        return Kept(True, None, "it was fitted in no engine")
    if not running:
        return Kept(True, None, f"the terms of all {len(terms)} engines with it have ended")
    open_ = [one.engine for one in running if one.ends_on is None]
    if open_:
        more = f" and {len(open_) - MOST} more" if len(open_) > MOST else ""
        return Kept(False, None, f"no end of a term is on record for {', '.join(open_[:MOST])}{more}")
    last = max(running, key=lambda one: (one.ends_on or date.min, one.engine))
    return Kept(False, last.ends_on, f"the term of {last.engine} runs until {last.ends_on}")
