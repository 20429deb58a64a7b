"""Cure codes, life rules, expiry, extension and open life: how long rubber, sealant and other ageing things may be used.

The standards disagree with each other (see `compound_life`), so nothing here is a constant of nature: the rule and the day it gave
are kept together in an `Expiry` and stored with the lot. Shelf life is not service life, and the date that a maker printed, the
compound's sheet and the safety data sheet come before every default of ours.

An expiry day is inclusive: a lot that "expires today" may be used through today. `None` as a day means no limit.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import MAXYEAR, date, timedelta
from enum import StrEnum
from typing import Any

from inventory.domain.errors import DomainError

#: How far a two-digit year may lie ahead of the day on which the code is read before it is taken for the century before.
_YEARS_AHEAD = 20
_QUARTER_Q = re.compile(r"([1-9])\s?Q\s?(\d{4}|\d{2})", re.ASCII | re.IGNORECASE)
_QUARTER_SLASH = re.compile(r"([1-9])/(\d{4}|\d{2})", re.ASCII)
_ISO_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_LONGEST_CODE = 20
_LONGEST_LIFE_MONTHS = 1200


class Basis(StrEnum):
    """From which day of the cure quarter the years are counted: a setting of the shop, stored with the lot."""

    STRICT = "strict"  # first day of the quarter
    LENIENT = "lenient"  # last day of the quarter


class LifeKind(StrEnum):
    """What the life is counted from."""

    CURE = "from-cure"
    MAKING = "from-making"
    PRINTED = "printed"
    CONTENTS = "earliest-of-contents"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class CureDate:
    """The span of days in which the rubber was cured (one quarter, or one day), and the code as it was printed."""

    first: date
    last: date
    code: str

    def counted_from(self, basis: Basis) -> date:
        """The day from which the life runs: the first day of the span (strict) or its last (lenient)."""
        return self.first if basis is Basis.STRICT else self.last


@dataclass(frozen=True, slots=True)
class LifeRule:
    """A rule of life as data.

    life_months       closed life, for CURE and MAKING
    open_days         life once opened (a tube), None where opening does not shorten it
    extension_years   what one inspection can add, 0 where none is allowed
    by                the published rule set that the years come from, "" where they are the part's own

    CURE without months is rubber without a limit of storage: its cure date is still asked, and kept.
    """

    kind: LifeKind
    life_months: int | None = None
    open_days: int | None = None
    extension_years: int = 0
    by: str = ""

    def words(self) -> str:
        """The rule as the shelf label says it."""
        base = {
            LifeKind.CURE: f"{_months_words(self.life_months)} from cure",
            LifeKind.MAKING: f"{_months_words(self.life_months)} from making",
            LifeKind.PRINTED: "printed date",
            LifeKind.CONTENTS: "earliest of its contents",
            LifeKind.NONE: "no life limit",
        }[self.kind]
        parts = [base, *([f"by {self.by}"] if self.by else [])]
        if self.open_days is not None:
            parts.append(f"{self.open_days} days open")
        if self.extension_years:
            parts.append(f"one extension of {self.extension_years} years by inspection")
        return "; ".join(parts)


@dataclass(frozen=True, slots=True)
class Expiry:
    """The last day of use (None: no limit), the rule that gave it in words, and how many extensions are in it."""

    day: date | None
    rule: str
    extensions: int = 0


@dataclass(frozen=True, slots=True)
class Undated:
    """No day can be given: the thing belongs in quarantine, and may not be used. `reason` is a sentence."""

    reason: str


@dataclass(frozen=True, slots=True)
class LotDates:
    """What the bag, the tube or the box says. `contents` are the expiries of what a kit holds, one for each content."""

    cure: CureDate | None = None
    made: date | None = None
    printed: date | None = None
    contents: tuple[Expiry | Undated, ...] = ()


@dataclass(frozen=True, slots=True)
class Inspection:
    """A named inspector looked at a sample of the lot and passed it."""

    inspector: str
    day: date
    sample_pieces: int
    passed: bool = True


def add_months(day: date, months: int) -> date:
    """`day` moved by whole months; where the month is too short, its last day (2023-08-31 + 18 months = 2025-02-28)."""
    index = day.year * 12 + day.month - 1 + months
    year, month = divmod(index, 12)
    if not 1 <= year <= MAXYEAR:
        raise DomainError(
            "life-rule-unreadable", f"{day} and {months} months is no day of the calendar.", months=months
        )
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def add_years(day: date, years: int) -> date:
    """`day` moved by whole years; 29 February becomes 28 February where there is none."""
    return add_months(day, 12 * years)


def parse_cure_code(text: str, *, latest: date) -> CureDate:
    """Read `2Q24`, `2Q2024` or `3/94` (quarter and year: July to September 1994), or a full day `2011-11-01`.

    latest  the day on which the code is read: nothing was cured after it. A two-digit year is the one from 79 years before to
            20 years after that day's year.
    Errors: `cure-date-unreadable`, `cure-date-future`.
    Source: the quarter/year style of the label is clause 5.3 of ISO 2230 as quoted by a rubber supplier; the `2Q24` style is
    common practice on seal bags.
    """
    typed = text.strip()
    cured = _read_cure(typed, latest) if len(typed) <= _LONGEST_CODE else None
    if cured is None:
        raise DomainError(
            "cure-date-unreadable",
            f"{typed[:_LONGEST_CODE]!r} is no cure date.",
            ways_out=("Write the quarter and the year, as 2Q24, 2Q2024 or 3/94, or the full day, as 2024-05-01.",),
            typed=typed[:_LONGEST_CODE],
        )
    if cured.first > latest:
        raise DomainError(
            "cure-date-future",
            f"{typed!r} lies after {latest}: nothing can have been cured then.",
            typed=typed,
            latest=latest.isoformat(),
        )
    return cured


def _read_cure(typed: str, latest: date) -> CureDate | None:
    if match := _ISO_DAY.fullmatch(typed):
        try:
            day = date(*(int(part) for part in match.groups()))
        except ValueError:
            return None
        return CureDate(day, day, typed)
    match = _QUARTER_Q.fullmatch(typed) or _QUARTER_SLASH.fullmatch(typed)
    if match is None:
        return None
    quarter, year = int(match[1]), int(match[2])
    if len(match[2]) == 2:
        year = _full_year(year, latest.year)
    if quarter > 4 or year < 1:
        return None
    first = date(year, 3 * quarter - 2, 1)
    return CureDate(first, date(year, 3 * quarter, monthrange(year, 3 * quarter)[1]), typed.upper())


def _full_year(two_digits: int, now: int) -> int:
    """The year that ends in these two digits and lies in now-79 .. now+20."""
    top = now + _YEARS_AHEAD
    return top - (top - two_digits) % 100


def parse_life_rule(document: Mapping[str, Any] | None) -> LifeRule:
    """Read a rule as the part record keeps it.

    Shapes: None; {"from": "cure"|"making", "years": n, "extendable": bool or "extension_years": n}; {"closed_months": n,
    "open_days": n or absent}; {"printed": true}; {"contents": "earliest"}. `extendable` true allows the 3 years of the group
    B of ISO 2230 unless `extension_years` says otherwise. Error: `life-rule-unreadable`.
    """
    if document is None:
        return LifeRule(LifeKind.NONE)
    known = {"from", "years", "extendable", "extension_years", "closed_months", "open_days", "printed", "contents"}
    if unknown := sorted(set(document) - known):
        raise _bad_rule(f"unknown word {unknown[0]!r}", document)
    kinds = [key for key in ("from", "closed_months", "printed", "contents") if document.get(key)]
    if len(kinds) != 1:
        raise _bad_rule("it must say exactly one of from, closed_months, printed, contents", document)
    open_days = _whole(document, "open_days") if document.get("open_days") is not None else None
    if kinds == ["printed"]:
        return LifeRule(LifeKind.PRINTED, open_days=open_days)
    if kinds == ["contents"]:
        return LifeRule(LifeKind.CONTENTS)
    if kinds == ["closed_months"]:
        return LifeRule(LifeKind.MAKING, _whole(document, "closed_months"), open_days)
    if document["from"] not in ("cure", "making"):
        raise _bad_rule(f"life counted from {document['from']!r}", document)
    extension = _whole(document, "extension_years") if document.get("extension_years") else 0
    if document.get("extendable") and not extension:
        extension = 3
    kind = LifeKind.CURE if document["from"] == "cure" else LifeKind.MAKING
    return LifeRule(kind, 12 * _whole(document, "years"), open_days, extension)


def _whole(document: Mapping[str, Any], key: str) -> int:
    value = document.get(key)
    if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= _LONGEST_LIFE_MONTHS:
        raise _bad_rule(f"{key} is {value!r}, not a whole number from 1 to {_LONGEST_LIFE_MONTHS}", document)
    return value


def _bad_rule(what: str, document: Mapping[str, Any]) -> DomainError:
    return DomainError("life-rule-unreadable", f"The life rule cannot be read: {what}.", rule=dict(document))


def expiry(rule: LifeRule, dates: LotDates, basis: Basis) -> Expiry | Undated:
    """The last day of use by the rule, or `Undated` (quarantine) where the date that the rule counts from is not known.

    A printed use-by that is earlier than the counted day wins. For a rule counted from making, a printed use-by alone is enough.
    """
    if rule.kind is LifeKind.NONE:
        return Expiry(dates.printed, "printed date") if dates.printed else Expiry(None, rule.words())
    if rule.kind is LifeKind.PRINTED:
        return Expiry(dates.printed, "printed date") if dates.printed else Undated("No printed date: quarantine.")
    if rule.kind is LifeKind.CONTENTS:
        return _earliest(dates.contents)
    if rule.kind is LifeKind.CURE:
        if dates.cure is None:
            return Undated("No cure date: quarantine.")
        by = f"; by {rule.by}" if rule.by else ""
        if rule.life_months is None:
            unlimited = f"no limit of storage, cured {dates.cure.code}{by}"
            return Expiry(dates.printed, "printed date" if dates.printed else unlimited)
        start = dates.cure.counted_from(basis)
        counted = f"{_months_words(rule.life_months)} from {start}"
        text = f"{counted}, {_span_words(dates.cure, basis)}{by}"
    else:
        if dates.made is None:
            return Expiry(dates.printed, "printed date") if dates.printed else Undated("No date of making: quarantine.")
        start = dates.made
        text = f"{_months_words(rule.life_months)} from making on {start}"
    counted_day = add_months(start, rule.life_months or 0)
    if dates.printed is not None and dates.printed < counted_day:
        return Expiry(dates.printed, "printed date, earlier than " + text)
    return Expiry(counted_day, text)


def _span_words(cure: CureDate, basis: Basis) -> str:
    if cure.first == cure.last:
        return "the day of cure"
    return f"the {'first' if basis is Basis.STRICT else 'last'} day of cure quarter {cure.code} ({basis.value})"


def _earliest(contents: tuple[Expiry | Undated, ...]) -> Expiry | Undated:
    if not contents:
        return Undated("The contents are not known: quarantine.")
    limited: list[tuple[date, Expiry]] = []
    for content in contents:
        if isinstance(content, Undated):
            return Undated(f"One of the contents has no date ({content.reason})")
        if content.day is not None:
            limited.append((content.day, content))
    if not limited:
        return Expiry(None, "no content has a life limit")
    day, first = min(limited, key=lambda pair: pair[0])
    return Expiry(day, f"earliest of its contents: {first.rule}")


def opened(rule: LifeRule, closed: Expiry | Undated, opened_on: date | None) -> Expiry | Undated:
    """Use-by of an opened tube: the earlier of its closed expiry and the day of opening + open life.

    An open tube without the day of opening counts as expired, an undated one stays undated.
    """
    if isinstance(closed, Undated):
        return closed
    if opened_on is None:
        return Undated("Opened, and nobody wrote down when: it counts as expired.")
    if rule.open_days is None:
        return closed
    day = opened_on + timedelta(days=rule.open_days)
    if closed.day is not None and closed.day <= day:
        return closed
    return Expiry(day, f"{rule.open_days} days from opening on {opened_on}", closed.extensions)


def extend(rule: LifeRule, current: Expiry | Undated, inspection: Inspection) -> Expiry:
    """One extension after a named inspector has passed a sample; counted from the old expiry, never from the inspection.

    Errors: `extension-not-allowed` (rule or undated lot or failed sample), `extension-used`, `extension-unsigned`.
    Source: ISO 2230 allows initial life + one extension after inspection (two seal suppliers' pages quoting it).
    """
    if isinstance(current, Undated) or current.day is None or not rule.extension_years:
        raise DomainError(
            "extension-not-allowed", "The life rule of this part allows no extension here.", rule=rule.words()
        )
    if current.extensions:
        raise DomainError("extension-used", "This lot was extended once already; once is all.", expiry=str(current.day))
    if not inspection.inspector.strip() or inspection.sample_pieces < 1:
        raise DomainError(
            "extension-unsigned", "An extension needs a named inspector and a sample of at least one piece."
        )
    if not inspection.passed:
        raise DomainError("extension-not-allowed", "The sample did not pass the inspection.", day=str(inspection.day))
    text = f"{current.rule}; + {rule.extension_years} years by {inspection.inspector.strip()} on {inspection.day}"
    return replace(current, day=add_years(current.day, rule.extension_years), rule=text, extensions=1)


def usable_on(expiry_day: date | None, day: date, margin_days: int = 0) -> bool:
    """True when `day` + `margin_days` is not after the expiry (inclusive). No expiry: always."""
    return expiry_day is None or day.toordinal() + margin_days <= expiry_day.toordinal()


def last_fit_day(expiry_day: date, margin_days: int = 0) -> date:
    """The last day of fitting that still leaves the margin: "use by fit date ..."."""
    return expiry_day - timedelta(days=margin_days)


def _months_words(months: int | None) -> str:
    if months is None:
        return "no limit, counted"
    years, rest = divmod(months, 12)
    if rest or not years:
        return f"{months} months"
    return f"{years} year" if years == 1 else f"{years} years"
