"""Counting in turn: classes by value and nuisance, days, when somebody else counts again, accuracy."""

from datetime import date
from fractions import Fraction
from random import Random

import pytest

from inventory.domain.counting import (
    Accuracy,
    Allowed,
    CountClass,
    Counting,
    CountRules,
    LineKept,
    OneWord,
    PartUse,
    Standing,
    accuracy_of,
    allowed_off,
    classes_of,
    due_on,
    found_alike,
    on_one_word,
    standing_of,
    too_far,
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
    assert standing_of([Counting(*one) for one in counts], Allowed(2, 2), OneWord()) == expected


@pytest.mark.parametrize(
    ("difference", "here", "site", "far"),
    [
        (-2, 0, 0, False),  # within what is allowed
        (-3, 0, 0, True),
        (-2, -2, -2, True),  # together four
        (-1, -1, -1, False),
        (2, 2, 2, True),  # either way
        (0, -9, -9, False),  # what is as the books say needs nobody
        (2, -9, -9, False),  # back towards what two found, as far as it is allowed by itself
        (3, -9, -9, True),
        (-1, 0, -4, False),  # five of the part at the site
        (-2, 0, -4, True),
        (-2, 2, -4, True),
        (-1, 1, -9, True),  # the stock shrank since: further away is too far
    ],
)
def test_what_one_person_may_change_ends_where_two_people_last_found_the_same(difference, here, site, far):
    """Two are allowed of the thing at its spot, five of its part at the site."""
    assert too_far(difference, Allowed(2, 5), OneWord(here, site)) is far
    standing = standing_of([Counting(1, difference)], Allowed(2, 5), OneWord(here, site))
    assert (standing is Standing.AGAIN) is far
    assert standing_of([Counting(1, difference), Counting(2, difference)], Allowed(2, 5), OneWord(here, site)) in (
        Standing.RIGHT,
        Standing.DIFFERS,
    )


def test_many_small_steps_on_one_persons_word_come_no_further_than_one_step_may():
    """Whatever one person says of three bins, the books stay as near what two people found as one count alone could bring them."""
    rng, allowed = Random(7), Allowed(3, 5)
    kept: list[LineKept] = []
    for _ in range(500):
        thing = (1, rng.randrange(3))
        step = rng.randint(-4, 4)
        if not too_far(step, allowed, on_one_word(kept).of(thing, (1, "piece"))):
            kept.append(LineKept(thing, (1, "piece"), step, by_two=False))
    away = {thing: sum(one.difference for one in kept if one.thing == thing) for thing in {one.thing for one in kept}}
    assert len(kept) > 100
    assert max(map(abs, away.values())) <= 3
    assert abs(sum(away.values())) <= 5


def test_what_two_people_found_alike_begins_anew_for_the_thing_and_for_its_part():
    one, other, ring, tube = (1, 10), (2, 11), (7, "piece"), (7, "microlitre")
    kept = [
        LineKept(one, ring, -3, by_two=False),
        LineKept(other, ring, -2, by_two=False),
        LineKept((3, 10), tube, -900, by_two=False),
    ]
    words = on_one_word(kept)
    assert (words.of(one, ring), words.of(other, ring)) == (OneWord(-3, -5), OneWord(-2, -5))
    assert words.of((3, 10), tube) == OneWord(-900, -900)
    assert words.of((9, 9), (9, "piece")) == OneWord()
    # what the two found is no one person's word; the other bin keeps its own
    words = on_one_word([*kept, LineKept(one, ring, -8, by_two=True)])
    assert (words.of(one, ring), words.of(other, ring)) == (OneWord(0, 0), OneWord(-2, 0))
    words = on_one_word([*kept, LineKept(one, ring, 0, by_two=True), LineKept(one, ring, 1, by_two=False)])
    assert (words.of(one, ring), words.of(other, ring)) == (OneWord(1, 1), OneWord(-2, 1))


@pytest.mark.parametrize(
    ("counts", "alike"),
    [([(1, 0)], False), ([(1, -9), (1, -9)], False), ([(1, -9), (2, -9)], True), ([(1, -9), (2, 0)], False)],
)
def test_two_people_find_alike_where_they_differ_by_the_same(counts, alike):
    assert found_alike([Counting(*one) for one in counts]) is alike


def test_accuracy_is_the_share_of_lines_that_were_right():
    found = accuracy_of([(HIGH, True), (HIGH, True), (HIGH, False), (NUISANCE, False)])
    assert found[HIGH] == Accuracy(3, 2) and found[HIGH].share == Fraction(2, 3)
    assert found[NUISANCE].share == 0
    assert found[LOW].share is None
