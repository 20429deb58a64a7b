"""Engine numbers and their ranges: reading, near misses, comparing as numbers, overlaps and gaps."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.engine_numbers import (
    EngineNumber,
    NumberRange,
    fits_number,
    gaps,
    near_engines,
    number_range,
    overlaps,
    parse_engine_number,
    refuse_overlaps,
    shared_number,
    told_apart,
)

#: Prefixes of the demo shop's four invented families.
FAMILIES = {"A4-": 6, "R6-": 4, "H8-": 5, "L3-": 5}
CHANGE = 20450  # the demo shop's Alder-4 changes its head joint at A4-020450


@pytest.mark.parametrize("text", ["A4-020543", "a4-020543", "A4 020543", "a4020543", " A4 - 020 543 ", "A4–020543"])
def test_case_spaces_and_dashes_are_forgiven(text: str) -> None:
    number = parse_engine_number(text, FAMILIES)
    assert number == EngineNumber("A4-", 20543, 6)
    assert number.text == str(number) == "A4-020543"


@pytest.mark.parametrize(
    ("text", "why", "near"),
    [
        ("A4-O20543", "letters stand among the digits", ["A4-020543"]),
        ("A4-02O5A3", "letters stand among the digits", []),
        ("020543", "it does not begin with", ["A4-020543"]),
        ("7211", "it does not begin with", ["R6-7211"]),
        ("03412", "it does not begin with", ["H8-03412", "L3-03412"]),
        ("A4-20543", "too short: 5 digits, A4- has 6", ["A4-020543"]),
        ("A4-", "the digits are missing", []),
        ("B7-020543", "it does not begin with", []),
        ("A4-" + "1" * 13, "too long", []),
        ("", "not an engine number", []),
        ("A4-\x00020543", "not an engine number", []),
        ("A4-٠٢٠٥٤٣", "letters stand among the digits", []),
    ],
)
def test_what_cannot_be_read_asks_with_near_matches(text: str, why: str, near: list[str]) -> None:
    with pytest.raises(DomainError) as caught:
        parse_engine_number(text, FAMILIES, known=["A4-020543", "A4-020999"])
    assert caught.value.code == "engine-number-unreadable"
    assert why in caught.value.message
    assert caught.value.values["near"] == near


def test_a_family_may_outgrow_its_width() -> None:
    assert parse_engine_number("R6-10000", FAMILIES).digits == 10_000
    assert parse_engine_number("R6-7376", ("A4-", "R6-")) == EngineNumber("R6-", 7376, 4)


def test_digits_are_compared_as_whole_numbers() -> None:
    # as text "999" > "1000"; as numbers 999 < 1000
    below = NumberRange("R6-", None, 999)
    assert below.contains(parse_engine_number("R6-0999", FAMILIES))
    assert not below.contains(parse_engine_number("R6-1000", FAMILIES))
    assert not below.contains(EngineNumber("A4-", 5, 6))


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (NumberRange("A4-", CHANGE, width=6), "from A4-020450"),
        (NumberRange("A4-", None, CHANGE - 1, width=6), "below A4-020450"),
        (NumberRange("A4-", 20400, 20449, width=6), "A4-020400 to A4-020449"),
        (NumberRange("A4-", 20443, 20443, width=6), "only A4-020443"),
        (NumberRange("A4-", width=6), "any A4-"),
        (
            NumberRange("A4-", CHANGE, exceptions=frozenset({20500, 20460}), width=6),
            "from A4-020450, not A4-020460, A4-020500",
        ),
    ],
)
def test_ranges_in_words(span: NumberRange, words: str) -> None:
    assert span.words() == words


def test_the_demo_engines_fall_on_their_side_of_the_change() -> None:
    # worked example of the demo shop: A4-020443 takes the old pair, A4-020454 the new one
    old = number_range(None, EngineNumber("A4-", CHANGE, 6), "A4-", 6)
    new = number_range(EngineNumber("A4-", CHANGE, 6), None, "A4-", 6)
    for text, in_old in (("A4-020443", True), ("A4-020449", True), ("A4-020450", False), ("A4-020454", False)):
        number = parse_engine_number(text, FAMILIES)
        assert (old.contains(number), new.contains(number)) == (in_old, not in_old)
    assert (old.words(), new.words()) == ("below A4-020450", "from A4-020450")
    refuse_overlaps([old, new], "HEAD/gasket")
    assert gaps([old, new]) == []


def test_an_exception_is_left_out() -> None:
    span = NumberRange("A4-", CHANGE, exceptions=frozenset({20460}))
    assert [span.contains(EngineNumber("A4-", digits, 6)) for digits in (20459, 20460, 20461)] == [True, False, True]


@pytest.mark.parametrize(
    ("first", "last", "exceptions"), [(5, 4, ()), (-1, None, ()), (None, -1, ()), (5, 9, (10,)), (5, None, (4,))]
)
def test_a_range_that_makes_no_sense_is_refused(
    first: int | None, last: int | None, exceptions: tuple[int, ...]
) -> None:
    with pytest.raises(DomainError) as caught:
        NumberRange("A4-", first, last, frozenset(exceptions))
    assert caught.value.code == "engine-range-unreadable"


def test_ends_of_another_family_or_an_empty_range_are_refused() -> None:
    for from_, below in (
        (EngineNumber("R6-", 1, 4), None),
        (None, EngineNumber("A4-", 0, 6)),
        (EngineNumber("A4-", 9, 6), EngineNumber("A4-", 9, 6)),
    ):
        with pytest.raises(DomainError) as caught:
            number_range(from_, below, "A4-", 6)
        assert caught.value.code == "engine-range-unreadable"


def test_an_overlap_is_an_error_at_entry_and_names_the_number() -> None:
    left = NumberRange("A4-", None, 20450, width=6)
    right = NumberRange("A4-", 20450, width=6)
    with pytest.raises(DomainError) as caught:
        refuse_overlaps([NumberRange("R6-", width=4), left, right], "HEAD/gasket")
    assert (caught.value.code, caught.value.values["shared"]) == ("engine-ranges-overlap", "A4-020450")
    assert "HEAD/gasket" in caught.value.message
    spared = NumberRange("A4-", 20450, exceptions=frozenset({20450}), width=6)
    assert not overlaps(left, spared) and shared_number(spared, NumberRange("A4-", width=6)) == "A4-020451"


def test_a_gap_is_named() -> None:
    spans = [NumberRange("A4-", None, 20449, width=6), NumberRange("A4-", 20460, 20499, width=6)]
    assert [gap.words() for gap in gaps(spans)] == ["A4-020450 to A4-020459", "from A4-020500"]
    late = [NumberRange("A4-", 20420, exceptions=frozenset({20430}), width=6)]
    assert [gap.words() for gap in gaps(late, first=20400)] == ["A4-020400 to A4-020419", "only A4-020430"]
    assert gaps([]) == []
    with pytest.raises(ValueError, match="one prefix"):
        gaps([NumberRange("A4-"), NumberRange("R6-")])


_ends = st.one_of(st.none(), st.integers(0, 12))


@st.composite
def _spans(draw: st.DrawFn) -> NumberRange:
    first, last = draw(_ends), draw(_ends)
    if first is not None and last is not None and first > last:
        first, last = last, first
    inside = [n for n in range(13) if (first is None or n >= first) and (last is None or n <= last)]
    left_out = draw(st.frozensets(st.sampled_from(inside), max_size=2)) if inside else frozenset()
    return NumberRange("X-", first, last, left_out)


@settings(max_examples=200, deadline=None)
@given(st.lists(_spans(), min_size=1, max_size=4), st.integers(0, 6))
def test_overlaps_and_gaps_are_what_counting_gives(spans: list[NumberRange], first: int) -> None:
    """Brute force over the numbers 0 to 30, behind which nothing changes."""
    numbers = [EngineNumber("X-", digits, 1) for digits in range(31)]
    left, right = spans[0], spans[-1]
    assert overlaps(left, right) == any(left.contains(n) and right.contains(n) for n in numbers)
    found = gaps(spans, first)
    for number in numbers:
        missing = number.digits >= first and not any(span.contains(number) for span in spans)
        assert any(gap.contains(number) for gap in found) == missing
    assert all(
        one.last is not None and one.last + 1 < (two.first or 0) for one, two in zip(found, found[1:], strict=False)
    )


def test_near_engines_on_record() -> None:
    known = ["A4-020543", "A4-020534", "A4-020544", "A4-020999", "A4-20543", "R6-7211", "", "A4-O20543"]
    assert near_engines("A4-020543", known) == ["A4-O20543", "A4-020534", "A4-020544", "A4-20543"]
    assert near_engines("A4-O20999", known) == ["A4-020999"]
    assert near_engines("r6 7121", known) == ["R6-7211"]
    assert near_engines("\x00", known) == []


@pytest.mark.parametrize(
    ("key", "fits"),
    [
        ("below A4-020543", False),
        ("below A4-020544", True),
        ("from A4-020543", True),
        ("from A4-020544", False),
        ("from nowhere", False),
    ],
)
def test_ranges_of_notices(key: str, fits: bool) -> None:
    assert fits_number(key, parse_engine_number("A4-020543", {"A4-": 6}), 6) is fits


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("X9-", "Y2-", True),
        ("X9-", "X9", False),
        ("X-", "X9-", False),  # X9-00012 would be number 900012 of X- too
        ("X9-", "X9B-", True),
        ("AB-", "A-", True),
    ],
)
def test_two_families_numbers_are_told_apart_by_what_they_begin_with(one: str, other: str, apart: bool) -> None:
    assert told_apart(one, other) is told_apart(other, one) is apart
