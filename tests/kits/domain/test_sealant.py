"""Sealant volumes against geometry, a technical manual's bead, and the demo shop's joints."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.sealant import (
    FILLET,
    HALF_ROUND,
    NOTHING,
    SealantRules,
    Volume,
    bead_volume_ul,
    content_ul,
    dabs,
    draw_ul,
    film,
    film_volume_ul,
    flange_warnings,
    half_round_bead,
    right_angle_fillet,
    ring_bead,
    round_bead,
    squeezed_width_nm,
    squeezes_past,
    usable_ul,
)

MM = 1_000_000  # nm
CM2 = 10**8  # µm²


def _bead(length_mm: int, diameter_mm: str) -> Volume:
    return round_bead(length_mm * MM, int(Fraction(diameter_mm) * MM))


def test_shapes_of_a_bead_of_one_metre() -> None:
    # geometry, worked by hand for 3 mm and 1 m: π/4·9 = 7.0686, π/8·9 = 3.5343, 9/2 = 4.5 mL
    assert round_bead(1000 * MM, 3 * MM).round_ul() == 7069
    assert half_round_bead(1000 * MM, 3 * MM).round_ul() == 3534
    assert right_angle_fillet(1000 * MM, 3 * MM).round_ul() == 4500


def test_a_sixteenth_of_an_inch_in_a_counterbore() -> None:
    # 1/16 in bead in the counterbore: TM 9-6115-604-34 p 9-69; circle of 6.5 in (165.1 mm) assumed; 1.0266 mL by
    # geometry
    assert ring_bead(165_100_000, 1_587_500).round_ul() == 1027
    assert ring_bead(165_100_000, 1_587_500).pi_squared == Fraction("1.5875") ** 2 * Fraction("165.1") / 4


#: Joints of the invented demo shop: length mm, diameter mm, dabs mL, the table's mL (two decimals).
JOINTS = [
    ("Alder-4 sump", 1480, "3.0", "0", "10.46"),
    ("Alder-4 timing cover", 620, "2.5", "1.0", "4.04"),
    ("Alder-4 rear carrier", 420, "2.0", "0", "1.32"),
    ("Rowan-6 sump", 2360, "3.5", "0", "22.71"),
    ("Hornbeam-V8 sump", 1720, "3.0", "1.6", "13.76"),
    ("Hornbeam-V8 front cover", 980, "2.5", "0", "4.81"),
    ("Hornbeam-V8 liner seat", 305, "1.5", "0", "0.54"),
    ("Hornbeam-V8 rear cap", 124, "3.0", "0.4", "1.28"),
    ("Hornbeam-V8 rocker cover corners", 120, "2.0", "0", "0.38"),
    ("Larch-3 sump", 1310, "3.0", "0", "9.26"),
]


@pytest.mark.parametrize(("joint", "length_mm", "diameter_mm", "dab_ml", "ml"), JOINTS)
def test_the_demo_shop_s_joints(joint: str, length_mm: int, diameter_mm: str, dab_ml: str, ml: str) -> None:
    dab_ul = int(Fraction(dab_ml) * 1000)
    got = bead_volume_ul(length_mm * MM, int(Fraction(diameter_mm) * MM), 1 if dab_ul else 0, dab_ul)
    assert f"{got / 1000:.2f}" == ml, joint


def test_valley_corners_are_dabs_alone() -> None:
    assert dabs(4, 500).round_ul() == bead_volume_ul(0, 0, 4, 500) == 2000


@pytest.mark.parametrize(
    ("area_cm2", "thickness_mm", "ul"), [(132, "0.10", 1320), (96, "0.05", 480), (118, "0.10", 1180)]
)
def test_films_of_the_demo_shop(area_cm2: int, thickness_mm: str, ul: int) -> None:
    assert film_volume_ul(area_cm2 * CM2, int(Fraction(thickness_mm) * MM)) == ul


def test_draws_of_three_joints() -> None:
    # worked example of the demo shop: waste 15 %, prime 1.5 mL: 3.02, 6.15, 13.53; beads 15.82 and draws 22.70 in all
    beads = [_bead(420, "2.0"), _bead(620, "2.5") + dabs(2, 500), _bead(1480, "3.0")]
    assert [draw_ul(bead) for bead in beads] == [3017, 6150, 13_531]
    assert sum(beads, NOTHING).round_ul() == 15_824
    assert sum(draw_ul(bead) for bead in beads) == 22_698


def test_one_priming_a_nozzle() -> None:
    # worked example of the demo shop: eight seats through one nozzle 4.31, draw 6.46; primed eight times 16.96
    seats = _bead(305, "1.5") * 8
    assert (seats.round_ul(), draw_ul(seats), draw_ul(seats, nozzles=8)) == (4312, 6459, 16_959)
    assert draw_ul(seats, nozzles=0) == 4959


def test_waste_and_priming_are_the_shop_s() -> None:
    rules = SealantRules(waste=Fraction(1, 10), prime_ul=0)
    assert draw_ul(1000, rules) == 1100
    assert draw_ul(_bead(1000, "3.0"), rules) == round(math.pi / 4 * 9000 * 1.1)


def test_what_a_tube_still_gives() -> None:
    # worked example of the demo shop: (26.2 - 11.5) / 1.32 = 11.14 mL, of 80 mL 4.8 never comes out: 6.34; full: 75.2
    assert content_ul(26_200, 11_500, 1320) == 11_136
    assert usable_ul(11_136, 80_000) == 6336
    assert usable_ul(80_000, 80_000) == 75_200
    assert usable_ul(content_ul(30_000, 11_500, 1320) or 0, 80_000) == 9215  # 14.0 mL: 9.2
    assert [usable_ul(content, 80_000) for content in (14_000, 31_000, 62_000)] == [9200, 26_200, 57_200]
    assert usable_ul(4000, 80_000) == 0
    assert content_ul(26_200, 11_500, None) is None


@pytest.mark.parametrize(("weight_mg", "density"), [(11_499, 1320), (26_200, 0), (26_200, -5)])
def test_a_tube_lighter_than_empty_is_refused(weight_mg: int, density: int) -> None:
    with pytest.raises(DomainError) as caught:
        content_ul(weight_mg, 11_500, density)
    assert caught.value.code == "quantity-negative"


def test_a_thicker_bead_is_much_more() -> None:
    # (3.5/3)² = 1.361, (2.5/3)² = 0.694: geometry
    three = _bead(1480, "3.0").round_ul()
    assert round((_bead(1480, "3.5").round_ul() / three - 1) * 100, 1) == 36.1
    assert round((_bead(1480, "2.5").round_ul() / three - 1) * 100, 1) == -30.6


def test_squeezed_width() -> None:
    # π/4·9/0.20 = 35.34 mm, to 0.50: 14.14 mm: geometry
    assert squeezed_width_nm(3 * MM, 200_000) == 35_342_917
    assert squeezed_width_nm(3 * MM, 500_000) == 14_137_167


@pytest.mark.parametrize(
    ("shape", "sizes"),
    [
        (round_bead, (None, 3 * MM)),
        (round_bead, (1000, 0)),
        (half_round_bead, (0, 3)),
        (right_angle_fillet, (5, None)),
        (ring_bead, (-1, 3)),
        (dabs, (0, 500)),
        (dabs, (2, None)),
        (film, (CM2, None)),
        (squeezed_width_nm, (3 * MM, 0)),
    ],
)
def test_a_missing_size_asks(shape: object, sizes: tuple[int | None, ...]) -> None:
    with pytest.raises(DomainError) as caught:
        shape(*sizes)  # type: ignore[operator]  # every shape takes whole sizes
    assert (caught.value.code, caught.value.ways_out) == (
        "sealant-size-missing",
        ("take it from the engine maker's manual",),
    )


def test_sizes_of_a_read_list_may_be_nothing_but_not_less() -> None:
    assert bead_volume_ul(0, 3 * MM) == bead_volume_ul(0, 0, 2, 0) == film_volume_ul(0, 5) == 0
    for sizes in ((-1, 3), (1, -3), (1, 3, -1, 0), (1, 3, 1, -1)):
        with pytest.raises(ValueError, match="not negative"):
            bead_volume_ul(*sizes)
    with pytest.raises(ValueError, match="not negative"):
        film_volume_ul(-1, 1)


@settings(max_examples=200, deadline=None)
@given(st.integers(1, 5 * 10**9), st.integers(1, 10**7), st.integers(0, 20), st.integers(0, 2000))
def test_the_exact_volume_agrees_with_floats(length_nm: int, diameter_nm: int, number: int, each_ul: int) -> None:
    by_float = math.pi / 4 * (diameter_nm / 1e6) ** 2 * (length_nm / 1e6) + number * each_ul
    assert abs(bead_volume_ul(length_nm, diameter_nm, number, each_ul) - by_float) <= 0.5 + 1e-9 * by_float


def test_a_volume_too_near_a_half_is_not_guessed() -> None:
    # pi cut off after 50 decimals (OEIS A000796); the half lies between that and pi as it goes on
    cut_off = Fraction(314159265358979323846264338327950288419716939937510, 10**50)
    with pytest.raises(ArithmeticError, match="decimals of pi"):
        Volume(plain=Fraction(21, 2) - cut_off - Fraction(1, 2 * 10**50), pi=Fraction(1)).round_ul()
    assert Volume(plain=Fraction(21, 2) - cut_off - Fraction(2, 10**50), pi=Fraction(1)).round_ul() == 10


def test_a_squeezed_bead_against_its_flange() -> None:
    # worked example of the demo shop: 3.0 mm squeezed to 0.20 mm is 35.3 mm wide, to 0.50 mm 14.1 mm
    assert [round(squeezed_width_nm(3 * MM, gap) / MM, 1) for gap in (200_000, 500_000)] == [35.3, 14.1]
    width = squeezed_width_nm(3 * MM, 500_000)  # 14.137… mm, rounded
    assert (squeezes_past(3 * MM, 500_000, width - 1), squeezes_past(3 * MM, 500_000, width + 1)) == (True, False)
    # 11.137 mm of flange and 3 mm more are passed by a hair, 11.138 mm are not
    assert flange_warnings(3 * MM, 11_138_000, 500_000) == ()
    (narrow,) = flange_warnings(3 * MM, 11_137_000, 500_000)
    assert "14.1 mm wide on a flange of 11.1 mm" in narrow


def test_what_is_not_known_of_a_flange_is_asked() -> None:
    (asked,) = flange_warnings(3 * MM, None, 200_000)
    assert "flange width unknown" in asked
    (gap,) = flange_warnings(3 * MM, 14 * MM, None)
    assert "gap of the closed joint unknown" in gap
    wide = flange_warnings(3 * MM, 2_999_999, 200_000)
    assert [line.split(" ")[:4] for line in wide] == [["the", "bead", "is", "wider"], ["squeezed", "to", "0.20", "mm"]]
    assert flange_warnings(3 * MM, 3 * MM, 3 * MM) == ()


def test_a_half_round_bead_squeezes_out_half_as_far_and_a_fillet_between_no_faces() -> None:
    # π/8·9/0.20 = 17.671 mm: geometry, half of the round bead's 35.343
    assert squeezed_width_nm(3 * MM, 200_000, HALF_ROUND) == 17_671_459
    assert flange_warnings(3 * MM, 15 * MM, 200_000, HALF_ROUND) == ()
    assert len(flange_warnings(3 * MM, 14 * MM, 200_000, HALF_ROUND)) == 1
    assert len(flange_warnings(3 * MM, 15 * MM, 200_000)) == 1
    assert [len(flange_warnings(3 * MM, 2 * MM, gap, HALF_ROUND)) for gap in (None, 200_000)] == [2, 2]
    assert flange_warnings(3 * MM, None, None, FILLET) == ()


@given(st.integers(100_000, 9 * MM), st.integers(10_000, 5 * MM), st.integers(1, 400 * MM))
@settings(max_examples=50, deadline=None)
def test_squeezing_past_agrees_with_the_float_formula(diameter: int, gap: int, width: int) -> None:
    exact = math.pi / 4 * diameter**2 / gap
    if abs(exact - width) > 1e-6 * width:
        assert squeezes_past(diameter, gap, width) is (exact > width)
