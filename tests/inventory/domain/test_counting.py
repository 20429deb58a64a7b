"""Counting in turn: classes by value and nuisance, days, when somebody else counts again, accuracy."""

from datetime import date
from fractions import Fraction

import pytest

from inventory.domain.counting import (
    Accuracy,
    CountClass,
    Counting,
    CountRules,
    PartUse,
    Standing,
    accuracy_of,
    allowed_off,
    classes_of,
    due_on,
    standing_of,
)

HIGH, MIDDLE, LOW, NUISANCE = CountClass
RULES = CountRules(
    Fraction(80, 100), Fraction(95, 100), 2, {HIGH: 90, MIDDLE: 180, LOW: 365, NUISANCE: 60}, Fraction(5, 100)
)


def used(number: int, coins: int, **more) -> PartUse:
    return PartUse(number, f"P-{number}", Fraction(coins), **more)


def test_few_parts_carry_most_of_the_value():
    """Eighty and ninety-five hundredths of the value: common practice of such an analysis (from memory); the figures are invented.

    Of 10,000 coins the first part carries 60 %, with the second 80 %: the third begins at 80 %, which is no longer below it.
    """
    parts = [used(1, 6_000), used(2, 2_000), used(3, 1_000), used(4, 500), used(5, 300), used(6, 200), used(7, 0)]
    assert classes_of(reversed(parts), RULES) == {1: HIGH, 2: HIGH, 3: MIDDLE, 4: MIDDLE, 5: LOW, 6: LOW, 7: LOW}


def test_the_part_that_crosses_the_share_is_of_high_value():
    assert classes_of([used(1, 700), used(2, 200), used(3, 100)], RULES) == {1: HIGH, 2: HIGH, 3: MIDDLE}


def test_small_things_that_age_or_are_miscounted_are_a_nuisance_and_dear_ones_are_not():
    parts = [
        used(1, 9_000, ages=True, miscounted=5),
        used(2, 600, miscounted=2),
        used(3, 300, miscounted=1),
        used(4, 100, ages=True),
        used(5, 0, ages=True),
    ]
    assert classes_of(parts, RULES) == {1: HIGH, 2: NUISANCE, 3: LOW, 4: NUISANCE, 5: NUISANCE}


def test_a_shop_that_used_nothing_has_no_high_value():
    assert classes_of([used(1, 0), used(2, 0, ages=True)], RULES) == {1: LOW, 2: NUISANCE}


def test_how_often_is_a_matter_of_the_class():
    assert due_on(date(2025, 1, 15), NUISANCE, RULES) == date(2025, 3, 16)
    assert due_on(None, LOW, RULES) is None


@pytest.mark.parametrize(
    ("books", "its", "allowed"), [(40, LOW, 2), (39, LOW, 1), (19, LOW, 0), (4_000, HIGH, 0), (-3, LOW, 0)]
)
def test_what_a_count_may_be_off_is_rounded_down_and_nothing_for_high_value(books, its, allowed):
    assert allowed_off(books, its, RULES) == allowed


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ([], Standing.OPEN),
        ([(1, 0)], Standing.RIGHT),
        ([(1, -2)], Standing.DIFFERS),
        ([(1, -9)], Standing.AGAIN),
        ([(1, -9), (2, -9)], Standing.DIFFERS),
        ([(1, -9), (1, -9)], Standing.AGAIN),
        ([(1, -9), (2, -8)], Standing.AGAIN),
        ([(1, -9), (2, -8), (1, -8)], Standing.DIFFERS),
        ([(1, -9), (2, 0)], Standing.RIGHT),
    ],
)
def test_beyond_what_is_allowed_two_people_find_the_same(counts, expected):
    assert standing_of([Counting(*one) for one in counts], 2) == expected


def test_accuracy_is_the_share_of_lines_that_were_right():
    found = accuracy_of([(HIGH, True), (HIGH, True), (HIGH, False), (NUISANCE, False)])
    assert found[HIGH] == Accuracy(3, 2) and found[HIGH].share == Fraction(2, 3)
    assert found[NUISANCE].share == 0
    assert found[LOW].share is None
