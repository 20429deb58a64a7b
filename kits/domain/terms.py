"""How long an engine's term runs: months from hand-over, and hours or distance by the meter, whichever is reached first.

The term runs from the hand-over to the customer. Months end on the same day of the month, or on its last day where the month is
shorter; that day is still inside. A meter that was changed goes on: the running total is what the old ones had run and what the
new one shows. Nothing here overrides what the maker, the contract or the law says: it is the shop's own sum.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.reading import Reader

HOURS, KILOMETRES = "hours", "kilometres"
#: Meter → its base unit in units of that: seconds, metres.
BASE = {HOURS: 3600, KILOMETRES: 1000}
_SHORT = {HOURS: "h", KILOMETRES: "km"}
_KEYS = frozenset({"months", "running", "running_where", "distance"})
MOST_MONTHS = 1200

ARRIVAL, HAND_OVER, CLAIM, CHANGE = "arrival", "hand-over", "claim", "meter change"
MOMENTS = (ARRIVAL, HAND_OVER, CLAIM)


def in_base(value: Decimal | int, meter: str) -> int:
    """What a meter shows as whole seconds or metres (tenths of an hour and of a kilometre are whole).

    Raises DomainError "meter-unknown", "amount-negative", "quantity-not-whole" (finer than the base unit).
    """
    if meter not in BASE:
        raise DomainError("meter-unknown", f"{meter[:40]!r} is none of {', '.join(BASE)}.", meter=meter[:40])
    if not Decimal(value).is_finite() or value < 0:
        raise DomainError("amount-negative", f"A meter shows no less than nothing: {value}.", meter=meter)
    exact = Fraction(value) * BASE[meter]
    if exact.denominator != 1:
        raise DomainError("quantity-not-whole", f"{value} {meter} is finer than a meter shows.", meter=meter)
    return int(exact)


@dataclass(frozen=True, slots=True)
class Warranty:
    """The limits of a family's term; None: no such limit. `running_where`: hours count there alone, and distance elsewhere."""

    months: int
    running_s: int | None = None
    distance_m: int | None = None
    running_where: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A meter read on a day, in the order of the record within it: base units (seconds, metres).

    begins  only where the meter was changed: `amount` is what the old one showed when it came out, this what the new one began at
    """

    on: date
    amount: int
    moment: str
    begins: int | None = None


@dataclass(frozen=True, slots=True)
class Total:
    """What the engine had run by all its meters together at a reading."""

    on: date
    amount: int
    moment: str


@dataclass(frozen=True, slots=True)
class Check:
    """One limit. `within`: True, False, or None where what is on record does not decide it."""

    limit: str
    within: bool | None
    why: str


@dataclass(frozen=True, slots=True)
class Term:
    """Whether a day lies inside the term: `within` is False when any limit is passed, None while one is not decided."""

    begun: bool
    within: bool | None
    why: str
    ends_on: date | None = None
    checks: tuple[Check, ...] = ()


def read_warranty(facts: Mapping[str, Any], reader: Reader) -> Warranty | None:
    """`facts.warranty` of a family document, None where it has none; problems go to the reader."""
    if facts.get("warranty") is None:
        return None
    where = "facts: warranty"
    entry = reader.mapping(facts["warranty"], where, _KEYS)
    found = Warranty(
        reader.whole(entry, "months", where, low=1, high=MOST_MONTHS),
        _limit(entry, "running", HOURS, where, reader),
        _limit(entry, "distance", KILOMETRES, where, reader),
        reader.text(entry, "running_where", where, ""),
    )
    if found.running_where and found.running_s is None:
        reader.problem(where, "'running_where' says where hours count, and there is no limit of hours")
    return found


def _limit(entry: Mapping[str, Any], key: str, meter: str, where: str, reader: Reader) -> int | None:
    text = reader.text(entry, key, where, "")
    if not text:
        return None
    found = re.fullmatch(rf"([0-9]{{1,9}}) {_SHORT[meter]}", text)
    if found is None or int(found[1]) == 0:
        reader.problem(where, f"{key!r} must be a whole number of {_SHORT[meter]}, as in '3000 {_SHORT[meter]}'")
        return None
    return int(found[1]) * BASE[meter]


def last_day(begins: date, months: int) -> date:
    """The last day of a term of whole months, included: the same day of the month, or the month's last where it is shorter.

    Raises DomainError "amount-not-positive" for less than one month.
    """
    if isinstance(months, bool) or not isinstance(months, int) or not 1 <= months <= MOST_MONTHS:
        raise DomainError("amount-not-positive", f"A term of {months} months makes no sense.", months=months)
    year, month = divmod(begins.year * 12 + begins.month - 1 + months, 12)
    return date(year, month + 1, min(begins.day, monthrange(year, month + 1)[1]))


def totals(readings: Iterable[Reading]) -> tuple[Total, ...]:
    """What the engine had run at each reading, by day; readings of one day stay in the order given."""
    before, found = 0, []
    for one in sorted(readings, key=lambda reading: reading.on):
        found.append(Total(one.on, before + one.amount, one.moment))
        if one.begins is not None:
            before += one.amount - one.begins
    return tuple(found)


def questions(before: Sequence[Reading], new: Reading, meter: str, *, photographed: bool) -> tuple[str, ...]:
    """What is asked about a new reading: lower than the one before it, higher than one after it, not photographed."""
    asked = []
    ahead = [one for one in before if one.on <= new.on]
    behind = sorted((one for one in before if one.on > new.on), key=lambda reading: reading.on)
    now = totals([*ahead, new])[-1].amount
    if ahead:
        last = totals(ahead)[-1]
        if now < last.amount:
            asked.append(f"{said(now, meter)} is lower than {said(last.amount, meter)} on {last.on} ({last.moment})")
    if behind:
        after = totals([*ahead, new, *behind[:1]])[-1]
        if now > after.amount:
            asked.append(
                f"{said(now, meter)} is higher than {said(after.amount, meter)} on {after.on} ({after.moment})"
            )
    if not photographed:
        asked.append("the meter was not photographed")
    return tuple(asked)


def said(amount: int, meter: str) -> str:
    """An amount of a meter for a person: "3,030 h", "1,089.5 h"."""
    tenths = amount * 10 // BASE[meter]
    return f"{tenths // 10:,}" + (f".{tenths % 10}" if tenths % 10 else "") + f" {_SHORT[meter]}"


def limits_in(warranty: Warranty, used_in: str) -> dict[str, int | None]:
    """Meter → its limit in base units, None where none counts, for an engine that works there."""
    there = warranty.running_where
    running, distance = warranty.running_s, warranty.distance_m
    if there:
        running, distance = (running, None) if used_in == there else (None, distance)
    return {HOURS: running, KILOMETRES: distance}


def not_read(limits: Mapping[str, int | None], readings: Mapping[str, Sequence[Reading]], on: date) -> tuple[str, ...]:
    """Meters that have a limit and were not read for a claim on its day."""
    read = {meter for meter, rows in readings.items() if any(row.moment == CLAIM and row.on == on for row in rows)}
    return tuple(meter for meter, limit in limits.items() if limit is not None and meter not in read)


def term(
    warranty: Warranty | None,
    handed_over: date | None,
    used_in: str,
    readings: Mapping[str, Sequence[Reading]],
    on: date,
) -> Term:
    """Whether a day lies inside the term of an engine, with a reason for months, hours and distance each.

    readings  meter → its readings, in the order of the record; those after the day are not looked at
    """
    if handed_over is None or on < handed_over:
        since = f"the engine was handed over on {handed_over}" if handed_over else "no hand-over is on record"
        return Term(False, None, f"{since}: the term has not begun")
    if warranty is None:
        return Term(True, None, "the family's document says nothing of a term")
    ends_on = last_day(handed_over, warranty.months)
    in_time = on <= ends_on
    months = Check("months", in_time, f"{warranty.months} months from {handed_over}: to {ends_on}, that day included")
    limits = limits_in(warranty, used_in)
    checks = (
        months,
        *(_by_meter(meter, limits[meter], handed_over, readings.get(meter, ()), on) for meter in BASE),
    )
    passed = [one for one in checks if one.within is False]
    undecided = [one for one in checks if one.within is None]
    if passed:
        return Term(True, False, "; ".join(one.why for one in passed), ends_on, checks)
    if undecided:
        return Term(True, None, "; ".join(one.why for one in undecided), ends_on, checks)
    return Term(True, True, "inside every limit", ends_on, checks)


def _by_meter(meter: str, limit: int | None, begins: date, readings: Sequence[Reading], on: date) -> Check:
    """Run since hand-over against the limit.

    Without a reading at hand-over the newest one before it stands in: what was run since is then at most the difference, which
    decides a yes and never a no. Readings that contradict each other decide only what all of them say.
    """
    if limit is None:
        return Check(meter, True, f"no limit of {meter}")
    known = [one for one in totals(readings) if one.on <= on]
    start = max((at for at, one in enumerate(known) if _is_start(one, begins)), default=None)
    exact = start is not None
    if start is None:
        start = max((at for at, one in enumerate(known) if one.on <= begins), default=None)
    base = known[start].amount if start is not None else 0
    since = known[start + 1 if start is not None else 0 :]
    if not since:
        return Check(meter, None, f"no reading of {meter} since hand-over")
    last = since[-1]
    most = max(one.amount for one in since)
    run_said = f"{said(last.amount - base, meter)} since hand-over on {last.on}, limit {said(limit, meter)}"
    if most - base <= limit:
        return Check(meter, True, run_said)
    if last.amount - base <= limit:
        high = f"an earlier reading says {said(most - base, meter)}"
        return Check(meter, None, f"{run_said}, but {high}: ask")
    if not exact:
        return Check(meter, None, f"{run_said}, but what the meter showed at hand-over is not on record: ask")
    return Check(meter, False, run_said)


def _is_start(one: Total, begins: date) -> bool:
    return one.moment == HAND_OVER and one.on == begins
