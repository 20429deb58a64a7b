"""Piston in liner and ring in bore. Inch values: 1 in = 25.4 mm exactly, so 0.0001 in is 2540 nm."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest

from inventory.domain.errors import DomainError
from kits.domain.clearances import (
    Bore,
    BoreReading,
    Clearance,
    Piston,
    RingLimits,
    bore_of,
    piston_clearance,
    printed_disagrees,
    ring_gap,
)
from kits.domain.limits import Limits, Verdict

TENTH = 2540  # 0.0001 in
ALDER = Limits(90_000, 120_000)


def bore(*sizes_um: int) -> Bore:
    """Two planes by two directions, in this order: top along, top across, bottom along, bottom across."""
    places = product(("top", "bottom"), ("along", "across"))
    return bore_of([BoreReading(*place, size * 1000) for place, size in zip(places, sizes_um, strict=True)])


def test_the_worked_example():
    # Worked example of the demo shop: bore 86.015 - piston 85.905 = 0.110.
    found = piston_clearance(bore(86_015, 86_015, 86_015, 86_015), Piston(85_905_000, 20_000_000), ALDER, 0, 20_000_000)
    assert found == Clearance(110_000, 110_000, Fraction(110_000), Verdict.PASS, ())


def test_taper_and_out_of_round():
    # Top 100.010 / 100.030, bottom 100.005 / 100.012: round 20 and 7, taper 5 and 18; by hand.
    found = bore(100_010, 100_030, 100_005, 100_012)
    assert found == Bore(100_005_000, 100_030_000, Fraction(100_014_250), 20_000, 18_000)


def test_skirt_to_liner_of_a_printed_table():
    # Liner ID 4.2495-4.2511 in: TM 55-1905-220-14-4 p 3-859; skirt 4.2428-4.2450, printed clearance .0045-.0083, limit .0120: TM
    # 55-1905-219-14-4 table of specifications. Least: smallest liner with the largest skirt; most: the other way round.
    def liner(tenths: int) -> Bore:
        return Bore(tenths * TENTH, tenths * TENTH, Fraction(tenths * TENTH), 0, 0)

    limits = Limits(45 * TENTH, 120 * TENTH)
    tightest = piston_clearance(liner(42495), Piston(42450 * TENTH, 1), limits, 0, 1)
    loosest = piston_clearance(liner(42511), Piston(42428 * TENTH, 1), limits, 0, 1)
    assert (tightest.least_nm, tightest.verdict) == (45 * TENTH, "pass")
    assert (loosest.most_nm, loosest.verdict) == (83 * TENTH, "pass")
    worn = piston_clearance(liner(42549), Piston(42428 * TENTH, 1), limits, 0, 1)
    assert (worn.most_nm, worn.verdict) == (121 * TENTH, "fail")


def test_both_ends_of_an_uneven_bore_count():
    oval = bore(86_015, 86_015, 86_015, 86_026)
    found = piston_clearance(oval, Piston(85_905_000, 1), ALDER, 0, 1)
    assert (found.least_nm, found.most_nm, found.verdict) == (110_000, 121_000, "fail")
    found = piston_clearance(oval, Piston(85_905_000, 1), ALDER, 2_000, 1)
    assert found.verdict == "doubtful"


@pytest.mark.parametrize(
    ("height_nm", "stated_nm", "verdict", "reasons"),
    [
        (10, 10, "pass", ()),
        (11, 10, "doubtful", ("the piston was not measured at the height its maker states",)),
        (None, 10, "doubtful", ("the piston was not measured at the height its maker states",)),
        (10, None, "doubtful", ("the height at which the piston is measured is not on record",)),
    ],
)
def test_the_height_of_the_piston(height_nm, stated_nm, verdict, reasons):
    whole = bore(86_015, 86_015, 86_015, 86_015)
    found = piston_clearance(whole, Piston(85_905_000, height_nm), ALDER, 0, stated_nm)
    assert (found.verdict, found.reasons) == (verdict, reasons)
    tight = piston_clearance(whole, Piston(86_000_000, height_nm), ALDER, 0, stated_nm)
    assert tight.verdict == "fail"


def test_a_printed_clearance_that_disagrees():
    measured = piston_clearance(bore(86_015, 86_015, 86_015, 86_015), Piston(85_905_000), ALDER)
    # 0.110 measured; more than 0.02 mm apart (common practice) is put aside, 0.02 itself is not.
    assert [printed_disagrees(printed, measured) for printed in (130_000, 90_000)] == [False, False]
    assert [printed_disagrees(printed, measured) for printed in (130_001, 89_999)] == [True, True]


@pytest.mark.parametrize(
    ("places", "missing"),
    [
        ([("a", "x"), ("a", "y")], []),
        ([("a", "x"), ("b", "x")], []),
        ([("a", "x"), ("a", "y"), ("b", "x")], ["b, y"]),
        ([], []),
    ],
)
def test_too_few_places_of_a_bore(places, missing):
    with pytest.raises(DomainError) as caught:
        bore_of([BoreReading(plane, direction, 1000) for plane, direction in places])
    assert (caught.value.code, caught.value.values["missing"]) == ("bore-readings-short", missing)


def test_a_place_read_twice_and_nonsense():
    good = [BoreReading(plane, direction, 1000) for plane, direction in product("ab", "xy")]
    assert bore_of(good).smallest_nm == 1000
    for more, code in [
        (BoreReading("a", "x", 1001), "bore-readings-short"),
        (BoreReading("c", "x", 0), "limits-unreadable"),
        (BoreReading("c", "x", True), "limits-unreadable"),
    ]:
        with pytest.raises(DomainError) as caught:
            bore_of([*good, more])
        assert caught.value.code == code


@pytest.mark.parametrize(
    ("ring", "low", "high", "worn"), [("fire", 230, 380, 600), ("compression", 180, 430, 600), ("oil", 80, 230, 430)]
)
def test_ring_gaps_of_a_printed_table(ring, low, high, worn):
    # Bore 4.25 in: fire ring .023-.038 (limit .060), other compression .018-.043 (limit .060), oil .008-.023 (limit .043):
    # TM 55-1905-219-14-4, read on a public-domain mirror.
    limits = RingLimits(ring, Limits(low * TENTH, high * TENTH), worn * TENTH)

    def said(gap_nm: int, used: bool) -> str:
        return ring_gap(limits, gap_nm, measured_in="CYL-1/set", goes_into="CYL-1/set", used=used)

    assert [said(gap * TENTH, False) for gap in (low, high)] == ["pass", "pass"]
    assert [said(low * TENTH - 1, False), said(high * TENTH + 1, False)] == ["fail", "fail"]
    assert [said(high * TENTH + 1, True), said(worn * TENTH, True), said(worn * TENTH + 1, True)] == [
        "pass",
        "pass",
        "fail",
    ]


def test_ring_gaps_in_the_ring_travel():
    # .023-.033 and .019-.029 in: TM 9-2815-225-34&P p 924. With a feeler's allowance of .001 in the ends are doubtful.
    for low, high in ((230, 330), (190, 290)):
        limits = RingLimits("r", Limits(low * TENTH, high * TENTH))
        said = [
            ring_gap(limits, gap * TENTH, measured_in="b", goes_into="b", allowance_nm=10 * TENTH)
            for gap in (low, low + 10, high - 10, high, high + 11)
        ]
        assert said == ["doubtful", "pass", "pass", "doubtful", "fail"]


def test_a_gap_counts_in_its_own_bore_only():
    limits = RingLimits("top", Limits(0, 10))
    with pytest.raises(DomainError) as caught:
        ring_gap(limits, 5, measured_in="CYL-1/set", goes_into="CYL-2/set")
    assert caught.value.code == "ring-other-bore"
    with pytest.raises(DomainError) as caught:
        ring_gap(limits, 5, measured_in="b", goes_into="b", used=True)
    assert caught.value.code == "limits-unreadable"
