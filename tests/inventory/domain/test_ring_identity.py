"""What an unlabelled ring may be. Worked example of the demo shop (independent script): 108.3 across, flattened 3.55 x 3.41."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal, localcontext
from fractions import Fraction
from math import pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.ring_identity import (
    DENSITIES,
    MOST_MISFIT,
    PI,
    Answer,
    Measured,
    Shape,
    identify,
    root,
    volume_ul,
)
from inventory.domain.ring_sizes import RingSize, System, find_size, ring_sizes

RING = Measured(108_300_000, 250_000, (3_550_000, 3_410_000), 20_000)


def size(inside_nm: int, section_nm: int) -> RingSize:
    """A size without tolerances."""
    return RingSize("X", System.INCH, inside_nm, 0, section_nm, 0, None, None, None, None, "")


def misfit_of(name: str, ring: Measured = RING) -> str:
    answer = identify(ring, [find_size(name)])
    return f"{float((*answer.kept, *answer.next)[0].misfit):.2f}"


def test_the_worked_example() -> None:
    names = ["107.54 x 3.53", "108 x 3.5", "110 x 3.5", "110.72 x 3.53", "104.37 x 3.53", "108 x 4"]
    assert [misfit_of(name) for name in names] == ["3.68", "0.50", "11.19", "29.19", "82.81", "93.85"]
    assert f"{float(root(Fraction(355 * 341))) / 100:.3f}" == "3.479"


def test_two_are_kept_of_both_whole_tables() -> None:
    answer = identify(RING)
    assert [one.size.size for one in answer.kept] == ["108 x 3.5", "AS568-244"]
    assert answer.answer is Answer.SEVERAL
    assert answer.sentence == (
        "Metric 108 x 3.5 or inch 107.54 x 3.53 (AS568-244); cannot tell apart on a used ring; measure the groove or use "
        "the parts book; it stays unknown."
    )
    assert answer.next[0].size.size == "110 x 3.5"
    assert len(answer.next) == 4
    assert {one.kept for one in answer.next} == {False}


def test_weight_gives_volume_and_density_and_the_rubbers_of_that_density() -> None:
    weighed = {one.size.size: one.weighed for one in identify(replace(RING, weight_mg=6350)).kept}
    inch = weighed["AS568-244"]
    assert inch is not None
    assert (round(inch.volume_ul), f"{float(inch.density_mg_per_ml) / 1000:.2f}") == (3415, "1.86")
    assert inch.like == ("FKM",)
    assert inch.lowest_mg_per_ml < inch.density_mg_per_ml < inch.highest_mg_per_ml
    light = identify(replace(RING, weight_mg=4000)).kept[1].weighed
    assert light is not None
    # 1.17 g/cm3: EPDM, NBR and silicone overlap there, all of them are named
    assert light.like == ("EPDM", "NBR or HNBR", "silicone")
    none = identify(replace(RING, weight_mg=5000)).kept[1].weighed
    assert none is not None
    assert none.like == ()
    assert identify(RING).kept[0].weighed is None


def test_classes_of_density() -> None:
    # Common practice, from memory, in g/cm3: FKM 1.8-1.9, EPDM 1.1-1.2, NBR/HNBR 1.15-1.3, silicone 1.1-1.3
    assert DENSITIES == (
        ("FKM", 1800, 1900),
        ("EPDM", 1100, 1200),
        ("NBR or HNBR", 1150, 1300),
        ("silicone", 1100, 1300),
    )


def test_one_size_near_is_no_proof_either_and_none_is_said() -> None:
    answer = identify(RING, [find_size("108 x 3.5")])
    assert (answer.answer, answer.sentence) == (
        Answer.ONE,
        "Of the tables only metric 108 x 3.5 is near; that is no proof: use the parts book; it stays unknown.",
    )
    none = identify(RING, [find_size("108 x 4")])
    assert (none.answer, none.kept) == (Answer.NONE, ())
    assert none.sentence.endswith("it stays unknown.")


@pytest.mark.parametrize("shape", [Shape.SQUARE, Shape.D])
def test_square_and_d_sections_are_not_judged(shape: Shape) -> None:
    answer = identify(replace(RING, shape=shape))
    assert (answer.answer, answer.kept, answer.next) == (Answer.NOT_JUDGED, (), ())
    assert shape in answer.sentence


def test_a_ring_in_its_groove_is_not_judged() -> None:
    answer = identify(replace(RING, in_groove=True))
    assert (answer.answer, answer.kept) == (Answer.NOT_JUDGED, ())


def test_swell_only_adds_sizes() -> None:
    dry = {one.size.size for one in identify(RING).kept}
    wet = identify(replace(RING, may_be_swollen=True))
    assert dry < {one.size.size for one in wet.kept}
    assert {one.size.size: one.swell for one in wet.kept if one.size.size in dry} == dict.fromkeys(dry, 0)
    assert all(0 < one.swell <= Fraction(8, 100) for one in wet.kept if one.size.size not in dry)


def test_a_swollen_ring_is_found_by_its_dry_size() -> None:
    # 104.37 x 3.53, grown by 4 % both ways
    ring = Measured(108_544_800, 100_000, (3_671_200,), 20_000, may_be_swollen=True)
    found = {one.size.size: one.swell for one in identify(ring).kept}
    assert found["AS568-243"] == Fraction(4, 100)
    assert "AS568-243" not in {one.size.size for one in identify(replace(ring, may_be_swollen=False)).kept}
    shrunk = Measured(100_000_000, 100_000, (3_380_000,), 20_000, may_be_swollen=True)
    assert "AS568-243" not in {one.size.size for one in identify(shrunk).kept}


def test_the_limit_itself_is_kept_and_less_is_not() -> None:
    # Off by 3 uncertainties of both measures: 9 + 9 = 18 exactly.
    ring = Measured(103_000_000, 1_000_000, (4_300_000,), 100_000)
    near = [size(100_000_000, 4_000_000)]
    assert identify(ring, near, most_misfit=Fraction(18)).kept
    assert not identify(ring, near, most_misfit=Fraction(18) - Fraction(1, 10**30)).kept


def test_an_irrational_section_is_decided_where_rounding_would_not() -> None:
    # c = sqrt(2) mm against 1 mm, u 1 mm: misfit 3 - 2 sqrt(2) = 0.17157287525380990239662255158060...
    ring = Measured(10_000_000, 1_000_000, (1_000_000, 2_000_000), 1_000_000)
    near = [size(10_000_000, 1_000_000)]
    with localcontext() as context:
        context.prec = 60
        exact = Fraction(3 - 2 * Decimal(2).sqrt())
    tiny = Fraction(1, 10**50)
    assert identify(ring, near, most_misfit=exact + tiny).kept
    assert not identify(ring, near, most_misfit=exact - tiny).kept


@given(
    st.integers(20_000_000, 140_000_000),
    st.integers(2_500_000, 4_500_000),
    st.integers(2_500_000, 4_500_000),
    st.integers(10_000, 400_000),
    st.booleans(),
)
@settings(max_examples=20, deadline=None)
def test_kept_as_a_plain_computation_keeps(inside: int, a: int, b: int, u: int, swollen: bool) -> None:
    ring = Measured(inside, u, (a, b), 20_000, may_be_swollen=swollen)
    kept = {one.size.size for one in identify(ring).kept}
    section = sqrt(a * b)
    shares = [step / 2000 for step in range(161)] if swollen else [0]
    for one in ring_sizes().values():
        formula = (0.009 * (one.inside_nm / 1e6) ** 0.95 + 0.11) * 1e6
        across = u**2 + ((formula if one.system is System.METRIC else one.inside_tolerance_nm) / 2) ** 2
        thick = 20_000**2 + (one.section_tolerance_nm / 2) ** 2
        least = min(
            (inside - one.inside_nm * (1 + t)) ** 2 / across + (section - one.section_nm * (1 + t)) ** 2 / thick
            for t in shares
        )
        if abs(least - 5.99) > 0.5:  # the steps of swell are coarse
            assert (one.size in kept) == (least < 5.99), one.size


def test_swell_and_more_uncertainty_never_narrow() -> None:
    kept = {one.size.size for one in identify(RING).kept}
    for wider in (replace(RING, inside_u_nm=500_000), replace(RING, section_u_nm=60_000)):
        assert kept <= {one.size.size for one in identify(wider).kept}


def test_volume_is_that_of_a_ring_and_pi_is_pi() -> None:
    assert float(PI) == pi
    assert float(volume_ul(107_540_000, 3_530_000)) == pytest.approx(pi**2 / 4 * (107.54 + 3.53) * 3.53**2)
    assert Fraction("5.99") == MOST_MISFIT  # any table of chi-squared: 5.991 at 95 %, two degrees of freedom


@pytest.mark.parametrize(
    "wrong",
    [
        {"inside_nm": 0},
        {"inside_nm": True},
        {"inside_u_nm": 0},
        {"inside_nm": 10_000_000_001},
        {"section_nm": (3_550_000, -1)},
        {"section_nm": ()},
        {"section_nm": (1, 2, 3)},
        {"section_u_nm": 1.5},
        {"weight_mg": 0},
        {"weight_mg": float("nan")},
    ],
)
def test_nonsense_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(DomainError) as refused:
        identify(replace(RING, **wrong))  # type: ignore[arg-type]  # wrong on purpose
    assert refused.value.code == "ring-unreadable"
