"""The dates of a lot: what its bags said so far, what another bag adds, and where the two cannot both be right.

Pure. A lot without any date of its own takes those of the first bag that has some; another date on it is no small matter, so it is
refused, and put right by an act of its own.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import (
    Basis,
    Expiry,
    LifeKind,
    LifeRule,
    LotDates,
    Undated,
    expiry,
    parse_cure_code,
)


@dataclass(frozen=True, slots=True)
class Dates:
    """What is printed on a bag: the cure code as printed, the day of making, the use-by date; "" and None: not printed."""

    cure_code: str = ""
    made_on: date | None = None
    printed_on: date | None = None

    def __bool__(self) -> bool:
        return bool(self.cure_code or self.made_on or self.printed_on)


_WORDS = {"cure_code": "cured", "made_on": "made on", "printed_on": "good until"}


def joined(name: str, known: Dates, given: Dates, today: date) -> Dates:
    """What is known with what another bag adds; DomainError "lot-differs" where both say the same kind of date and not the same day.

    name   part and lot, for the words; today: the day on which the codes are read
    `3Q24` and `3Q2024` are one cure quarter.
    """
    for field, words in _WORDS.items():
        was, now = getattr(known, field), getattr(given, field)
        if not was or not now or was == now:
            continue
        if field == "cure_code" and _span(was, today) == _span(now, today):
            continue
        raise DomainError(
            "lot-differs",
            f"{name} is on record as {words} {was}, this bag says {now}: that is not one lot.",
            ways_out=(
                "Give the bag its own lot label.",
                "Where the record is wrong, put the dates of the lot right, with a reason.",
            ),
            known=str(was),
            given=str(now),
        )
    return Dates(
        known.cure_code or given.cure_code, known.made_on or given.made_on, known.printed_on or given.printed_on
    )


def _span(code: str, today: date) -> tuple[date, date] | str:
    try:
        cured = parse_cure_code(code, latest=today)
    except DomainError:
        return code
    return cured.first, cured.last


def life(rule: LifeRule, dates: Dates, basis: Basis, today: date, contents: Expiry | None = None) -> Expiry | Undated:
    """The last day of use by a rule of life. contents: what a kit's inner bags gave, for a rule that goes by them.

    Errors as `parse_cure_code`.
    """
    cure = parse_cure_code(dates.cure_code, latest=today) if dates.cure_code else None
    inside: tuple[Expiry | Undated, ...] = ()
    if rule.kind is LifeKind.CONTENTS:
        inside = (contents or Expiry(None, "contents' dates not known at receipt"),)
        if dates.printed_on is not None:
            inside += (Expiry(dates.printed_on, "printed date"),)
    return expiry(rule, LotDates(cure, dates.made_on, dates.printed_on, inside), basis)


def lacks_date(rule: LifeRule, dates: Dates) -> bool:
    """Whether a lot with these dates lacks the one that its life is counted from: it belongs in quarantine. A closed kit goes on the
    shelf: its contents bring their own dates."""
    return {
        LifeKind.CURE: not dates.cure_code,
        LifeKind.MAKING: dates.made_on is None and dates.printed_on is None,
        LifeKind.PRINTED: dates.printed_on is None,
    }.get(rule.kind, False)


def not_later(found: Expiry, known: date | None, rule: str) -> Expiry:
    """The earlier of a day that was counted and one that was on record before without the dates that it came from."""
    if known is None or (found.day is not None and found.day <= known):
        return found
    return replace(found, day=known, rule=rule)
