"""From readings to heights and verdicts: the worked example with temperatures, and everything that must never pass."""

from fractions import Fraction

import pytest

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from kits.domain.facts import Clamping, Facts, Protrusion, Shims, Step
from kits.domain.limits import Limits, Verdict
from kits.domain.liners import (
    NO_TEMPERATURE,
    NOTHING,
    Growth,
    Read,
    Under,
    check_under,
    common_hours,
    gauged,
    gauging_said,
    growth_of,
    limits_of,
    recut_most_nm,
    said,
    stands,
    stands_directly,
)
from kits.domain.protrusion import HeightLimits

UM, MM = 1_000, 1_000_000
LIMITS = HeightLimits(50 * UM, 120 * UM, 30 * UM, turns_deg=(0, 180))
ALLOY, STEEL = Fraction(22), Fraction("11.5")
COLD = 293_150


def reads(*values_nm, hours=(12, 3, 6, 9), u=3 * UM, at=COLD, gauge_at=COLD, ppm=STEEL, **more):
    return [
        Read(number, hour, value, u, at, gauge_at, ppm, **more)
        for number, (hour, value) in enumerate(zip(hours, values_nm, strict=False), 1)
    ]


def refused(code, call, *args):
    with pytest.raises(DomainError) as caught:
        call(*args)
    assert caught.value.code == code
    return caught.value


@pytest.mark.parametrize(
    ("gauge_c", "height_um"), [(31, Fraction("73.7")), (25, Fraction("80.2")), (20, Fraction("85.5"))]
)
def test_the_worked_example_with_a_warm_block(gauge_c, height_um):
    """H = 93.035 at 20 °C, D reads 92.972 with the block at 31 °C, alloy 22, gauge 11.5 parts per million: 73.7, 80.2, 85.5 µm."""
    liner = gauged(reads(*[93_035 * UM] * 4), Fraction(11), True)
    block = gauged(reads(*[92_972 * UM] * 4, u=4 * UM, at=304_150, gauge_at=273_150 + gauge_c * 1000), ALLOY, True)
    found = stands(liner, block, 0, Under(), LIMITS)
    # the example is rounded to 0.1 µm
    assert [abs(height - height_um * UM) <= 50 for height in found.heights_nm] == [True] * 4
    assert (found.allowance_nm, found.judgement.verdict) == (10 * UM, Verdict.PASS)
    assert found.notes == (f"corrected for temperature by up to {block.shift_nm / 1000:g} µm",)


def test_what_is_not_said_of_temperature():
    warm = reads(*[92_972 * UM] * 4, at=304_150, gauge_at=304_150)
    assert gauged(warm, ALLOY, True).doubts == ()
    # neither a family nor a gauge without its coefficient is corrected by a guess
    for found in (gauged(warm, None, True), gauged(list(reads(1, at=304_150, ppm=None)), ALLOY, False)):
        assert "not on record" in found.doubts[0]
        assert found.shift_nm == 0
    # at 20 °C there is nothing to correct
    assert gauged(reads(5, ppm=None), None, True).doubts == ()
    for part, gauge in ((None, COLD), (COLD, None), (None, None)):
        found = gauged(reads(5, at=part, gauge_at=gauge), ALLOY, True)
        assert (found.cold, found.doubts) == (True, (NO_TEMPERATURE,))
        assert gauged(reads(5, at=part, gauge_at=gauge), ALLOY, False).doubts == ()


def test_growth_and_limits_of_a_family():
    assert growth_of(Facts(texts={"block": "iron"})) == Growth(None, None, False)
    assert growth_of(Facts(expansion_ppm={"block": ALLOY, "liner": STEEL})) == Growth(ALLOY, STEEL, True)
    assert growth_of(Facts(texts={"block": "alloy"})).needed
    refused("no-limit", limits_of, Facts())
    height = Protrusion(Limits(50 * UM, 120 * UM), None, 85 * UM, "dry")
    refused("no-limit", limits_of, Facts(protrusion=height))
    refused(
        "no-limit",
        limits_of,
        Facts(protrusion=Protrusion(Limits(50 * UM, None), None, None, ""), within_one_liner_nm=1),
    )
    facts = Facts(protrusion=height, within_one_liner_nm=30 * UM)
    assert limits_of(facts) == HeightLimits(50 * UM, 120 * UM, 30 * UM, target_nm=85 * UM)
    more = Facts(
        protrusion=height, within_one_liner_nm=1, step=Step(40 * UM, True, None), any_turn=True, shims=Shims((5, 9), None)
    )  # fmt: skip
    found = limits_of(more)
    assert (found.step_nm, found.staircase, found.turns_deg, found.shims_nm) == (40 * UM, True, None, (5, 9))


def test_repeats_are_taken_together_and_a_third_is_asked_for():
    twice = [*reads(100 * UM, 90 * UM), Read(7, 3, 94 * UM, 3 * UM, COLD, COLD, STEEL)]
    found = gauged(twice, None, True)
    assert (found.points, found.again, found.ids) == ({12: 100 * UM, 3: 92 * UM}, (), (1, 2, 7))
    apart = gauged([*twice, Read(8, 12, 107 * UM, 3 * UM, COLD, COLD, STEEL)], None, True)
    assert (apart.points, apart.again) == ({3: 92 * UM}, (12,))
    assert apart.lacking((12, 3)) == [12]
    assert (apart.at((3,)), apart.at((12, 3))) == ((92 * UM,), None)
    assert gauged([], None, True) == NOTHING


def test_what_was_read_again_in_good_order_goes_before_what_was_not():
    late = [Read(7, 3, 140 * UM, 9 * UM, COLD, COLD, STEEL, ("the gauge was out of date",))]
    once = gauged(late, None, True)
    assert (once.points, once.doubts, once.uncertainty_nm) == ({3: 140 * UM}, ("the gauge was out of date",), 9 * UM)
    again = reads(100 * UM, 90 * UM)
    for order in ([*late, *again], [*again, *late]):
        found = gauged(order, None, True)
        assert (found.points, found.doubts, found.ids) == ({12: 100 * UM, 3: 90 * UM}, (), (1, 2))
        assert (found.uncertainty_nm, found.again, found.cold) == (3 * UM, (), False)
    # only where none may decide do the others count
    assert gauged([*late, *reads(100 * UM)], None, True).doubts == ("the gauge was out of date",)


def test_every_verdict_of_the_table_and_every_doubt():
    """36 fail, 47 and 58 doubtful, 63 and 109 pass, 118 doubtful, 134 fail, on the worked example's limits and U = 10 µm."""
    block = gauged(reads(*[0] * 4, u=4 * UM), None, True)
    table = {36: "fail", 47: "doubtful", 58: "doubtful", 63: "pass", 109: "pass", 118: "doubtful", 134: "fail"}
    for height, verdict in table.items():
        good = reads(*[height * UM] * 4)
        assert stands(gauged(good, None, True), block, 0, Under(), LIMITS).judgement.verdict == verdict
        worse = "fail" if verdict == "fail" else "doubtful"
        bad = {
            "three": good[:3],
            "cold": reads(*[height * UM] * 4, at=None),
            "marked": reads(*[height * UM] * 4, marks=("gauge out of date",)),
            "apart": [*good, Read(9, 12, (height + 30) * UM, 3 * UM, COLD, COLD, STEEL)],
        }
        for what, rows in bad.items():
            judgement = stands(gauged(rows, None, True), block, 0, Under(), LIMITS).judgement
            assert (judgement.verdict, judgement.why != ()) == (worse, True), (what, height)


def test_turns_shims_rings_and_cuts():
    liner, block = gauged(reads(70 * UM, 80 * UM, 90 * UM, 75 * UM), None, True), gauged(reads(0, 0, 0, 0), None, True)
    assert stands(liner, block, 180, Under(), LIMITS).heights_nm == (90 * UM, 75 * UM, 70 * UM, 80 * UM)
    under = Under(shim_nm=20 * UM, ring_nm=5 * UM, cut_nm=10 * UM)
    assert stands(liner, block, 0, under, LIMITS).heights_nm == (85 * UM, 95 * UM, 105 * UM, 90 * UM)
    for turn in (90, 45, 360):
        refused("heights-unusable", stands, liner, block, turn, Under(), LIMITS)
    # a liner read at 12 and 6 only meets a bore at 12, 3, 6, 9 at two hours: doubtful
    two = stands(gauged(reads(70 * UM, 90 * UM, hours=(12, 6)), None, True), block, 180, Under(), LIMITS)
    assert (two.hours, two.heights_nm, two.judgement.verdict) == ((12, 6), (90 * UM, 70 * UM), Verdict.DOUBTFUL)
    refused("height-not-read", stands, gauged(reads(1, hours=(1,)), None, True), block, 0, Under(), LIMITS)
    refused("height-not-read", stands_directly, NOTHING, LIMITS)
    over = stands_directly(gauged(reads(70 * UM, 70 * UM, 70 * UM, 70 * UM, u=5 * UM), None, False), LIMITS)
    assert (over.allowance_nm, over.judgement.verdict, over.ids) == (10 * UM, Verdict.PASS, (1, 2, 3, 4))
    assert common_hours([]) == ()
    body = said(over, 0, Under())
    assert (body["verdict"], body["factor"], len(body["points"]), body["points"][1]["hour"]) == ("pass", 2, 4, 3)


def test_what_is_not_set_under_a_liner():
    limits = HeightLimits(50 * UM, 120 * UM, 30 * UM, shims_nm=(50 * UM,))
    assert (recut_most_nm(Facts()), recut_most_nm(Facts(shims=Shims((50 * UM,), 250 * UM)))) == (0, 250 * UM)
    check_under(Under(shim_nm=50 * UM, cut_nm=250 * UM), 250 * UM, limits)
    ringed = HeightLimits(20 * UM, 120 * UM, 40 * UM, rings_nm=(900 * UM, MM))
    check_under(Under(ring_nm=MM), 0, ringed)
    bad = [
        (Under(shim_nm=40 * UM), limits),
        (Under(shim_nm=50 * UM, ledge_cracked=True), limits),
        (Under(cut_nm=250 * UM + 1), limits),
        (Under(ring_nm=MM), limits),
        (Under(), ringed),
        (Under(ring_nm=950 * UM), ringed),
    ]
    for under, its in bad:
        refused("stack-refused", check_under, under, 250 * UM, its)
    refused("stack-refused", check_under, Under(cut_nm=1), 0, limits)


def test_a_verdict_does_not_depend_on_the_order_of_readings():
    block = gauged(reads(0, 0, 0, 0), None, True)
    rows = reads(70 * UM, 80 * UM, 90 * UM, 75 * UM)
    for shuffled in (rows[::-1], rows[2:] + rows[:2]):
        for turn in (0, 180):
            assert stands(gauged(shuffled, None, True), block, turn, Under(), LIMITS) == stands(
                gauged(rows, None, True), block, turn, Under(), LIMITS
            )


@pytest.mark.parametrize(
    ("hours", "verdict", "between"),
    [
        ((12, 3, 6, 9), Verdict.PASS, ""),
        ((1, 4, 7, 10), Verdict.PASS, ""),
        ((12, 2, 3, 6, 9), Verdict.PASS, ""),
        ((12, 1, 2, 3), Verdict.DOUBTFUL, "3 and 12"),
        ((12, 3, 6, 8), Verdict.DOUBTFUL, "8 and 12"),
        ((12, 1, 2, 3, 4, 5, 6, 7), Verdict.DOUBTFUL, "7 and 12"),
        ((5, 2, 11, 7), Verdict.DOUBTFUL, "7 and 11"),
    ],
)
def test_points_that_do_not_stand_round_a_liner_never_pass(hours, verdict, between):
    """At least four points round it (common practice): one in each quarter, so none lies more than three hours from the next."""
    liner = gauged(reads(*[93_085 * UM] * len(hours), hours=hours), None, False)
    block = gauged(reads(*[93_000 * UM] * len(hours), hours=hours), None, False)
    over = gauged(reads(*[85 * UM] * len(hours), hours=hours), None, False)
    for found in (stands(liner, block, 0, Under(), LIMITS), stands_directly(over, LIMITS)):
        assert found.judgement.verdict is verdict
        assert [
            text for text in found.judgement.why if "stand round" in text and f"between {between} o'clock" in text
        ] == [*found.judgement.why]
    low = gauged(reads(*[20 * UM] * len(hours), hours=hours), None, False)
    assert stands_directly(low, LIMITS).judgement.verdict is Verdict.FAIL


def test_a_torque_is_quoted_as_its_maker_prints_it_and_never_computed():
    """T = K·F·d would give 82.1 N·m for an M12 bolt of 84.3 mm², 580 MPa at 0.7 of it and K = 0.2 (an online calculator's worked
    example: 34.2 kN, about 82 N·m). No manual said so, so no answer says it: what is quoted stands there with its page, or nothing."""
    force_kn = Fraction("84.3") * 580 * Fraction("0.7") / 1000
    torque_nm = Fraction("0.2") * force_kn * 12
    assert (round(float(force_kn), 1), round(float(torque_nm), 1)) == (34.2, 82.1)
    assert read_amount("82.1 N·m", Dimension.TORQUE).amount == round(torque_nm * 10) * 100
    height = Protrusion(Limits(50 * UM, 120 * UM), None, None, "dry, clamped")
    assert gauging_said(Facts(protrusion=height)) == {"how": "dry, clamped", "clamping": None}
    quoted = gauging_said(Facts(protrusion=height, clamping=Clamping(4, "60 N·m", "bench book, edition 3, page 41")))
    assert quoted["clamping"] == {"bolts": 4, "torque": "60 N·m", "from": "bench book, edition 3, page 41"}
