"""Clearances and ring gaps from readings: the worked example, doubts that never leave a pass, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.domain.errors import DomainError
from kits.domain.allowance import RULE
from kits.domain.clearances import RingLimits
from kits.domain.facts import Facts
from kits.domain.judging import Judged, guarded, judge_clearance, judge_gaps, mm
from kits.domain.limits import Limits
from tests.factories.reads import bore, read, taken

UM = 1000
FACTS = Facts(
    piston_clearance=Limits(90 * UM, 120 * UM),
    piston_measured_at_nm=14_000_000,
    ring_gaps=(
        RingLimits("top", Limits(300 * UM, 450 * UM), 900 * UM),
        RingLimits("oil", Limits(250 * UM, 600 * UM), 1000 * UM),
    ),
)
PISTON: dict[str, Any] = {"what": "piston-diameter", "value_um": 85_905, "point": "14 mm"}


def clearance(*sizes_um: int, piston: dict[str, Any] | None = None, **more: Any) -> Judged:
    return judge_clearance(taken(*bore(*sizes_um), read(**PISTON | (piston or {}))), FACTS, "CYL-1", **more)


def test_the_worked_example() -> None:
    # Worked example of the demo shop: 86.015 - 85.905 = 0.110. U = 2·√(3² + 2²) = 7.211 µm, so 0.090 to 0.120 is kept from 0.0973 to
    # 0.1127: a pass.
    found = clearance(86_015, 86_015, 86_015, 86_015)
    said = found.document
    assert (found.verdict, said["verdict"], said["why"]) == ("pass", "pass", [])
    assert (said["least_nm"], said["most_nm"], said["clearance"]) == (110_000, 110_000, "0.110 mm")
    assert (said["rule"], said["factor"], said["allowance_nm"]) == (RULE, 2, 7212)
    assert said["limits"] == {"low_nm": 90_000, "high_nm": 120_000}
    assert len(found.ids) == len(said["readings"]) == 5
    assert found.chosen == ()


@pytest.mark.parametrize(
    ("sizes_um", "verdict"),
    [
        # Limits 90 and 120 µm, U = 7.212 µm: pass from 97.212 to 112.788, fail below 82.788 and above 127.212 (by hand).
        ((86_003, 86_003, 86_003, 86_003), "pass"),
        ((86_002, 86_002, 86_002, 86_002), "doubtful"),
        ((86_017, 86_017, 86_017, 86_017), "pass"),
        ((86_018, 86_017, 86_017, 86_017), "doubtful"),
        ((86_033, 86_015, 86_015, 86_015), "fail"),
        ((86_015, 86_015, 86_015, 85_987), "fail"),
    ],
)
def test_both_ends_of_the_bore_are_held_against_the_guarded_limits(sizes_um: tuple[int, ...], verdict: str) -> None:
    assert clearance(*sizes_um).verdict == verdict


@pytest.mark.parametrize(
    ("piston", "why"),
    [
        ({"point": "30 mm"}, "the piston was not measured at the height its maker states"),
        ({"point": ""}, "the piston was not measured at the height its maker states"),
        ({"point": "skirt"}, "the piston was not measured at the height its maker states"),
        ({"marks": ("gauge out of date",)}, "gauge out of date"),
        ({"part_mk": None}, "piston: the temperature of part or gauge is missing"),
        ({"gauge_ppm": None, "part_mk": 300_000}, "piston: no coefficient of expansion of part or gauge is on record"),
    ],
)
def test_a_doubt_never_leaves_a_pass(piston: dict[str, Any], why: str) -> None:
    found = clearance(86_015, 86_015, 86_015, 86_015, piston=piston)
    assert (found.verdict, found.document["why"]) == ("doubtful", [why])
    # Nor does it make a fail any better.
    assert clearance(86_060, 86_060, 86_060, 86_060, piston=piston).verdict == "fail"


def test_a_label_that_disagrees_puts_the_set_aside() -> None:
    # More than 0.02 mm apart (common practice); 0.02 itself still agrees.
    agrees = clearance(86_015, 86_015, 86_015, 86_015, printed_nm=(86_000_000, 85_910_000))
    assert (agrees.verdict, agrees.document["printed"], agrees.document["put_aside"]) == ("pass", "0.090 mm", False)
    apart = clearance(86_015, 86_015, 86_015, 86_015, printed_nm=(86_000_000, 85_910_001))
    assert (apart.verdict, apart.document["put_aside"]) == ("doubtful", True)
    assert apart.document["why"] == ["the label of the set says 0.089999 mm: put the whole set aside and find out why"]


def test_the_piston_counts_at_its_stated_height() -> None:
    rows = [*bore(86_015, 86_015, 86_015, 86_015), read(**PISTON), read("piston-diameter", 85_700, point="60 mm")]
    assert judge_clearance(taken(*rows), FACTS, "CYL-1").document["least_nm"] == 110_000
    rows[-2] = read("piston-diameter", 85_800, point="30 mm")
    with pytest.raises(DomainError) as caught:
        judge_clearance(taken(*rows), FACTS, "CYL-1")
    assert (caught.value.code, caught.value.values["points"]) == ("reading-unusable", ["30 mm", "60 mm"])


@pytest.mark.parametrize(
    ("rows", "facts", "code"),
    [
        (bore(86_015, 86_015, 86_015, 86_015), FACTS, "readings-missing"),
        ([read(**PISTON)], FACTS, "readings-missing"),
        ([*bore(86_015, 86_015, 86_015, 86_015)[:3], read(**PISTON)], FACTS, "bore-readings-short"),
        ([read("bore-diameter", 86_015, point="top"), read(**PISTON)], FACTS, "bore-readings-short"),
        ([read("bore-diameter", 86_015), read(**PISTON)], FACTS, "bore-readings-short"),
        ([*bore(86_015, 86_015, 86_015, 86_015), read(**PISTON)], Facts(), "no-limit"),
    ],
)
def test_what_cannot_be_judged_is_refused_by_name(rows: Any, facts: Facts, code: str) -> None:
    with pytest.raises(DomainError) as caught:
        judge_clearance(taken(*rows), facts, "CYL-1")
    assert caught.value.code == code


def test_a_gauge_that_is_too_coarse() -> None:
    found = clearance(86_015, 86_015, 86_015, 86_015, piston={"uncertainty_nm": 10_000})
    assert found.verdict == "doubtful"
    assert found.document["why"] == ["the gauges are not good enough for these limits: nothing can pass"]


def gaps(top_um: int, *, used: bool = False, bore: str = "CYL-1", **more: Any) -> Judged:
    rows = taken(read("ring-gap", top_um, point="top", **more), read("ring-gap", 400, point="oil"))
    return judge_gaps(rows, FACTS, bore, used)


def test_ring_gaps_new_and_used() -> None:
    # U = 2 · 2 µm: a new top ring passes from 0.304 to 0.446, a used one to 0.896; one on the limit is doubtful.
    assert [gaps(size).verdict for size in (304, 303, 446, 447, 295, 455)] == [
        "pass", "doubtful", "pass", "doubtful", "fail", "fail",
    ]  # fmt: skip
    assert (gaps(896, used=True).verdict, gaps(897, used=True).verdict, gaps(905, used=True).verdict) == (
        "pass",
        "doubtful",
        "fail",
    )
    said = gaps(350).document["rings"]
    assert [(one["ring"], one["gap"], one["verdict"]) for one in said] == [
        ("top", "0.350 mm", "pass"),
        ("oil", "0.400 mm", "pass"),
    ]
    assert gaps(350, marks=("gauge failed its calibration",)).verdict == "doubtful"


def test_ring_gaps_that_are_refused() -> None:
    with pytest.raises(DomainError) as caught:
        gaps(350, bore="CYL-2")
    assert (caught.value.code, caught.value.values["measured_in"]) == ("ring-other-bore", "CYL-1")
    with pytest.raises(DomainError) as caught:
        judge_gaps(taken(read("ring-gap", 350, point="top")), FACTS, "CYL-1", False)
    assert (caught.value.code, caught.value.values["rings"]) == ("readings-missing", ["oil"])
    with pytest.raises(DomainError) as caught:
        judge_gaps(taken(read("ring-gap", 350, point="fire")), FACTS, "CYL-1", False)
    assert caught.value.code == "reading-unusable"
    with pytest.raises(DomainError) as caught:
        judge_gaps((), Facts(), "CYL-1", False)
    assert caught.value.code == "no-limit"


def test_guarded_limits_go_first_and_only_the_lack_of_parts_falls_back() -> None:
    def choose(limits: Limits) -> tuple[int | None, int | None]:
        if limits.low_nm != 0:
            raise DomainError("bearing-impossible", "none")
        return limits.low_nm, limits.high_nm

    assert guarded(Limits(0, 20), 5, choose) == ((0, 20), "within the limits only if nothing is allowed for the gauges")
    assert guarded(Limits(0, 20), 0, choose) == ((0, 20), "")
    assert guarded(Limits(0, 20), 11, choose)[1] == "the gauges are not good enough for these limits: nothing can pass"

    def broken(limits: Limits) -> None:
        raise DomainError("bearing-unreadable", "wrong")

    with pytest.raises(DomainError, match="wrong"):
        guarded(Limits(0, 20), 5, broken)


def test_lengths_in_words() -> None:
    assert [mm(one) for one in (11_000, 110_000, 1, -5_000_000, 0)] == [
        "0.011 mm", "0.110 mm", "0.000001 mm", "-5.000 mm", "0.000 mm",
    ]  # fmt: skip
