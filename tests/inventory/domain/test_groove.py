"""Rings in grooves. Worked example of the demo shop (independent script), a groove chart, worked examples of public calculators."""

from __future__ import annotations

import csv
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import pi, sqrt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.groove import MODEL, Groove, Limits, Ring, Service, Suits, check_groove, fit, percent
from inventory.domain.ring_sizes import find_size

CHART = Path(__file__).resolve().parents[2] / "data" / "oring_gland_static.csv"
GROOVE = Groove(108_600_000, 114_500_000, 4_800_000)


def ring(name: str) -> Ring:
    size = find_size(name)
    return Ring(size.inside_nm, size.section_nm, size.inside_tolerance_nm, size.section_tolerance_nm)


def test_the_worked_example_both_sizes_would_seal() -> None:
    inch, metric = check_groove(ring("-244"), GROOVE), check_groove(ring("108 x 3.5"), GROOVE)
    assert (percent(inch.stretch.middle), percent(inch.squeeze.middle), percent(inch.fill.middle)) == (
        "0.99 %",
        "16.0 %",
        "68.5 %",
    )
    assert (f"{inch.section_nm / 1e6:.3f}", inch.depth_nm, inch.model) == ("3.513", 2_950_000, "constant volume")
    assert (percent(metric.stretch.middle), percent(metric.squeeze.middle)) == ("0.56 %", "15.5 %")
    assert (inch.suits, metric.suits, inch.reasons, metric.reasons) == (Suits.YES, Suits.YES, (), ())


def test_both_ends_of_the_tolerances() -> None:
    found = check_groove(ring("-244"), replace(GROOVE, width_tolerance_nm=100_000, bore_tolerance_nm=50_000))
    thin, thick = (
        fit_twin(107.54 + sign * 0.76, 3.53 + sign * 0.1, 108.6, 114.5 - sign * 0.05, 4.8) for sign in (-1, 1)
    )
    assert float(found.squeeze.least) == pytest.approx(thin[1])
    assert float(found.squeeze.most) == pytest.approx(thick[1])
    assert float(found.fill.most) == pytest.approx(fit_twin(108.3, 3.63, 108.6, 114.45, 4.7)[2])
    assert float(found.stretch.most) == pytest.approx((108.6 - 106.78) / 106.78)


def fit_twin(inside: float, section: float, diameter: float, bore: float, width: float) -> tuple[float, float, float]:
    """Stretch, squeeze, fill with floats."""
    stretched = section * sqrt((inside + section) / (diameter + section))
    depth = (bore - diameter) / 2
    return (diameter - inside) / inside, (stretched - depth) / stretched, pi / 4 * stretched**2 / (depth * width)


def chart() -> list[dict[str, str]]:
    with CHART.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@pytest.mark.parametrize("row", chart(), ids=lambda row: f"{row['kind']} {row['w_in']}")
def test_the_groove_chart(row: dict[str, str]) -> None:
    """An O-ring supplier's groove chart (read): squeeze of an unstretched ring between its smallest and its largest section.

    Squeeze is the section less the depth, as a share of the section, for grooves in a face as in a bore.
    """
    nm = {name: int(Fraction(text) * 25_400_000) for name, text in row.items() if name.endswith("_in") and text}
    low, high = nm["gland_depth_min_in"], nm["gland_depth_max_in"]
    free = 200_000_000
    found = check_groove(
        Ring(free, nm["w_in"], 0, nm["w_tol_in"]),
        Groove(free, free + low + high, nm["groove_width_min_in"], bore_tolerance_nm=high - low),
        Limits(most_squeeze=Fraction(32, 100)),
    )
    printed = (row["squeeze_min_pct_recomputed"], row["squeeze_max_pct_recomputed"])
    assert (f"{float(found.squeeze.least) * 100:.2f}", f"{float(found.squeeze.most) * 100:.2f}") == printed
    thinnest, thickest = nm["w_in"] - nm["w_tol_in"], nm["w_in"] + nm["w_tol_in"]
    assert abs(found.squeeze.least * thinnest - nm["squeeze_min_in"]) < 1
    assert abs(found.squeeze.most * thickest - nm["squeeze_max_in"]) < 1
    # The chart's narrowest grooves are fuller than 85 % with the thickest ring; nothing else is beyond a limit.
    full = f"The fill is {percent(found.fill.most)} at the ends of the tolerances, above 85.0 %."
    assert found.reasons == ((full,) if found.fill.most > Fraction(85, 100) else ())
    assert found.fill.most < Fraction(91, 100)


def test_worked_examples_of_public_calculators() -> None:
    inch = 25_400_000
    # an online calculator's example (read, recomputed): section .139, depth .111, width .187 in: squeeze 20.14 %, fill 73.1 %
    free = 4 * inch
    found = fit(free, Fraction("0.139") * inch, free, free + 2 * Fraction("0.111") * inch, Fraction("0.187") * inch)
    assert (f"{float(found.squeeze) * 100:.2f}", f"{float(found.fill) * 100:.1f}") == ("20.14", "73.1")
    # another (inputs inferred from its printed areas): section 2.0, depth 1.6, width 3.2 mm: 20 %, 61.36 %
    found = fit(50_000_000, 2_000_000, 50_000_000, 53_200_000, 3_200_000)
    assert (found.squeeze, f"{float(found.fill) * 100:.2f}") == (Fraction(1, 5), "61.36")
    # an online stretch calculator (read): inside .984 on 1.000 in loses .8 % of its section by the short form sqrt(D/g), which is
    # ours for a ring that is thin against its diameter (.803); on the centre line, section .139 in, it is .705 (twin by floats)
    for section, loss in ((1, "0.803"), (139 * 25_400, "0.705")):
        found = fit(984 * 25_400, section, 1000 * 25_400, 1300 * 25_400, inch)
        assert f"{(1 - sqrt(found.section_squared) / section) * 100:.3f}" == loss
        assert f"{float(1 + found.stretch):.4f}" == "1.0163"  # printed by the same calculator
    # inside 4.609 on 4.653 in, section .139 in: .13834 in by the short form (worked from it), .13836 on the centre line
    assert f"{0.139 * sqrt(4.609 / 4.653):.5f}" == "0.13834"
    found = fit(4609 * 25_400, 139 * 25_400, 4653 * 25_400, 5000 * 25_400, inch)
    assert f"{found.section_nm / 25_400_000:.5f}" == "0.13836"
    assert MODEL == "constant volume"


def test_limits_say_which_and_by_how_much() -> None:
    plain = Ring(107_540_000, 3_530_000)
    said = check_groove(plain, replace(GROOVE, bore_nm=113_000_000))
    assert (said.suits, said.reasons) == (
        Suits.NO,
        ("The squeeze is 37.4 %, above 30.0 %.", "The fill is 91.8 %, above 85.0 %."),
    )
    loose = check_groove(plain, replace(GROOVE, bore_nm=115_200_000))
    squeeze = fit_twin(107.54, 3.53, 108.6, 115.2, 4.8)[1] * 100
    assert (loose.suits, loose.reasons) == (Suits.NO, (f"The squeeze is {squeeze:.2f} %, below 8.00 %.",))
    tight = check_groove(plain, Groove(115_000_000, 120_900_000, 4_800_000))
    assert tight.reasons == ("The stretch is 6.94 %, above 5.00 %.",)
    large = check_groove(plain, Groove(107_000_000, 112_900_000, 4_800_000))
    assert large.reasons == ("The ring is larger than its groove: the stretch is -0.50 %.",)


def test_right_in_the_middle_and_wrong_at_an_end() -> None:
    found = check_groove(ring("-244"), replace(GROOVE, bore_nm=114_800_000, bore_tolerance_nm=200_000))
    squeeze = fit_twin(106.78, 3.43, 108.6, 115.0, 4.8)[1] * 100
    assert (found.suits, found.reasons) == (
        Suits.AT_ENDS_NO,
        (f"The squeeze is {squeeze:.2f} % at the ends of the tolerances, below 8.00 %.",),
    )


def test_the_shop_may_set_other_limits() -> None:
    strict = Limits(least_squeeze=Fraction(18, 100))
    assert check_groove(ring("-244"), GROOVE, strict).suits is Suits.NO


def test_a_value_on_a_limit_passes_and_a_hair_beyond_does_not() -> None:
    # unstretched ring of 4 mm in a depth of 3.2 mm: squeeze 20 % exactly
    free = Ring(100_000_000, 4_000_000)
    on = Groove(100_000_000, 106_400_000, 10_000_000)
    hair = Fraction(1, 10**15)
    exactly = Fraction(1, 5)
    for limits, good in (
        (Limits(least_squeeze=exactly), True),
        (Limits(least_squeeze=exactly + hair), False),
        (Limits(most_squeeze=exactly), True),
        (Limits(most_squeeze=exactly - hair), False),
    ):
        assert (check_groove(free, on, limits).suits is Suits.YES) is good
    stretched = Ring(100_000_000, 4_000_000)
    groove = Groove(105_000_000, 111_400_000, 10_000_000)
    assert check_groove(stretched, groove).suits is Suits.YES
    assert check_groove(stretched, replace(groove, diameter_nm=105_000_001, bore_nm=111_400_001)).suits is Suits.NO


def test_heat_and_swell_fill_the_groove() -> None:
    cold = check_groove(ring("-244"), GROOVE)
    hot = check_groove(ring("-244"), GROOVE, service=Service(hottest_mk=393_150))
    wet = check_groove(ring("-244"), GROOVE, service=Service(hottest_mk=393_150, swell=Fraction(25, 100)))
    # 100 K: the ring's volume grows by 1.016^3 and the metal by 1.0011 in length (coefficients from memory, twin by floats)
    inside, section, metal = 107.54 * 1.016, 3.53 * 1.016, 1.0011
    twin = fit_twin(inside, section, 108.6 * metal, 114.5 * metal, 4.8 * metal)
    assert [float(one.middle) for one in (hot.stretch, hot.squeeze, hot.fill)] == pytest.approx(twin)
    assert float(wet.fill.middle) == pytest.approx(twin[2] * 1.25)
    assert cold.fill.middle < hot.fill.middle < wet.fill.middle
    assert wet.reasons == (f"The fill is {twin[2] * 125:.1f} %, above 85.0 %.",)
    assert (cold.suits, hot.suits, wet.suits) == (Suits.YES, Suits.YES, Suits.NO)


@given(
    st.tuples(st.integers(20_000_000, 120_000_000), st.integers(0, 900_000)),
    st.tuples(st.integers(1_500_000, 7_000_000), st.integers(0, 150_000)),
    st.tuples(st.integers(-2_000_000, 6_000_000), st.integers(0, 100_000)),
    st.tuples(st.integers(2_500_000, 13_000_000), st.integers(0, 100_000)),
    st.integers(2_000_000, 10_000_000),
)
@settings(max_examples=25, deadline=None)
def test_no_ring_within_the_tolerances_lies_beyond_the_ends(
    inside: tuple[int, int], section: tuple[int, int], more: tuple[int, int], room: tuple[int, int], width: int
) -> None:
    """A grid of rings and grooves inside the tolerances, by a plain twin with floats."""
    diameter = inside[0] + more[0]
    groove = Groove(diameter, diameter + room[0], width, more[1], room[1], 50_000)
    found = check_groove(Ring(inside[0], section[0], inside[1], section[1]), groove)
    pairs = (inside, section, (diameter, more[1]), (groove.bore_nm, room[1]), (width, 50_000))
    grid = [[middle + step * tolerance for step in (-1, -0.4, 0.5, 1)] for middle, tolerance in pairs]
    twins = [fit_twin(*one) for one in product(*grid)]
    for at, its in enumerate((found.stretch, found.squeeze, found.fill)):
        assert min(one[at] for one in twins) == pytest.approx(float(its.least), rel=1e-9, abs=1e-9)
        assert max(one[at] for one in twins) == pytest.approx(float(its.most), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("wrong_ring", "wrong_groove", "code"),
    [
        ({"inside_nm": 0}, {}, "ring-unreadable"),
        ({"section_nm": True}, {}, "ring-unreadable"),
        ({"section_tolerance_nm": 3_530_000}, {}, "ring-unreadable"),
        ({"inside_tolerance_nm": -1}, {}, "ring-unreadable"),
        ({"inside_nm": float("nan")}, {}, "ring-unreadable"),
        ({}, {"width_nm": 0}, "groove-unreadable"),
        ({}, {"bore_nm": 108_600_000}, "groove-unreadable"),
        ({}, {"bore_nm": 400_000_000}, "groove-unreadable"),
        ({}, {"diameter_nm": 10_000_000_001}, "groove-unreadable"),
        ({}, {"bore_tolerance_nm": 6_000_000}, "groove-unreadable"),
    ],
)
def test_nonsense_is_refused(wrong_ring: dict[str, int], wrong_groove: dict[str, int], code: str) -> None:
    with pytest.raises(DomainError) as refused:
        check_groove(replace(ring("-244"), **wrong_ring), replace(GROOVE, **wrong_groove))
    assert refused.value.code == code


@pytest.mark.parametrize(
    "service",
    [
        Service(hottest_mk=0),
        Service(hottest_mk=700_001),
        Service(swell=Fraction(-1, 100)),
        Service(swell=Fraction(101, 100)),
        Service(rubber_growth=-1),
        Service(metal_growth=101),
    ],
)
def test_no_ring_is_in_such_service(service: Service) -> None:
    with pytest.raises(DomainError) as refused:
        check_groove(ring("-244"), GROOVE, service=service)
    assert refused.value.code == "ring-unreadable"


@pytest.mark.parametrize(
    "wrong",
    [
        {"least_squeeze": Fraction(31, 100)},
        {"most_squeeze": Fraction(1)},
        {"least_squeeze": Fraction(-1, 100)},
        {"most_stretch": Fraction(-1)},
        {"most_fill": Fraction(0)},
        {"most_fill": Fraction(85)},
    ],
)
def test_limits_that_are_none_are_refused(wrong: dict[str, Fraction]) -> None:
    with pytest.raises(DomainError) as refused:
        Limits(**wrong)
    assert refused.value.code == "groove-unreadable"
