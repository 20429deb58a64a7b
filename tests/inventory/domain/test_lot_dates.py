"""What two bags of one lot say. Days are worked examples of the demo shop (invented); 7 years: group B of ISO 2230."""

from datetime import date

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.lot_dates import Dates, joined, lacks_date, life, not_later
from inventory.domain.shelf_life import Basis, Expiry, LifeKind, LifeRule, Undated

TODAY = date(2025, 1, 15)
SEVEN = LifeRule(LifeKind.CURE, 84)


def test_a_lot_without_dates_takes_those_of_the_first_bag():
    given = Dates("3Q24", None, date(2030, 1, 1))
    assert joined("A lot 1", Dates(), given, TODAY) == given


def test_a_bag_that_says_less_changes_nothing():
    known = Dates("3Q24", date(2024, 9, 1), None)
    assert joined("A lot 1", known, Dates(), TODAY) == known


@pytest.mark.parametrize("code", ["3Q24", "3Q2024", "3/24", "3/2024", "3 q 24"[:1] + "q24"])
def test_one_quarter_is_written_in_several_ways(code):
    assert joined("A lot 1", Dates("3Q24"), Dates(code), TODAY) == Dates("3Q24")


@pytest.mark.parametrize(
    ("known", "given"),
    [
        (Dates("3Q24"), Dates("3Q21")),
        (Dates(made_on=date(2024, 12, 1)), Dates(made_on=date(2023, 12, 1))),
        (Dates(printed_on=date(2026, 1, 1)), Dates(printed_on=date(2026, 1, 2))),
        (Dates("3Q24", date(2024, 8, 1)), Dates("3Q24", date(2024, 8, 2))),
    ],
)
def test_another_day_is_another_lot(known, given):
    with pytest.raises(DomainError) as refused:
        joined("A lot 1", known, given, TODAY)
    assert refused.value.code == "lot-differs"


def test_life_is_counted_from_what_both_say():
    assert life(SEVEN, Dates("3Q24"), Basis.STRICT, TODAY).day == date(2031, 7, 1)
    assert life(SEVEN, Dates("3Q24", None, date(2027, 1, 1)), Basis.STRICT, TODAY).day == date(2027, 1, 1)
    assert isinstance(life(SEVEN, Dates(made_on=TODAY), Basis.STRICT, TODAY), Undated)


def test_a_kit_goes_by_the_earlier_of_its_bags_and_its_box():
    kit, bags = LifeRule(LifeKind.CONTENTS), Expiry(date(2027, 5, 1), "cure")
    assert life(kit, Dates(), Basis.STRICT, TODAY, bags).day == date(2027, 5, 1)
    assert life(kit, Dates(printed_on=date(2026, 5, 1)), Basis.STRICT, TODAY, bags).day == date(2026, 5, 1)


def test_a_day_on_record_without_its_dates_is_never_made_later():
    found = Expiry(date(2031, 7, 1), "counted")
    assert not_later(found, date(2030, 1, 1), "table") == Expiry(date(2030, 1, 1), "table")
    assert not_later(found, date(2031, 7, 1), "table") == found
    assert not_later(Expiry(None, "no limit"), date(2030, 1, 1), "table").day == date(2030, 1, 1)
    assert not_later(found, None, "table") == found


@pytest.mark.parametrize("kind", LifeKind)
@pytest.mark.parametrize("made_on", [None, date(2024, 9, 1)])
@pytest.mark.parametrize("printed_on", [None, date(2030, 1, 1)])
@pytest.mark.parametrize("cured", ["", "3Q24"])
def test_a_date_is_lacking_where_no_last_day_can_be_said(kind, made_on, printed_on, cured):
    rule = LifeRule(kind, 84 if kind in (LifeKind.CURE, LifeKind.MAKING) else None)
    dates = Dates(cured, made_on, printed_on)
    assert lacks_date(rule, dates) == isinstance(life(rule, dates, Basis.STRICT, TODAY), Undated)
