"""Hours of extra work against what the owner agreed to: seconds, exactly. Pure.

Each approval with hours of its own is a purse of its own: what is worked on the findings that it speaks of is taken from it, and
from nothing else. The newest word on a finding is the one that counts for it, for what was worked before it too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension

#: What one person can work in a day.
DAY_S = 24 * 3600
#: More than a hundred thousand hours is a slip of the finger.
_MOST_S = 100_000 * 3600


@dataclass(frozen=True, slots=True)
class HoursWord:
    """The owner's newest word on one finding: the approval, whether it agrees, its limit in seconds (None: hours are not limited)."""

    approval: int
    approved: bool
    limit_s: int | None


@dataclass(frozen=True, slots=True)
class Worked:
    """An entry that counts: on which finding, who (id), the day's ordinal, seconds."""

    finding: int
    person: int
    day: int
    time_s: int


@dataclass(frozen=True, slots=True)
class Purse:
    """Of one approval: its limit (None: hours are not limited) and what was worked on its findings, in seconds."""

    approval: int
    limit_s: int | None
    used_s: int

    @property
    def left_s(self) -> int | None:
        """What is left; less than nothing only where the owner agreed to less than was worked already."""
        return None if self.limit_s is None else self.limit_s - self.used_s


def read_time(text: str) -> int:
    """A time as typed ("1.5 h", "45 min") in whole seconds, above nothing and within a day. DomainError of amounts."""
    time_s = read_amount(text, Dimension.TIME).amount
    if time_s <= 0:
        raise DomainError("amount-not-positive", f"{text}: a time above zero is needed.", typed=text)
    if time_s > DAY_S:
        raise DomainError(
            "amount-too-large", f"{text} is more than a day has: one entry is one day's work.", typed=text
        )
    return time_s


def read_limit(text: str) -> int | None:
    """Up to how long, as typed ("10 h"), in whole seconds; None for an empty text: not limited. DomainError of amounts."""
    if not text.strip():
        return None
    limit_s = read_amount(text, Dimension.TIME).amount
    if limit_s > _MOST_S:
        raise DomainError("amount-too-large", f"{text} is more than any rebuild takes.", typed=text)
    return limit_s


def purses(words: Mapping[int, HoursWord], worked: Sequence[Worked]) -> tuple[Purse, ...]:
    """Every approval that stands for a finding, by its number, with what was worked on the findings that it stands for.

    words  finding → the newest word on it
    """
    limits = {word.approval: word.limit_s for word in words.values() if word.approved}
    used = dict.fromkeys(limits, 0)
    for one in worked:
        word = words.get(one.finding)
        if word is not None and word.approved:
            used[word.approval] += one.time_s
    return tuple(Purse(approval, limits[approval], used[approval]) for approval in sorted(limits))


def refuse_entry(new: Worked, words: Mapping[int, HoursWord], worked: Sequence[Worked]) -> None:
    """DomainError where an entry may not be made; on the limit passes, a second beyond does not.

    "owner-not-asked": no word of the owner agrees to the finding; "hours-over-limit"; "amount-too-large": more than a day of one person.
    """
    word = words.get(new.finding)
    if word is None or not word.approved:
        how = "has not answered yet" if word is None else "refused it"
        raise DomainError(
            "owner-not-asked",
            f"The owner {how}: nothing is worked on finding {new.finding}.",
            ways_out=("Ask the owner, and record the word.",),
            finding=new.finding,
        )
    that_day = sum(one.time_s for one in worked if (one.person, one.day) == (new.person, new.day))
    if that_day + new.time_s > DAY_S:
        raise DomainError(
            "amount-too-large",
            f"{hours(that_day)} are entered for that person and day already; {hours(new.time_s)} more are over a day.",
            entered_s=that_day,
        )
    purse = next(one for one in purses(words, worked) if one.approval == word.approval)
    if purse.limit_s is not None and purse.used_s + new.time_s > purse.limit_s:
        raise DomainError(
            "hours-over-limit",
            f"{hours(purse.used_s)} were worked and {hours(new.time_s)} are to be added; the owner agreed to {hours(purse.limit_s)}.",
            ways_out=("Ask the owner, and record the new word.",),
            approval=word.approval,
            limit_s=purse.limit_s,
            used_s=purse.used_s,
            asked_s=new.time_s,
        )


def hours(time_s: int) -> str:
    """A time as a person is told, in hours and minutes, seconds where there are any."""
    whole, rest = divmod(abs(time_s), 3600)
    minutes, seconds = divmod(rest, 60)
    said = [f"{count} {unit}" for count, unit in ((whole, "h"), (minutes, "min"), (seconds, "s")) if count]
    return ("-" if time_s < 0 else "") + (" ".join(said) or "0 h")
