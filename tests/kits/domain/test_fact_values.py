"""Amounts, spans, times and distances of a family's facts."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.domain.units import Dimension
from kits.domain.engine_map import parse_engine_map
from kits.domain.fact_values import amount, amounts, kilometres, limits, one_amount, positions, seconds
from kits.domain.limits import Limits
from kits.domain.reading import Reader
from tests.factories.engines import family_document


def test_amounts_are_exact_or_a_problem():
    reader = Reader()
    # 0.0005 in = 12.7 um by the international inch (25.4 mm).
    assert amount({"a": "0.0005 in"}, "a", "facts", Dimension.LENGTH, reader) == 12_700
    assert amount({}, "a", "facts", Dimension.LENGTH, reader) is None
    assert reader.problems == []
    assert amount({}, "a", "facts", Dimension.LENGTH, reader, required=True) is None
    assert one_amount("0.0000004 mm", "x", Dimension.LENGTH, reader) is None
    assert one_amount(3, "x", Dimension.LENGTH, reader) is None
    assert [problem.where for problem in reader.problems] == ["facts", "x", "x"]


def test_spans_and_lists():
    reader = Reader()
    assert limits({"low": "0.1 mm", "high": "0.1 mm"}, "w", reader) == Limits(100_000, 100_000)
    assert amounts({"sizes": ["1 mm", "2 mm"]}, "sizes", "w", reader) == (1_000_000, 2_000_000)
    assert reader.problems == []
    assert limits({"low": "0.2 mm", "high": "0.1 mm"}, "w", reader) is None
    assert amounts({"sizes": ["1 mm", "1.0 mm"]}, "sizes", "w", reader) == (1_000_000, 1_000_000)
    assert len(reader.problems) == 2


@pytest.mark.parametrize(
    ("typed", "found"),
    [("74.25 s", Fraction(297, 4)), ("2 min", 120), ("3000 h", 10_800_000), ("3 mm", None), (7, None)],
)
def test_seconds(typed, found):
    reader = Reader()
    assert seconds({"t": typed}, "t", "w", reader) == found
    assert [problem.where for problem in reader.problems] == ([] if found is not None else ["w, t"])


@pytest.mark.parametrize(
    ("typed", "found"), [("60000 km", 60_000), ("60,000 km", None), ("60000", None), ("1e5 km", None), (60_000, None)]
)
def test_kilometres(typed, found):
    reader = Reader()
    assert kilometres({"d": typed}, "d", "w", reader) == found
    assert [problem.where for problem in reader.problems] == ([] if found is not None else ["w, d"])
    assert (seconds({}, "t", "w", reader), kilometres({}, "d", "w", reader)) == (None, None)


def test_positions():
    reader, engine_map = Reader(), parse_engine_map(family_document())
    assert positions({"at": ["SUMP/bead", "OIL/fill"]}, "at", "w", engine_map, reader) == ("SUMP/bead", "OIL/fill")
    assert reader.problems == []
    for wrong in ("NOWHERE/x", 3, [], [3], None):
        assert positions({"at": wrong}, "at", "w", engine_map, reader) == ()
    assert len(reader.problems) == 2
