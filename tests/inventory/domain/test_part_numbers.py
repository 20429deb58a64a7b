"""Part numbers: keys, look-alikes, near misses, against the plain textbook distance and in time."""

from __future__ import annotations

import random
import string
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import (
    KnownNumbers,
    NearMiss,
    Nearness,
    compare_key,
    distance,
    look_alike_key,
    look_alike_warnings,
    near_misses,
)

SHOP = [
    "A-101",
    "A-201",
    "A-203",
    "A-210",
    "A-501",
    "A-502",
    "R-112",
    "R-113",
    "G-701",
    "SB-2341",
    "SB-2342",
    "LT-100018",
]


@pytest.mark.parametrize(
    "text", ["A-201", "a 201", "A201", "a.201", "A/201", " A - 201 ", "Ａ－２０１", "A\N{EN DASH}201"]
)
def test_one_key_however_it_is_spaced(text: str) -> None:
    assert compare_key(text) == "A201"


def test_letters_of_other_scripts_that_print_alike_are_one_number() -> None:
    """Unicode Technical Standard #39, confusables: a person sees one number, whatever keyboard it came from."""
    cyrillic = "\N{CYRILLIC CAPITAL LETTER A}\N{CYRILLIC SMALL LETTER ES}-201"
    greek = "\N{GREEK CAPITAL LETTER ALPHA}C-2\N{GREEK CAPITAL LETTER OMICRON}1"
    assert (compare_key(cyrillic), compare_key(greek)) == ("AC201", "AC2O1")
    assert compare_key("\N{CYRILLIC CAPITAL LETTER ZHE}-201") != compare_key("X-201")


@pytest.mark.parametrize("text", ["", "   ", "--", "A\x00201", "A\n201", "A" * 61, None, 201, "\ud800"])
def test_what_is_no_number_is_refused(text: object) -> None:
    with pytest.raises(DomainError) as caught:
        compare_key(text)  # type: ignore[arg-type]  # what arrives in JSON may be anything
    assert caught.value.code == "part-number-unreadable"
    assert "\x00" not in repr(caught.value.values)


def test_look_alikes_share_a_key() -> None:
    assert look_alike_key("A2O1") == look_alike_key("A-201") == "A201"
    assert look_alike_key("SB-234I") == look_alike_key("5B-2341") == look_alike_key("S8 234l") == "582341"
    assert look_alike_key("A-203") != look_alike_key("A-201")


def test_letters_among_digits_are_warned_of() -> None:
    assert look_alike_warnings("A2O1") == ("letter O at character 3 of A2O1: is the digit 0 meant?",)
    assert look_alike_warnings("SB-23S1") == ("letter S at character 5 of SB23S1: is the digit 5 meant?",)
    assert look_alike_warnings("A-201") == look_alike_warnings("SB-2341") == ()


def test_near_misses_are_ranked() -> None:
    assert near_misses("a 201", SHOP, 3)[0] == NearMiss(Nearness.SAME_KEY, "A-201")
    assert near_misses("A2O1", SHOP, 1) == [NearMiss(Nearness.LOOKS_ALIKE, "A-201")]
    assert near_misses("A-021", SHOP, 8) == [NearMiss(Nearness.SWAPPED, "A-201")]
    assert near_misses("A-2O1", SHOP, 8) == [NearMiss(Nearness.LOOKS_ALIKE, "A-201")]
    assert near_misses("SB-2431", SHOP, 8) == [
        NearMiss(Nearness.SWAPPED, "SB-2341"),
        NearMiss(Nearness.TWO_OFF, "SB-2342"),
    ]
    assert near_misses("A-204", SHOP, 8) == [NearMiss(Nearness.ONE_OFF, "A-201"), NearMiss(Nearness.ONE_OFF, "A-203")]
    assert near_misses("X-999", SHOP, 8) == []
    assert near_misses("A-20", SHOP, 2) == [NearMiss(Nearness.ONE_OFF, "A-201"), NearMiss(Nearness.ONE_OFF, "A-203")]


def test_two_records_with_one_key_are_both_shown() -> None:
    assert near_misses("A201", ["A-201", "a 201", "A-501"], 8)[:2] == [
        NearMiss(Nearness.SAME_KEY, "A-201"),
        NearMiss(Nearness.SAME_KEY, "a 201"),
    ]


@pytest.mark.parametrize(
    ("left", "right", "edits"),
    [
        ("KITTEN", "SITTING", 3),  # the textbook example of edit distance
        ("CA", "ABC", 3),  # restricted distance; the unrestricted one is 2 (Damerau 1964, the usual example)
        ("ABC", "ACB", 1),
        ("A201", "A201", 0),
        ("", "AB", 2),
    ],
)
def test_distances_of_the_textbooks(left: str, right: str, edits: int) -> None:
    assert distance(left, right, 5) == distance(right, left, 5) == edits


def _plain_distance(left: str, right: str) -> int:
    """The recursive definition, slow and plain."""
    if not left or not right:
        return len(left) + len(right)
    best = min(
        _plain_distance(left[:-1], right) + 1,
        _plain_distance(left, right[:-1]) + 1,
        _plain_distance(left[:-1], right[:-1]) + (left[-1] != right[-1]),
    )
    if len(left) > 1 and len(right) > 1 and left[-2:] == right[-2:][::-1]:
        best = min(best, _plain_distance(left[:-2], right[:-2]) + 1)
    return best


@settings(max_examples=150, deadline=None)
@given(st.text("AB1", max_size=5), st.text("AB1", max_size=5), st.integers(0, 3))
def test_distance_is_the_plain_one_cut_off(left: str, right: str, most: int) -> None:
    assert distance(left, right, most) == min(_plain_distance(left, right), most + 1)


@settings(max_examples=60, deadline=None)
@given(
    st.text("AO012", min_size=1, max_size=6),
    st.lists(st.text("AO012", min_size=1, max_size=6), max_size=8, unique=True),
)
def test_the_quick_search_finds_what_a_look_at_every_number_finds(asked: str, known: list[str]) -> None:
    most = 2 if len(asked) >= 5 else 1
    wanted = {
        number
        for number in known
        if look_alike_key(number) == look_alike_key(asked) or _plain_distance(asked, number) <= most
    }
    assert {miss.number for miss in near_misses(asked, known, 99)} == wanted


def test_twenty_thousand_numbers_are_searched_in_a_blink() -> None:
    chance = random.Random(7)
    known = KnownNumbers(
        {
            f"{chance.choice(string.ascii_uppercase)}{chance.choice('ABCR')}-{chance.randrange(10**6):06d}"
            for _ in range(20_000)
        }
    )
    asked = [f"{chance.choice(string.ascii_uppercase)}A-{chance.randrange(10**6):06d}" for _ in range(9)]
    times = []
    for number in asked:
        started = time.process_time()
        known.near(number)
        times.append(time.process_time() - started)
    assert sorted(times)[4] < 0.05
