"""Cure codes, expiry, extension, open life. Values read on suppliers' pages name them; the standards' own texts were not read."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.shelf_life import (
    Basis,
    CureDate,
    Expiry,
    Inspection,
    LifeKind,
    LifeRule,
    LotDates,
    Undated,
    add_months,
    add_years,
    expiry,
    extend,
    last_fit_day,
    opened,
    parse_cure_code,
    parse_life_rule,
    usable_on,
)

TODAY = date(2025, 1, 15)
SEVEN_FROM_CURE = LifeRule(LifeKind.CURE, 84, extension_years=3)
TUBE = LifeRule(LifeKind.MAKING, 18, open_days=28)


def cured(code: str) -> LotDates:
    return LotDates(cure=parse_cure_code(code, latest=TODAY))


def day_of(result: Expiry | Undated) -> date | None:
    assert isinstance(result, Expiry)
    return result.day


@pytest.mark.parametrize(
    ("code", "first", "last"),
    [
        # "quarter and year of cure (July-Sept 1994 = 3/94)": clause 5.3 of ISO 2230, excerpt on a rubber supplier's page
        ("3/94", date(1994, 7, 1), date(1994, 9, 30)),
        ("3/1994", date(1994, 7, 1), date(1994, 9, 30)),
        # "last date of the quarter is considered the manufacturing date": 2024-06-30 for 2Q24, a seal supplier's page
        ("2Q24", date(2024, 4, 1), date(2024, 6, 30)),
        ("2Q2024", date(2024, 4, 1), date(2024, 6, 30)),
        (" 2q24 ", date(2024, 4, 1), date(2024, 6, 30)),
        ("1Q24", date(2024, 1, 1), date(2024, 3, 31)),
        ("4Q99", date(1999, 10, 1), date(1999, 12, 31)),
        ("1Q25", date(2025, 1, 1), date(2025, 3, 31)),
        ("2011-11-01", date(2011, 11, 1), date(2011, 11, 1)),
    ],
)
def test_cure_codes_of_both_styles(code: str, first: date, last: date) -> None:
    assert parse_cure_code(code, latest=TODAY) == CureDate(first, last, code.strip().upper())


@pytest.mark.parametrize(
    "code",
    [
        "",
        "5Q24",
        "0Q24",
        "5/94",
        "2Q2",
        "2Q024",
        "Q224",
        "24Q2",
        "2O24",
        "2Q24\0",
        "2024-02-30",
        "٢Q24",
        "2Q24" * 900,
        "1Q0000",
    ],
)
def test_what_is_no_cure_date_is_refused(code: str) -> None:
    with pytest.raises(DomainError) as refused:
        parse_cure_code(code, latest=TODAY)
    assert refused.value.code == "cure-date-unreadable"
    assert len(refused.value.values["typed"]) <= 20


@pytest.mark.parametrize("code", ["2Q25", "2Q2025", "2/25", "3Q30", "2025-01-16"])
def test_cured_in_the_future_is_refused_and_not_taken_for_a_century_ago(code: str) -> None:
    with pytest.raises(DomainError) as refused:
        parse_cure_code(code, latest=TODAY)
    assert refused.value.code == "cure-date-future"


def test_two_digit_years_span_79_years_back_and_20_ahead() -> None:
    assert parse_cure_code("1Q46", latest=TODAY).first.year == 1946
    with pytest.raises(DomainError, match="lies after"):
        parse_cure_code("1Q45", latest=TODAY)


def test_quarter_counts_from_first_day_strict_and_last_day_lenient() -> None:
    # 7 years, group B of ISO 2230 (years read on two seal suppliers' pages); both bases are in use, the dates are derived
    assert day_of(expiry(SEVEN_FROM_CURE, cured("3Q22"), Basis.STRICT)) == date(2029, 7, 1)
    assert day_of(expiry(SEVEN_FROM_CURE, cured("3Q22"), Basis.LENIENT)) == date(2029, 9, 30)


def test_dates_worked_by_suppliers() -> None:
    # 2011-11-01 + 7 y = 2018-11-01 and 2017-06-27 + 7 y = 2024-06-27: a ring supplier's page with worked dates (ISO 2230, NBR)
    for basis in Basis:
        assert day_of(expiry(SEVEN_FROM_CURE, cured("2011-11-01"), basis)) == date(2018, 11, 1)
        assert day_of(expiry(SEVEN_FROM_CURE, cured("2017-06-27"), basis)) == date(2024, 6, 27)
    # 2Q24 + 15 y, last day of the quarter: rule on a seal supplier's page quoting AS5316, date derived
    assert day_of(expiry(LifeRule(LifeKind.CURE, 180), cured("2Q24"), Basis.LENIENT)) == date(2039, 6, 30)


def test_the_rule_is_told_with_the_day() -> None:
    assert expiry(SEVEN_FROM_CURE, cured("3Q22"), Basis.STRICT) == Expiry(
        date(2029, 7, 1), "7 years from 2022-07-01, the first day of cure quarter 3Q22 (strict)"
    )
    assert expiry(LifeRule(LifeKind.CURE, 12), cured("2011-11-01"), Basis.STRICT) == Expiry(
        date(2012, 11, 1), "1 year from 2011-11-01, the day of cure"
    )
    assert SEVEN_FROM_CURE.words() == "7 years from cure; one extension of 3 years by inspection"
    assert TUBE.words() == "18 months from making; 28 days open"


def test_leap_day_and_month_end() -> None:
    assert add_years(date(2024, 2, 29), 7) == date(2031, 2, 28)
    assert add_years(date(2024, 2, 29), 4) == date(2028, 2, 29)
    # worked example of the demo shop: hand-over 2023-08-31 + 18 months
    assert add_months(date(2023, 8, 31), 18) == date(2025, 2, 28)
    assert add_months(date(2023, 10, 31), 4) == date(2024, 2, 29)
    assert add_months(date(2024, 12, 31), 1) == date(2025, 1, 31)
    with pytest.raises(DomainError):
        add_years(date(9999, 1, 1), 1)


@settings(max_examples=100, deadline=None)
@given(st.dates(date(1950, 1, 1), date(2090, 1, 1)), st.integers(0, 600))
def test_months_keep_the_day_or_end_the_month(day: date, months: int) -> None:
    moved = add_months(day, months)
    assert (moved.year - day.year) * 12 + moved.month - day.month == months
    assert moved.day == day.day or (moved.day < day.day and (moved + timedelta(days=1)).day == 1)


def test_no_date_means_quarantine() -> None:
    assert expiry(SEVEN_FROM_CURE, LotDates(), Basis.STRICT) == Undated("No cure date: quarantine.")
    assert expiry(SEVEN_FROM_CURE, LotDates(made=TODAY), Basis.STRICT) == Undated("No cure date: quarantine.")
    assert expiry(TUBE, LotDates(), Basis.STRICT) == Undated("No date of making: quarantine.")
    assert expiry(LifeRule(LifeKind.PRINTED), LotDates(), Basis.STRICT) == Undated("No printed date: quarantine.")
    assert expiry(LifeRule(LifeKind.CONTENTS), LotDates(), Basis.STRICT) == Undated(
        "The contents are not known: quarantine."
    )
    assert expiry(LifeRule(LifeKind.NONE), LotDates(), Basis.STRICT) == Expiry(None, "no life limit")


def test_the_earlier_of_printed_and_counted_day() -> None:
    made = date(2024, 3, 31)
    assert day_of(expiry(TUBE, LotDates(made=made), Basis.STRICT)) == date(2025, 9, 30)
    early = expiry(TUBE, LotDates(made=made, printed=date(2025, 6, 30)), Basis.STRICT)
    assert early == Expiry(date(2025, 6, 30), "printed date, earlier than 18 months from making on 2024-03-31")
    assert day_of(expiry(TUBE, LotDates(made=made, printed=date(2026, 6, 30)), Basis.STRICT)) == date(2025, 9, 30)
    assert day_of(expiry(TUBE, LotDates(printed=date(2026, 6, 30)), Basis.STRICT)) == date(2026, 6, 30)
    assert day_of(expiry(LifeRule(LifeKind.NONE), LotDates(printed=TODAY), Basis.STRICT)) == TODAY


def test_a_kit_lives_as_long_as_the_first_of_its_contents() -> None:
    rule = LifeRule(LifeKind.CONTENTS)
    ring, seal, gasket = (
        Expiry(date(2031, 1, 1), "7 y"),
        Expiry(date(2034, 1, 1), "10 y"),
        Expiry(None, "no life limit"),
    )
    assert expiry(rule, LotDates(contents=(seal, ring, gasket)), Basis.STRICT) == Expiry(
        date(2031, 1, 1), "earliest of its contents: 7 y"
    )
    assert expiry(rule, LotDates(contents=(gasket,)), Basis.STRICT) == Expiry(None, "no content has a life limit")
    undated = expiry(rule, LotDates(contents=(ring, Undated("No cure date: quarantine."))), Basis.STRICT)
    assert undated == Undated("One of the contents has no date (No cure date: quarantine.)")


def test_expires_today_is_usable_through_that_day() -> None:
    assert usable_on(TODAY, TODAY)
    assert not usable_on(TODAY, TODAY + timedelta(days=1))
    assert usable_on(None, TODAY, 9999)
    assert usable_on(TODAY, date(2025, 1, 1), 14)
    assert not usable_on(TODAY, date(2025, 1, 2), 14)
    assert not usable_on(date.max, date.max, 1)


def test_use_by_fit_date_of_the_demo_lot() -> None:
    # worked example of the demo shop: lot usable through 2025-04-10, margin 14 days
    assert last_fit_day(date(2025, 4, 10), 14) == date(2025, 3, 27)


@settings(max_examples=60, deadline=None)
@given(st.dates(date(2000, 1, 1), date(2050, 1, 1)), st.integers(0, 60), st.integers(-90, 90))
def test_usable_exactly_up_to_the_last_fit_day(end: date, margin: int, offset: int) -> None:
    day = end + timedelta(days=offset)
    assert usable_on(end, day, margin) == (day <= last_fit_day(end, margin))


def test_open_life_is_the_earlier_of_closed_and_opened() -> None:
    closed = Expiry(date(2025, 9, 30), "18 months")
    # shop rule of the demo shop: 28 days open
    assert opened(TUBE, closed, date(2025, 1, 6)) == Expiry(date(2025, 2, 3), "28 days from opening on 2025-01-06")
    assert opened(TUBE, closed, date(2025, 9, 20)) == closed
    assert opened(TUBE, Expiry(None, "-"), date(2025, 1, 6)) == Expiry(
        date(2025, 2, 3), "28 days from opening on 2025-01-06"
    )
    to_printed_date = LifeRule(LifeKind.MAKING, 24)
    assert opened(to_printed_date, closed, date(2025, 1, 6)) == closed


def test_an_open_tube_without_its_day_counts_as_expired() -> None:
    result = opened(TUBE, Expiry(date(2025, 9, 30), "18 months"), None)
    assert result == Undated("Opened, and nobody wrote down when: it counts as expired.")
    assert opened(TUBE, Undated("No date of making: quarantine."), TODAY) == Undated("No date of making: quarantine.")


SIGNED = Inspection("E. Krol", date(2029, 6, 20), 3)


def test_one_extension_by_a_named_inspector_counted_from_the_old_expiry() -> None:
    # 7 + 3 years, group B of ISO 2230: two seal suppliers' pages
    first = expiry(SEVEN_FROM_CURE, cured("3Q22"), Basis.STRICT)
    second = extend(SEVEN_FROM_CURE, first, SIGNED)
    assert second.day == date(2032, 7, 1)
    assert second.rule.endswith("; + 3 years by E. Krol on 2029-06-20")
    with pytest.raises(DomainError) as refused:
        extend(SEVEN_FROM_CURE, second, SIGNED)
    assert refused.value.code == "extension-used"


@pytest.mark.parametrize(
    ("rule", "current", "inspection", "code"),
    [
        (LifeRule(LifeKind.CURE, 120), Expiry(TODAY, ""), SIGNED, "extension-not-allowed"),
        (SEVEN_FROM_CURE, Undated("No cure date: quarantine."), SIGNED, "extension-not-allowed"),
        (SEVEN_FROM_CURE, Expiry(None, ""), SIGNED, "extension-not-allowed"),
        (SEVEN_FROM_CURE, Expiry(TODAY, ""), Inspection("  ", TODAY, 3), "extension-unsigned"),
        (SEVEN_FROM_CURE, Expiry(TODAY, ""), Inspection("E. Krol", TODAY, 0), "extension-unsigned"),
        (SEVEN_FROM_CURE, Expiry(TODAY, ""), Inspection("E. Krol", TODAY, 3, passed=False), "extension-not-allowed"),
    ],
)
def test_extension_refused(rule: LifeRule, current: Expiry | Undated, inspection: Inspection, code: str) -> None:
    with pytest.raises(DomainError) as refused:
        extend(rule, current, inspection)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("document", "rule"),
    [
        (None, LifeRule(LifeKind.NONE)),
        ({"from": "cure", "years": 7, "extendable": True}, LifeRule(LifeKind.CURE, 84, extension_years=3)),
        ({"from": "cure", "years": 10, "extension_years": 5}, LifeRule(LifeKind.CURE, 120, extension_years=5)),
        ({"from": "making", "years": 5}, LifeRule(LifeKind.MAKING, 60)),
        ({"closed_months": 18, "open_days": 28}, LifeRule(LifeKind.MAKING, 18, 28)),
        ({"closed_months": 24, "open_days": None}, LifeRule(LifeKind.MAKING, 24)),
        ({"printed": True}, LifeRule(LifeKind.PRINTED)),
        ({"contents": "earliest"}, LifeRule(LifeKind.CONTENTS)),
    ],
)
def test_life_rules_as_data(document: dict[str, object] | None, rule: LifeRule) -> None:
    assert parse_life_rule(document) == rule


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"from": "cure"},
        {"from": "receipt", "years": 7},
        {"from": "cure", "years": 0},
        {"from": "cure", "years": True},
        {"from": "cure", "years": "7"},
        {"from": "cure", "years": 10**9},
        {"from": "cure", "years": 7, "printed": True},
        {"closed_months": 18.5},
        {"closed_months": 18, "open_days": 0},
        {"printed": False},
        {"life": 7},
    ],
)
def test_unreadable_life_rules(document: dict[str, object]) -> None:
    with pytest.raises(DomainError) as refused:
        parse_life_rule(document)
    assert refused.value.code == "life-rule-unreadable"
