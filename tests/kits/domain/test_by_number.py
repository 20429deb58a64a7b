"""What depends on an engine number is said in the words of the range, with the parts and positions it decides."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kits.domain.by_number import RangeHit, range_hits
from kits.domain.engine_numbers import EngineNumber, NumberRange, parse_engine_number
from kits.domain.families import parse_family
from kits.domain.procedures import parse_operation
from tests.factories.engines import family, operations
from tests.fixtures.shop_files import family_document, procedure_document

FAMILY = parse_family(family_document("Alder-4"))
OPERATIONS = [parse_operation(procedure_document(code), FAMILY) for code in ("P1", "P2")]
LINERS = operations(family())["T1"]


def number(text: str) -> EngineNumber:
    return parse_engine_number(text, {"A4-": 6})


@pytest.mark.parametrize(
    ("text", "words", "fits"),
    [
        ("A4-000001", "below A4-020450", True),
        ("A4-020449", "below A4-020450", True),
        ("A4-020450", "from A4-020450", False),
        ("A4-999999", "from A4-020450", False),
    ],
)
def test_the_range_is_said_in_words_on_both_sides_of_the_change(text: str, words: str, fits: bool) -> None:
    # Demo shop: A-201 with its ten bolts A-501 only below A4-020450; A-203 with A-502 on any engine.
    assert range_hits(OPERATIONS, number(text)) == (
        RangeHit(words, "A-201", fits, ("HEAD/gasket",), ("P1", "P2")),
        RangeHit(words, "A-501", fits, ("HEAD/bolt-01 to bolt-10",), ("P1", "P2")),
    )


ends = st.none() | st.integers(0, 9)


@given(first=ends, last=ends, left_out=st.sets(st.integers(0, 9)), digits=st.integers(0, 9))
@settings(max_examples=150)
def test_the_range_told_holds_the_number_and_stays_on_its_side(
    first: int | None, last: int | None, left_out: set[int], digits: int
) -> None:
    """Against all numbers one by one: what is told is true of every number of the range, and nothing is told but of one line."""
    low, high = first or 0, 9 if last is None else last
    if low > high:
        return
    span = NumberRange("T4-", first, last, frozenset(left_out & set(range(low, high + 1))))
    with_range = replace(LINERS, lines=(replace(LINERS.lines[0], fits=span), *LINERS.lines[1:]))
    told = [hit for hit in range_hits([with_range], EngineNumber("T4-", digits, 1)) if hit.part == LINERS.lines[0].part]
    assert [hit.fits for hit in told] == [span.contains(EngineNumber("T4-", digits, 1))]
    words = told[0].numbers
    if told[0].fits:
        assert words == span.words()
    elif digits in span.exceptions:
        assert words == f"only T4-{digits}"
    else:
        assert words == (f"below T4-{first}" if digits < low else f"from T4-{high + 1}")


def test_another_prefix_and_lines_for_any_engine_tell_nothing() -> None:
    assert range_hits(OPERATIONS, EngineNumber("R6-", 20449, 6)) == ()
    assert range_hits([], number("A4-000001")) == ()
    assert {hit.part for hit in range_hits([LINERS], EngineNumber("T4-", 149, 5))} == {"OLD-GASKET"}
