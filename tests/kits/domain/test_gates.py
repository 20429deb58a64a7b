"""The gate before the nozzle is cut: every no by name; tubes against draws; beads against the clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.curing import Closing
from kits.domain.gates import (
    Answers,
    No,
    TubeHere,
    answered_no,
    draw_of,
    late,
    outside,
    over_time,
    poured,
    refuse,
    shares,
    tubes_short,
)
from kits.domain.joints import Joint
from kits.domain.sealant import DEFAULT_RULES

SUMP = Joint("SUMP", "sump", ("SUMP/bead",), "SUMP/nozzle", "RTV", 18, "pressed steel", None, None, helper=False)
YES = Answers(faces_clean_dry=True, test_fit=True, dowels_in=True, bolts=18, helper=False)
#: The demo shop's sump: 245 s alone, 191 s with a helper; half of 10 and of 8 minutes; outside the sheet.
COOL = Closing(600, Fraction(300), Fraction(245), Fraction(191))
HOT = Closing(480, Fraction(240), Fraction(245), Fraction(191))
OUTSIDE = Closing(None, None, Fraction(245), Fraction(191))


def _tube(name: str, content_ul: int, nominal_ul: int = 80_000) -> TubeHere:
    return TubeHere(name, content_ul, nominal_ul)


def test_the_draw_of_the_sump() -> None:
    # worked example: 10.46 mL laid, 13.53 drawn with waste and one priming, 16.24 wanted; primed already 12.03
    draw = draw_of(10_462, DEFAULT_RULES, primed=False)
    assert (draw.laid_ul, draw.drawn_ul, round(draw.wanted_ul)) == (10_462, 13_531, 16_237)
    assert draw_of(10_462, DEFAULT_RULES, primed=True).drawn_ul == 12_031


def test_a_tube_too_empty_needs_a_second_on_the_tray() -> None:
    # worked example: 14.0 mL hold 9.2 usable, against 13.53 even without margin; 75.2 usable in a new one
    draw = draw_of(10_462, DEFAULT_RULES, primed=False)
    no = tubes_short(draw, [_tube("T1", 14_000)], DEFAULT_RULES)
    assert no is not None
    assert (
        no.why
        == "T1 gives 9.20 mL, the joint draws 13.53 mL and 16.24 mL are wanted: not enough, not even without the margin"
    )
    assert no.way_out == "Put a second tube of the same product on the tray."
    assert tubes_short(draw, [_tube("T1", 14_000), _tube("a closed tube", 80_000)], DEFAULT_RULES) is None


def test_the_margin_is_on_the_microlitre() -> None:
    # usable = content - 4800; wanted 16,237.2: content 21,038 holds it, 21,037 does not
    draw = draw_of(10_462, DEFAULT_RULES, primed=False)
    assert tubes_short(draw, [_tube("T1", 21_038)], DEFAULT_RULES) is None
    no = tubes_short(draw, [_tube("T1", 21_037)], DEFAULT_RULES)
    assert no is not None
    assert no.why.endswith("are wanted: not enough")
    assert tubes_short(draw, [], DEFAULT_RULES) == No(
        "tube", "no tube of the product is named", "Name the tube that is begun."
    )
    # two near empty tubes: 5.2 + (5.2 - 1.5 of priming) is less than wanted
    assert tubes_short(draw, [_tube("T1", 10_000), _tube("T2", 10_000)], DEFAULT_RULES) is not None


@given(st.integers(1, 40_000), st.lists(st.integers(0, 80_000), max_size=4), st.integers(0, 80_000))
@settings(max_examples=60, deadline=None)
def test_one_more_tube_never_shuts_the_gate(laid: int, contents: list[int], more: int) -> None:
    draw = draw_of(laid, DEFAULT_RULES, primed=False)
    tubes = [_tube(f"T{at}", content) for at, content in enumerate(contents)]
    if tubes and tubes_short(draw, tubes, DEFAULT_RULES) is None:
        assert tubes_short(draw, [*tubes, _tube("more", more)], DEFAULT_RULES) is None


def test_a_hot_bay_is_too_short_alone_and_long_enough_with_a_helper() -> None:
    # worked example: 245 s against 240 s; 191 s with a helper
    assert (late(COOL, SUMP, helper=False), late(HOT, SUMP, helper=True)) == (None, None)
    assert late(HOT, SUMP, helper=False) == No(
        "window", "sump: closing takes 245 s, 240 s are allowed in this bay", "Add a helper: 191 s."
    )
    slow = replace(HOT, with_helper_s=Fraction("240.25"))
    assert late(slow, SUMP, helper=True) == No(
        "window",
        "sump: closing takes 240.25 s, 240 s are allowed in this bay",
        "Wait for a cooler, drier bay, or use a product with a longer window.",
    )
    assert (late(OUTSIDE, SUMP, helper=False), outside(HOT)) == (None, None)
    no = outside(OUTSIDE)
    assert no is not None
    assert no.question == "sheet"


def test_every_no_is_named() -> None:
    assert answered_no(SUMP, YES, [], COOL) == ()
    noes = answered_no(SUMP, Answers(False, False, False, 17, False), ["1 WASHER"], HOT)
    assert [no.question for no in noes] == ["parts", "faces", "test fit", "dowels", "bolts", "helper"]
    assert noes[0].why == "not at the bench: 1 WASHER"
    assert noes[4].why == "17 bolts are counted, 18 close the joint"
    with pytest.raises(DomainError) as refused:
        refuse(SUMP, noes)
    assert refused.value.code == "gate-shut"
    assert [no["question"] for no in refused.value.values["noes"]] == [no.question for no in noes]
    assert refused.value.ways_out == ("Bring them, or ask for them, first.", "Name who helps.")
    refuse(SUMP, ())


def test_a_helper_where_the_list_says_so_or_the_clock_does() -> None:
    listed = replace(SUMP, helper=True)
    assert [no.why for no in answered_no(listed, YES, [], COOL)] == [
        "no helper is named: the list asks for a second person"
    ]
    assert [no.why for no in answered_no(SUMP, YES, [], HOT)] == ["no helper is named: alone it is not closed in time"]
    assert answered_no(listed, replace(YES, helper=True), [], HOT) == ()
    assert answered_no(SUMP, YES, [], None) == ()


def test_a_bead_on_the_limit_is_in_time() -> None:
    start = datetime(2025, 1, 15, 16, tzinfo=UTC)
    assert not over_time(start, start + timedelta(seconds=300), Fraction(300))
    assert over_time(start, start + timedelta(seconds=300, microseconds=1), Fraction(300))
    assert over_time(start, start + timedelta(days=1), Fraction(300))
    assert not over_time(start, start + timedelta(days=1), None)


def test_what_each_tube_gave_to_the_joint() -> None:
    assert shares(100, [130]) == [100]
    assert shares(100, [40, 90, 10]) == [40, 60, 0]
    assert shares(100, [30, 20]) == [30, 20]
    assert poured([("A", 60), ("B", 40)], [70, 30]) == [("A", 0, 60), ("B", 0, 10), ("B", 1, 30)]
    assert poured([("A", 60), ("B", 40)], [50]) == [("A", 0, 50)]


@given(st.lists(st.integers(1, 500), min_size=1, max_size=5), st.lists(st.integers(0, 900), min_size=1, max_size=3))
@settings(max_examples=60, deadline=None)
def test_nothing_is_poured_twice_or_lost(amounts: list[int], drawn: list[int]) -> None:
    given_ul = shares(sum(amounts), drawn)
    positions = [(f"P{at}", amount) for at, amount in enumerate(amounts)]
    rows = poured(positions, given_ul)
    assert sum(given_ul) == min(sum(amounts), sum(drawn))
    assert [sum(amount for _, at, amount in rows if at == tube) for tube in range(len(drawn))] == given_ul
    for name, amount in positions:
        assert sum(taken for where, _, taken in rows if where == name) <= amount
