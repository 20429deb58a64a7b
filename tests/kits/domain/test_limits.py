"""A value against limits with the allowance of the gauge."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits, Verdict, gauge_too_coarse, judge, whole_nm, worst

MM = 1_000_000


@pytest.mark.parametrize(
    ("height_um", "verdict"),
    [(36, "fail"), (47, "doubtful"), (58, "doubtful"), (63, "pass"), (109, "pass"), (118, "doubtful"), (134, "fail")],
)
def test_the_seven_heights_of_the_worked_example(height_um, verdict):
    # Worked example of the demo shop: limits 0.050 to 0.120 mm, allowance 0.010 mm.
    assert judge(height_um * 1000, Limits(50_000, 120_000), 10_000) == verdict


TENTH = 2540  # 0.0001 in, from 1 in = 25.4 mm


@pytest.mark.parametrize(
    ("what", "low", "high", "worn"),
    [
        # New from low to high, worn up to (a shell: down to) the last value, in 0.0001 in; read on a public-domain mirror.
        ("main bearing clearance: TM 9-6115-604-34 Table 1-4 p 1-14", 36, 75, 95),
        ("rod bearing clearance: the same table", 25, 65, 90),
        ("rod bearing shell: the same table", 1237, 1242, 1222),
        ("liner inside diameter: the same table", 62_495, 62_510, 62_550),
        ("piston skirt: TM 9-2815-225-34&P p 924, at 70 °F", 54_870, 54_880, 54_830),
    ],
)
def test_printed_limits_new_and_worn_pass_at_their_ends(what, low, high, worn):
    new = Limits(low * TENTH, high * TENTH)
    used = Limits(min(low, worn) * TENTH, max(high, worn) * TENTH)
    for limits, ends in ((new, (low, high)), (used, (min(low, worn), max(high, worn)))):
        assert [judge(end * TENTH, limits) for end in ends] == ["pass", "pass"], what
        assert [judge(end * TENTH + off, limits) for end, off in zip(ends, (-1, 1), strict=True)] == ["fail", "fail"], (
            what
        )
    # A gauge of u = 0.0001 in allows for 0.0002: at the ends nobody can say.
    assert [judge(end * TENTH, new, 2 * TENTH) for end in (low, high)] == ["doubtful", "doubtful"], what
    assert not gauge_too_coarse(new, (high - low) * TENTH // 2)


def test_the_clearance_of_a_liner_in_its_lower_bore():
    # .002 to .006 in: TM 9-6115-604-34 Table 1-4 p 1-14. With feelers of .001 steps, u = .0005, only .003 to .005 passes.
    limits = Limits(20 * TENTH, 60 * TENTH)
    said = [judge(tenths * TENTH, limits, 10 * TENTH) for tenths in (9, 10, 29, 30, 50, 51, 70, 71)]
    assert said == ["fail", "doubtful", "doubtful", "pass", "pass", "doubtful", "doubtful", "fail"]


def test_zones_as_iso_14253_1_is_quoted():
    # ISO 14253-1 style zones, an unofficial page that quotes it: limits 10.00 to 10.10, U 0.02: conforming from 10.02 to
    # 10.08. The page calls 9.98 and 10.12 themselves not conforming; here they are the last doubtful values, one further fails.
    limits, u = Limits(10 * MM, 10_100_000), 20_000
    assert [judge(x, limits, u) for x in (10_020_000, 10_080_000)] == ["pass", "pass"]
    assert [judge(x, limits, u) for x in (10_019_999, 10_080_001)] == ["doubtful", "doubtful"]
    assert [judge(x, limits, u) for x in (9_980_000, 10_120_000)] == ["doubtful", "doubtful"]
    assert [judge(x, limits, u) for x in (9_979_999, 10_120_001)] == ["fail", "fail"]


@settings(max_examples=60)
@given(st.integers(-50, 50), st.integers(-20, 20), st.integers(0, 30), st.integers(0, 12))
def test_against_a_twin_that_tries_every_error_of_the_gauge(x, low, width, u):
    # Pass: whatever the gauge's error within the allowance, the true value is inside. Fail: whatever the error, outside.
    inside = [low <= x + error <= low + width for error in range(-u, u + 1)]
    got = judge(x, Limits(low, low + width), u)
    assert (got == "pass") == all(inside)
    if got == "fail":
        assert not any(inside)
    elif got == "doubtful" and width >= 2 * u:
        assert any(inside)
        assert not all(inside)


def test_one_side_only_and_fractions():
    assert [judge(x, Limits(None, 5)) for x in (-100, 5, 6)] == ["pass", "pass", "fail"]
    assert [judge(x, Limits(5, None), 1) for x in (3, 4, 5, 6)] == ["fail", "doubtful", "doubtful", "pass"]
    assert judge(Fraction(11, 2), Limits(0, 5)) == "fail"
    assert judge(Fraction(9, 2), Limits(0, 5)) == "pass"


def test_a_gauge_too_coarse_for_the_limit():
    assert not gauge_too_coarse(Limits(0, 20), 10)
    assert gauge_too_coarse(Limits(0, 20), 11)
    assert not gauge_too_coarse(Limits(None, 20), 100)


@pytest.mark.parametrize("ends", [(None, None), (2, 1), (True, 3), (0.5, 1)])
def test_nonsense_limits(ends):
    with pytest.raises(DomainError) as caught:
        Limits(*ends)
    assert caught.value.code == "limits-unreadable"


@pytest.mark.parametrize(("value", "allowance"), [(float("nan"), 0), (True, 0), (1, -1), (1, 0.5), (1, True)])
def test_nonsense_values(value, allowance):
    with pytest.raises(DomainError) as caught:
        judge(value, Limits(0, 1), allowance)
    assert caught.value.code == "limits-unreadable"


def test_the_worst_of_several():
    assert worst((Verdict.PASS, Verdict.FAIL, Verdict.DOUBTFUL)) == "fail"
    assert worst((Verdict.PASS, Verdict.DOUBTFUL)) == "doubtful"
    assert worst(()) == "pass"
    assert whole_nm(3, "x") == 3
