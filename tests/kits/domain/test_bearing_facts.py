"""Bearings of a family's document: journals whose halves are given."""

import pytest

from kits.domain.bearing_facts import read_bearings
from kits.domain.engine_map import parse_engine_map
from kits.domain.reading import Reader
from tests.factories.engines import family_document

SPAN = {"low": "0.10 mm", "high": "0.20 mm"}
HALF = {"part": "H", "grade": 1, "wall": "1.5 mm"}
FLANGED = {"at": "MAIN-2", "upper": HALF | {"part": "U"}, "lower": HALF | {"part": "L"}}


def fixed(*rows):
    bearing = {
        "name": "mains", "upper_at": "MAIN-*/shells", "lower_at": "MAIN-*/shells", "clearance": SPAN, "target": "0.15 mm",
        "halves": [HALF | {"side": "upper"}, HALF | {"side": "lower"}], "fixed": list(rows),
    }  # fmt: skip
    reader = Reader()
    found = read_bearings({"bearings": [bearing]}, parse_engine_map(family_document()), reader)
    return found, [(problem.where, problem.detail) for problem in reader.problems]


def test_a_journal_with_halves_of_its_own():
    ground = {side: FLANGED[side] | {"undersize": "0.25 mm"} for side in ("upper", "lower")}
    bearings, problems = fixed(FLANGED, FLANGED | ground)
    own, under = bearings[0].fixed["MAIN-2"]
    assert problems == []
    assert [(half.part, half.undersize_nm) for half in (*own, *under)] == [
        ("U", 0),
        ("L", 0),
        ("U", 250_000),
        ("L", 250_000),
    ]
    assert [half.part for half in bearings[0].halves] == ["H", "U", "L", "U", "L"]


@pytest.mark.parametrize(
    "rows",
    [
        [FLANGED | {"at": "MAIN-9"}],
        [FLANGED, FLANGED],
        [FLANGED | {"upper": HALF | {"grade": 3}}],
        [FLANGED | {"upper": HALF | {"undersize": "0.25 mm"}}],
    ],
)
def test_fixed_halves_that_make_no_sense_are_named(rows):
    _, problems = fixed(*rows)
    assert [where for where, _ in problems] == [f"facts, bearings 1, fixed {len(rows)}"]
