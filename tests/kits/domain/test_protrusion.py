"""How far a liner stands proud: temperature, the gauge's allowance, verdicts, what is set under a liner.

Values of limits and readings are the worked examples of the demo shop (recomputed by an independent script), unless a source
stands beside them. Inches are exact: 25.4 mm.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.expansion import at_reference
from kits.domain.limits import Verdict
from kits.domain.protrusion import (
    POOR_GAUGE,
    HeightLimits,
    accepted,
    allowance_nm,
    check_rings,
    check_shim,
    clock_steps,
    good_enough,
    grained,
    judge,
    ledge_nm,
    microns,
    top_flange_nm,
    verdict,
)

UM, MM, INCH = 1_000, 1_000_000, 25_400_000
PASS, DOUBTFUL, FAIL = Verdict.PASS, Verdict.DOUBTFUL, Verdict.FAIL
LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, 40 * UM, staircase=True, turns_deg=(0, 180))
#: Alloy block, steel gauge, parts per million per kelvin.
ALLOY, STEEL = 22, Fraction(23, 2)


def celsius(degrees: int) -> int:
    return 273_150 + 1000 * degrees


@pytest.mark.parametrize(
    "gauge_degrees, shift_tenth_um, height_tenth_um", [(31, 107, 737), (25, 172, 802), (20, 225, 855)]
)
def test_a_warm_block_gives_a_false_height(gauge_degrees, shift_tenth_um, height_tenth_um):
    # Worked example: 93.035 at 20 °C on a depth that reads 92.972 at 31 °C; uncorrected 0.063.
    read = 92_972 * UM
    depth = at_reference(read, celsius(31), celsius(gauge_degrees), ALLOY, STEEL)
    assert round((read - depth) / 100) == shift_tenth_um
    height = at_reference(93_035 * UM, celsius(20), celsius(20), ALLOY, STEEL) - depth
    assert grained(height) == height_tenth_um * 100
    assert ledge_nm(93_035 * UM, read) == 63 * UM


def test_the_correction_is_exact():
    # 1 m of 22 ppm/K at 21 °C, gauge at 20 °C: 22 µm shorter at 20 °C, to the last digit.
    assert at_reference(1000 * MM, celsius(21), celsius(20), 22, STEEL) == 1000 * MM - 22 * UM
    assert at_reference(1, 293_151, 293_150, 22, 0) == 1 - Fraction(22, 10**9)


def test_the_allowance_is_rounded_up():
    assert allowance_nm(3 * UM, 4 * UM) == 10 * UM  # worked example, exact
    assert allowance_nm(0, 0) == 0
    assert allowance_nm(1, 1) == 3  # 2·√2 = 2.83
    assert allowance_nm(1000, 1) == 2001  # just above 2000


@given(st.integers(0, 10**7), st.integers(0, 10**7))
def test_the_allowance_is_the_least_whole_number_not_below_the_root(height, depth):
    found = allowance_nm(height, depth)
    assert (found - 1) ** 2 < 4 * (height**2 + depth**2) <= found**2 or found == height == depth == 0


@pytest.mark.parametrize(
    "height_um, said",
    [(36, FAIL), (47, DOUBTFUL), (58, DOUBTFUL), (63, PASS), (109, PASS), (118, DOUBTFUL), (134, FAIL),
     (60, PASS), (110, PASS), (40, DOUBTFUL), (130, DOUBTFUL)],
)  # fmt: skip
def test_the_verdicts(height_um, said):
    assert verdict(height_um * UM, LIMITS, 10 * UM) is said


def test_a_tenth_of_a_micrometre_beyond_does_not_pass():
    assert [verdict(at, LIMITS, 10 * UM) for at in (59_900, 110_100, 39_900, 130_100)] == [
        DOUBTFUL,
        DOUBTFUL,
        FAIL,
        FAIL,
    ]
    # rounded half to even before it is compared: 59.95 goes up to 60.0, 59.949 down to 59.9
    assert [verdict(at, LIMITS, 10 * UM) for at in (59_950, 59_949)] == [PASS, DOUBTFUL]


@given(st.integers(0, 3000), st.integers(0, 3000), st.integers(0, 1500))
@example(0, 105, 50)
def test_a_height_on_a_limit_passes_wherever_the_limit_lies(low, width, gauge):
    limits = HeightLimits(low, low + width, 0)
    ends = low + gauge, low + width - gauge
    enough = width >= 2 * gauge
    assert {verdict(at, limits, gauge) for at in ends if at >= 0} <= ({PASS} if enough else {DOUBTFUL, FAIL})
    # More than a grain beyond: two ties a grain apart are both rounded to the even one between them.
    beyond = [verdict(at, limits, gauge) for at in (ends[0] - 101, ends[1] + 101)]
    assert PASS not in beyond
    outer = low - gauge, low + width + gauge
    assert {verdict(at, limits, gauge) for at in outer if at >= 0} <= {DOUBTFUL, PASS}
    assert {verdict(at, limits, gauge) for at in (outer[0] - 101, outer[1] + 101)} == {FAIL}


def test_the_guard_bands_of_a_published_page():
    # Unofficial page quoting ISO 14253-1: 10.0 to 10.1 with U 0.02 accepts 10.02 to 10.08, rejects below 9.98 and above 10.12.
    limits = HeightLimits(10 * MM, 10_100 * UM, 0)
    heights = (9_979_900, 9_980_000, 10_019_900, 10_020_000, 10_080_000, 10_080_100, 10_120_000, 10_120_100)
    assert [verdict(at, limits, 20 * UM) for at in heights] == [
        FAIL,
        DOUBTFUL,
        DOUBTFUL,
        PASS,
        PASS,
        DOUBTFUL,
        DOUBTFUL,
        FAIL,
    ]


def test_below_the_block_is_never_doubtful():
    limits = HeightLimits(0, 50 * UM, 10 * UM)
    assert [verdict(at, limits, 10 * UM) for at in (0, -49, -51, -9 * UM)] == [DOUBTFUL, DOUBTFUL, FAIL, FAIL]


def test_a_gauge_that_is_not_good_enough():
    assert good_enough(LIMITS, 35 * UM)
    assert verdict(85 * UM, LIMITS, 35 * UM) is PASS  # one height is left
    assert not good_enough(LIMITS, 35 * UM + 1)
    said = judge([85 * UM] * 4, LIMITS, 36 * UM)
    assert (said.verdict, said.why) == (DOUBTFUL, (POOR_GAUGE,))
    assert {verdict(at * UM, LIMITS, 36 * UM) for at in range(-10, 200)} == {DOUBTFUL, FAIL}


def test_a_liner_is_as_good_as_its_worst_point():
    good = judge([70 * UM, 80 * UM, 90 * UM, 100 * UM], LIMITS, 10 * UM)
    assert (good.verdict, good.points, good.why) == (PASS, (PASS,) * 4, ())
    assert judge([70 * UM, 80 * UM, 58 * UM, 80 * UM], LIMITS, 10 * UM).verdict is DOUBTFUL
    assert judge([70 * UM, 80 * UM, 58 * UM, 36 * UM], LIMITS, 10 * UM).verdict is FAIL
    crooked = judge([70 * UM, 80 * UM, 90 * UM, 100 * UM + 1], LIMITS, 10 * UM)
    assert (crooked.verdict, crooked.why) == (FAIL, ("The points differ by 30.001 µm, at most 30 µm.",))


def test_three_points_or_a_missing_temperature_are_doubtful_at_best():
    three = judge([80 * UM] * 3, LIMITS, 10 * UM)
    assert (three.verdict, three.why) == (DOUBTFUL, ("Read at 3 points only: at least 4 are needed.",))
    cold = judge([80 * UM] * 4, LIMITS, 10 * UM, temperature_missing=True)
    assert (cold.verdict, cold.why) == (
        DOUBTFUL,
        ("A temperature is missing: a warm alloy block gives a false height.",),
    )
    assert judge([20 * UM] * 3, LIMITS, 10 * UM, temperature_missing=True).verdict is FAIL


@given(st.integers(0, 3000), st.integers(0, 3000), st.integers(0, 1500), st.integers(-2000, 8000), st.integers(0, 2000))
def test_verdicts_only_get_better_towards_the_middle(low, width, gauge, height, nearer):
    limits = HeightLimits(low, low + width, 0)
    order = [FAIL, DOUBTFUL, PASS]
    middle = 2 * low + width
    closer = min(height + nearer, middle // 2) if 2 * height < middle else max(height - nearer, -(-middle // 2))
    if (2 * height - middle) * (2 * closer - middle) >= 0:
        assert order.index(verdict(closer, limits, gauge)) >= order.index(verdict(height, limits, gauge))


@given(st.integers(0, 30), st.integers(0, 30), st.integers(0, 15), st.integers(-20, 80), st.integers(1, 254))
def test_verdicts_do_not_depend_on_the_unit(low, width, gauge, height, unit):
    hundred = HeightLimits(low * 100, (low + width) * 100, 0)
    other = HeightLimits(low * 100 * unit, (low + width) * 100 * unit, 0)
    assert verdict(height * 100, hundred, gauge * 100) is verdict(height * 100 * unit, other, gauge * 100 * unit)


@given(st.integers(0, 1000), st.integers(0, 1000), st.integers(0, 300), st.integers(-300, 2300))
def test_what_is_accepted_is_what_passes(low, width, gauge, height):
    limits = HeightLimits(low, low + width, 0)
    first, last = accepted(low + gauge, low + width - gauge)
    passes = verdict(height, limits, gauge) is PASS
    assert passes == (first <= height <= last and grained(height) >= 0)


def test_shims_and_recuts_under_a_top_flange():
    # Worked example: flange 9.030, counterbore 9.015.
    limits = replace(LIMITS, shims_nm=tuple(at * 50 * UM for at in range(1, 6)))
    seated = [
        top_flange_nm(9_030 * UM, 9_015 * UM, shims_nm=shims) for shims in ((), (50 * UM,), (100 * UM,), (150 * UM,))
    ]
    assert seated == [15 * UM, 65 * UM, 115 * UM, 165 * UM]
    assert [verdict(at, limits, 10 * UM) for at in seated] == [FAIL, PASS, DOUBTFUL, FAIL]
    recut = [top_flange_nm(9_030 * UM, 9_015 * UM, cut_nm=cut * UM, shims_nm=(150 * UM,)) for cut in (50, 60, 70)]
    assert recut == [115 * UM, 105 * UM, 95 * UM]
    assert [verdict(at, limits, 10 * UM) for at in recut] == [DOUBTFUL, PASS, PASS]
    for size in limits.shims_nm:
        check_shim(size, limits)
    check_shim(0, limits, ledge_cracked=True)


def test_what_is_not_set_under_a_liner():
    limits = replace(LIMITS, shims_nm=(50 * UM,), rings_nm=(900 * UM, 1000 * UM))
    check_rings([900 * UM] * 3, limits)
    for refused in (
        lambda: top_flange_nm(9 * MM, 9 * MM, shims_nm=(50 * UM, 50 * UM)),
        lambda: check_shim(60 * UM, limits),
        lambda: check_shim(50 * UM, limits, ledge_cracked=True),
        lambda: check_rings([900 * UM, 1000 * UM, 900 * UM], limits),
        lambda: check_rings([950 * UM], limits),
        lambda: check_rings([900 * UM], LIMITS),
    ):
        with pytest.raises(DomainError) as raised:
            refused()
        assert raised.value.code == "stack-refused"


def test_the_four_families_at_nominal():
    # The demo shop's table of families, in millimetres.
    assert ledge_nm(93_030 * UM, 92_950 * UM) == 80 * UM
    rowan = (9_020_000 + 9_045_000) // 2, (8_935_000 + 8_965_000) // 2
    assert top_flange_nm(*rowan) == 82_500
    assert top_flange_nm(*rowan, cut_nm=250 * UM, shims_nm=(250 * UM,)) == 82_500
    assert ledge_nm(101_500 * UM, 101_430 * UM) == 70 * UM


def test_base_rings_of_a_cut_ledge():
    # The demo shop's table of families: limits 0.020 to 0.120, ring 0.90 or 1.00, ledge 61.840 or recut 61.940.
    limits = HeightLimits(20 * UM, 120 * UM, 40 * UM, 60 * UM, turns_deg=None, rings_nm=(900 * UM, 1000 * UM))
    found = {
        (depth, ring): ledge_nm(61_000 * UM, depth * UM, ring_nm=ring * UM)
        for depth, ring in product((61_840, 61_940), (900, 1000))
    }
    assert list(found.values()) == [60 * UM, 160 * UM, -40 * UM, 60 * UM]
    assert [verdict(at, limits, 0) for at in found.values()] == [PASS, FAIL, FAIL, PASS]


def test_a_stack_of_flange_plate_and_gasket():
    # US Army TM 5-3805-263-14&P-2, read on a public-domain mirror: .4048±.0008 on .3925±.0010 and .0082±.0010, printed .0013-.0069.
    flange, plate, gasket = ((4048, 8), (3925, 10), (82, 10))  # ten thousandths of an inch
    tenth = INCH // 10_000
    nominal = ledge_nm(flange[0] * tenth, (plate[0] + gasket[0]) * tenth)
    low = ledge_nm((flange[0] - flange[1]) * tenth, (plate[0] + plate[1] + gasket[0] + gasket[1]) * tenth)
    high = ledge_nm((flange[0] + flange[1]) * tenth, (plate[0] - plate[1] + gasket[0] - gasket[1]) * tenth)
    assert [nominal, low, high] == [41 * tenth, 13 * tenth, 69 * tenth]
    limits = HeightLimits(
        13 * tenth, 69 * tenth, 20 * tenth, 20 * tenth
    )  # within one liner .002, averages of neighbours .002
    assert [verdict(at, limits, 0) for at in (low, high, low - 100, high + 100)] == [PASS, PASS, FAIL, FAIL]


def test_a_flange_in_a_counterbore_must_be_measured():
    # TM 5-6115-400-35 table 1, read on a public-domain mirror: flange .463-.465, counterbore .460-.462, limits .002-.005.
    mil = INCH // 1000
    limits = HeightLimits(2 * mil, 5 * mil, 5 * mil, shims_nm=tuple(size * mil for size in (5, 8, 10, 15, 20)))
    low, high = top_flange_nm(463 * mil, 462 * mil), top_flange_nm(465 * mil, 460 * mil)
    assert (low, high) == (mil, 5 * mil)
    assert (verdict(low, limits, 0), verdict(high, limits, 0)) == (FAIL, PASS)  # parts in tolerance, and still too low


def test_a_shim_by_recess():
    # Service manual page for a small marine diesel, read on a manual-hosting site: recess, shim, and always 0.01 to 0.06 mm.
    table = ((14, 9, 15), (19, 14, 20), (22, 17, 23))  # hundredths of a millimetre: deepest, shallowest, shim
    limits = HeightLimits(10 * UM, 60 * UM, 50 * UM, shims_nm=tuple(10 * UM * shim for *_, shim in table))
    for deepest, shallowest, shim in table:
        seated = [top_flange_nm(0, 10 * UM * recess, shims_nm=(10 * UM * shim,)) for recess in (deepest, shallowest)]
        assert seated == [10 * UM, 60 * UM]
        assert [verdict(at, limits, 0) for at in seated] == [PASS, PASS]


def test_the_largest_seal_that_does_not_stand_too_high():
    # Workshop manual page for a wet-liner petrol V6, read on a manual-hosting site: 0.10 measured, at most 0.23, seal 0.122 on average.
    limits = HeightLimits(0, 230 * UM, 230 * UM, 40 * UM, rings_nm=(87 * UM, 102 * UM, 122 * UM, 147 * UM))
    stand = [ring for ring in limits.rings_nm if verdict(ledge_nm(MM, 900 * UM, ring_nm=ring), limits, 0) is PASS]
    assert max(stand) == 122 * UM  # the sizes beside it are from memory


def test_angles_are_whole_clock_points():
    assert [clock_steps(angle, 4) for angle in (0, 90, 180, 270)] == [0, 1, 2, 3]
    assert clock_steps(60, 6) == 1
    with pytest.raises(DomainError) as raised:
        clock_steps(90, 6)
    assert raised.value.code == "heights-unusable"


@pytest.mark.parametrize(
    "change",
    [{"low_nm": -1}, {"low_nm": 130 * UM}, {"low_nm": True}, {"low_nm": 50.0}, {"within_nm": -1}, {"step_nm": -1},
     {"step_nm": None}, {"shims_nm": (0,)}, {"shims_nm": (5, 5)}, {"rings_nm": (1.5,)}, {"turns_deg": ()}, {"turns_deg": (0, 0)},
     {"turns_deg": (360,)}, {"facing_deg": (180,)}, {"facing_deg": (180, 400)}, {"target_nm": float("nan")}],
)  # fmt: skip
def test_limits_that_make_no_sense(change):
    with pytest.raises(DomainError) as raised:
        replace(LIMITS, **change)
    assert raised.value.code == "heights-unusable"


@pytest.mark.parametrize(
    "nonsense",
    [
        lambda: allowance_nm(-1, 0),
        lambda: verdict(1, LIMITS, True),
        lambda: judge([], LIMITS, 0),
        lambda: top_flange_nm(1, -1),
        lambda: ledge_nm(1, 1, ring_nm=False),
    ],
)
def test_readings_that_make_no_sense(nonsense):
    with pytest.raises(DomainError) as raised:
        nonsense()
    assert raised.value.code == "heights-unusable"


def test_lengths_for_a_person():
    assert [microns(at) for at in (0, 7 * UM, 78_250, -40 * UM, Fraction(1, 3), 100)] == [
        "0 µm",
        "7 µm",
        "78.25 µm",
        "−40 µm",
        "0.0003 µm",
        "0.1 µm",
    ]
    assert LIMITS.target == 85 * UM
    assert replace(LIMITS, target_nm=80 * UM).target == 80 * UM
    assert HeightLimits(0, 5, 0).target == Fraction(5, 2)
