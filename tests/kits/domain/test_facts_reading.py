"""Facts that cannot be read are refused with every problem; what is absent stays absent."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove
from kits.domain.engine_map import parse_engine_map
from kits.domain.facts import Facts, Fill, Origin, ReuseLimit, Seat, Step
from kits.domain.facts_reading import KNOWN, read_facts
from kits.domain.families import parse_family
from kits.domain.reading import Reader
from tests.factories.engines import family_document

SPAN = {"low": "0.10 mm", "high": "0.20 mm"}


def read(facts: Any) -> tuple[Facts, list[tuple[str, str]]]:
    """The facts of the small engine, and the problems by place."""
    reader = Reader()
    found = read_facts(facts, parse_engine_map(family_document()), reader)
    return found, [(problem.where, problem.detail) for problem in reader.problems]


def test_facing_points_and_averages():
    facing = {"limit": "0.05 mm", "between": "facing points", "facing_deg": [90, 270]}
    assert read({"step": facing})[0].step == Step(50_000, False, (90, 270))
    assert read({"step": {"limit": "0.05 mm", "between": "averages", "staircase": "one way"}})[0].step == Step(
        50_000, True, None
    )


def test_book_fills_are_read_with_the_positions_they_go_in_at():
    stated = {"oil": "5.2 L", "fills": [{"of": "oil", "at": "OIL/fill"}]}
    assert read(stated)[0].fills == (Fill("oil", frozenset({"OIL/fill"}), 5_200_000),)
    assert read({"oil": "5.2 L"})[0].fills == ()
    assert read({"fills": [{"of": "oil", "at": "OIL/fill"}]}) == (Facts(), [("facts", "'oil' is missing")])
    assert [where for where, _ in read({"oil": "5.2 L", "fills": [{"of": "fuel", "at": "OIL/none"}]})[1]] == [
        "facts, fills 1",
        "facts, fills 1",
    ]


def test_bolts_and_origins():
    found, problems = read(
        {
            "bolts": [
                {"part": "B", "at": "SUMP/bolt-*", "reuse": "within limits", "length_most": "7.5 in", "uses_most": 2},
                {"part": "C", "at": ["ROD-1/bolt-1"], "reuse": "by inspection"},
            ],
            "origins": [{"at": "LIFTER-*/lifter", "lost": "never", "bedded_to": "CAMSHAFT/camshaft", "mark": "side"}],
        }
    )
    assert problems == []
    assert [(len(one.positions), one.never, one.most_nm, one.uses_most) for one in found.bolts] == [
        (12, False, 190_500_000, 2),  # 7.5 in = 190.5 mm by the international inch (25.4 mm)
        (1, False, None, None),
    ]
    assert found.bolts[1] == ReuseLimit("C", frozenset({"ROD-1/bolt-1"}), False, None, None)
    lifters = frozenset(f"LIFTER-{number}/lifter" for number in range(1, 9))
    assert found.origins == (Origin(lifters, True, "CAMSHAFT/camshaft", "side", (0,)),)


@pytest.mark.parametrize(
    ("facts", "where"),
    [
        ([], "facts"),
        (None, "facts"),
        ({"protrusoin": SPAN}, "facts"),
        ({"block": 7}, "facts"),
        ({"expansion_ppm": {"block": 22}}, "facts, expansion_ppm, block"),
        ({"expansion_ppm": {"piston": "-5"}}, "facts, expansion_ppm, piston"),
        ({"expansion_ppm": {"head": "22"}}, "facts, expansion_ppm"),
        ({"seat": {"cupping": "0.0014 in"}}, "facts, seat"),
        ({"seat": {"cupping_most": "0.0014"}}, "facts, seat, cupping_most"),
        ({"seat": {"depth_spread": "-0.001 in"}}, "facts, seat, depth_spread"),
        ({"bore": "86"}, "facts, bore"),
        ({"bore": 86}, "facts, bore"),
        ({"bore": "86 mL"}, "facts, bore"),
        ({"bore": "0.0000004 mm"}, "facts, bore"),
        ({"protrusion": {"low": "0.2 mm", "high": "0.1 mm"}}, "facts, protrusion"),
        ({"protrusion": {"low": "0.2 mm"}}, "facts, protrusion"),
        ({"protrusion": {**SPAN, "hihg": "1 mm"}}, "facts, protrusion"),
        ({"protrusion": "0.05 mm"}, "facts, protrusion"),
        ({"liner_height": SPAN}, "facts, liner_height"),
        ({"clamping": {"bolts": 4, "torque": "60 N·m"}}, "facts, clamping"),
        ({"shims": {"sizes": ["0.05 mm"], "parts": ["A", "B"]}}, "facts, shims"),
        ({"step": {"staircase": "one way"}}, "facts, step"),
        ({"step": {"limit": "1 mm", "staircase": "both ways"}}, "facts, step"),
        ({"step": {"limit": "1 mm", "between": "facing points"}}, "facts, step"),
        ({"step": {"limit": "1 mm", "facing_deg": [0, 180]}}, "facts, step"),
        ({"step": {"limit": "1 mm", "between": "facing points", "facing_deg": [0]}}, "facts, step"),
        ({"turns_deg": [0, 45]}, "facts"),
        ({"turns_deg": [0, 0]}, "facts"),
        ({"turns_deg": [True]}, "facts"),
        ({"turns_deg": "all"}, "facts"),
        ({"shims": {"sizes": ["0.05 mm", "0.05 mm"]}}, "facts, shims"),
        # One shim goes into a bore at most, whatever is stated; neighbours stand under one head.
        ({"shims": {"sizes": ["0.05 mm"], "most": 2}}, "facts, shims"),
        ({"step": {"limit": "1 mm", "within": "one bank"}}, "facts, step"),
        # A limit for weights says what lies on the scales with the piston.
        ({"weight_spread": "4 g"}, "facts"),
        # pi / 4 * 86.0^2 * 82.0 mm * 4 = 1905.3 mL, by hand: 1 % more is printed, and a little beyond.
        ({"bore": "86 mm", "stroke": "82 mm", "displacement": "1.925 L"}, "facts, displacement"),
        ({"base_rings": {"sizes": []}}, "facts, base_rings"),
        ({"grooves": [{"part": "R", "bore": "3 mm", "width": "2 mm"}]}, "facts, grooves 1"),
        ({"piston_measured_at": {"height": "10 mm"}}, "facts, piston_measured_at"),
        ({"ring_gaps": [{"ring": "top", **SPAN}, {"ring": "top", **SPAN}]}, "facts, ring_gaps 2"),
        ({"ring_gaps": [{"ring": "top", **SPAN, "worn_most": "0.15 mm"}]}, "facts, ring_gaps 1"),
        ({"weight_spread": "4 mm"}, "facts, weight_spread"),
        ({"bolts": ["nonsense"]}, "facts, bolts 1"),
        ({"bolts": [{"part": "B", "at": "NOWHERE/bolt", "reuse": "never"}]}, "facts, bolts 1"),
        ({"bolts": [{"part": "B", "at": "SUMP/bolt-*", "reuse": "sometimes"}]}, "facts, bolts 1"),
        ({"bolts": [{"part": "B", "at": "SUMP/bolt-*", "reuse": "within limits"}]}, "facts, bolts 1"),
        ({"bolts": [{"part": "B", "at": "SUMP/bolt-*", "reuse": "never", "uses_most": True}]}, "facts, bolts 1"),
        ({"bearings": [{"name": "m", "halves": []}]}, "facts, bearings 1"),
        ({"end_float": {**SPAN, "faces": 3}}, "facts, end_float"),
        ({"head_gasket_grades": [{"grade": "1", "projection_most": "2 mm"}] * 2}, "facts, head_gasket_grades 2"),
        ({"changes": [{"from": "T4-00150"}]}, "facts, changes 1"),
        ({"liners_closed_by": "HEAD-*/casket"}, "facts"),
        ({"liners_closed_by": []}, "facts"),
        ({"origins": [{"at": "LIFTER-*/lifter", "bedded_to": "CAMSHAFT/key"}]}, "facts, origins 1"),
        ({"origins": [{"at": "LIFTER-*/lifter"}, {"at": "LIFTER-3/lifter"}]}, "facts, origins 2"),
        ({"origins": [{"at": "LIFTER-*/lifter", "mark": "paint"}]}, "facts, origins 1"),
        ({"origins": [{"at": "LIFTER-*/lifter", "turns_deg": [30]}]}, "facts, origins 1"),
        ({"origins": [{"at": "ROD-*/bolt-1", "halves": ["bolt-1", "bolt-2"]}]}, "facts, origins 1"),
        ({"origins": [{"at": "ROD-*/bolt-*", "halves": ["bolt-1"]}]}, "facts, origins 1"),
        ({"origins": [{"at": "ROD-*/bolt-*", "halves": ["bolt-1", "bolt-2"], "bedded_to": "OIL/fill"}]}, "facts, origins 1"),
    ],
)  # fmt: skip
def test_a_fact_that_cannot_be_read_is_a_named_problem(facts, where):
    assert where in [place for place, _ in read(facts)[1]]


def test_a_family_with_unreadable_facts_is_refused_with_every_problem():
    document = family_document()
    document["facts"] = {"bore": "wide", "step": {"limit": "1 mL"}, "colour": "red"}
    with pytest.raises(DomainError) as caught:
        parse_family(document)
    assert caught.value.code == "family-unusable"
    assert [problem["where"] for problem in caught.value.values["problems"]] == [
        "facts",
        "facts, bore",
        "facts, step, limit",
    ]
    assert len(KNOWN) == 45


def test_bearings_and_end_float_as_written():
    half = {"part": "H", "side": "upper", "grade": 1, "wall": "1.5 mm", "undersize": "0.25 mm"}
    found, problems = read(
        {
            "bearings": [
                {
                    "name": "mains", "upper_at": "MAIN-*/shells", "lower_at": "MAIN-*/shells", "halves": [half, {**half, "side": "lower"}],
                    "clearance": SPAN, "target": "0.15 mm",
                }
            ],
            "end_float": {**SPAN, "faces": 1, "washers": [{"part": "W", "thickness": "2 mm"}]},
        }
    )  # fmt: skip
    assert problems == []
    (mains,) = found.bearings
    assert (mains.uppers, mains.same_undersize, len(mains.upper_at)) == (mains.lowers, False, 3)
    assert (mains.uppers[0].undersize_nm, mains.target_nm) == (250_000, 150_000)
    assert found.end_float is not None
    assert ([one.thickness_nm for one in found.end_float.washers], found.end_float.alike) == ([2_000_000], False)


def test_a_groove_has_a_tolerance_where_one_is_known():
    row = {"part": "X-1", "groove_diameter": "108.6 mm", "bore": "114.5 mm", "width": "4.8 mm"}
    wide = row | {"part": "X-2", "groove_diameter_tolerance": "0.05 mm", "width_tolerance": "0.1 mm"}
    found, problems = read({"grooves": [row, wide]})
    assert (found.grooves, problems) == (
        (
            ("X-1", Groove(108_600_000, 114_500_000, 4_800_000)),
            ("X-2", Groove(108_600_000, 114_500_000, 4_800_000, 50_000, 0, 100_000)),
        ),
        [],
    )


def test_what_closes_over_liners_is_named_by_position():
    facts, problems = read({"liners_closed_by": "HEAD-*/gasket"})
    assert (facts.liners_closed_by, problems) == ({"HEAD-LEFT/gasket", "HEAD-RIGHT/gasket"}, [])
    assert read({})[0].liners_closed_by == frozenset()


def test_what_is_asked_of_a_seat_is_read_exactly_from_inches():
    # as TM 5-6115-593-34 prints it; 1 in = 25.4 mm
    facts, problems = read({"seat": {"depth_spread": ".001 in", "cupping_most": "0.0014 in"}})
    assert (facts.seat, problems) == (Seat(25_400, 35_560), [])
    assert read({"seat": {}})[0].seat is None
