"""The seat of a liner by itself: even round the bore, and not cupped.

Limits as printed: counterbore depth variation at most .001 in, cupping at most .0014 in, read on a mirror of the public-domain manual
TM 5-6115-593-34. 1 in = 25.4 mm, so 0.0001 in is 2540 nm.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kits.domain.facts import Seat
from kits.domain.limits import Verdict
from kits.domain.liners import NOTHING, Gauged, Read
from kits.domain.seat import cupping_of, judge_seat

TENTH = 2540
PRINTED = Seat(10 * TENTH, 14 * TENTH)
HOURS = (12, 3, 6, 9)
EVEN = Gauged(dict.fromkeys(HOURS, 9_000_000))


def cupped(*values, uncertainty=0, hours=HOURS, **more):
    return cupping_of(
        Read(at, hour, value, uncertainty, **more)
        for at, (hour, value) in enumerate(zip(hours, values, strict=False), 1)
    )


def said(values, seat=PRINTED, depths=EVEN, **more):
    return judge_seat(seat, depths, cupped(*values, **more))


def test_the_limits_pass_and_one_base_unit_beyond_does_not():
    assert said([14 * TENTH] * 4).verdict is Verdict.PASS
    found = said([0, 0, 14 * TENTH + 1, 0])
    assert (found.verdict, found.ids) == (Verdict.FAIL, (1, 2, 3, 4))
    assert found.wrong == "it is cupped by 35.561 µm, at most 35.56 µm: recut the seat and read it again"
    for beyond, verdict in ((0, Verdict.PASS), (1, Verdict.FAIL)):
        depths = Gauged({12: 9_000_000, 3: 9_000_000, 6: 9_000_000 + 10 * TENTH + beyond, 9: 9_000_000})
        found = said([0] * 4, depths=depths)
        assert (found.verdict, bool(found.wrong)) == (verdict, verdict is Verdict.FAIL)


def test_the_gauge_takes_its_share_of_the_cupping():
    # twice 2.54 um for one gauge: passes to .0012 in, fails from above .0016 in
    for tenths, verdict in ((12, Verdict.PASS), (13, Verdict.DOUBTFUL), (16, Verdict.DOUBTFUL), (17, Verdict.FAIL)):
        assert said([tenths * TENTH] * 4, uncertainty=TENTH).verdict is verdict


@pytest.mark.parametrize(
    ("cupping", "why"),
    [
        (NOTHING, "its cupping was not read"),
        (cupped(0, 0, 0), "its cupping: read at 3 points only: at least 4 are needed"),
        (cupped(0, 0, 0, 0, hours=(12, 1, 2, 3)), "its cupping: the points do not stand round it"),
        (cupped(0, 0, 0, 0, marks=("gauge out of date",)), "its cupping: gauge out of date"),
        (cupped(0, 9_000, 0, 0, 0, hours=(12, 12, 3, 6, 9)), "its cupping: measure again at 12 o'clock"),
    ],
)
def test_what_is_not_read_well_never_passes(cupping, why):
    found = judge_seat(PRINTED, EVEN, cupping)
    assert (found.verdict, found.wrong) == (Verdict.DOUBTFUL, "")
    assert why in "; ".join(found.why)


def test_a_warm_block_says_nothing_against_so_small_a_length():
    assert said([9 * TENTH] * 4, part_mk=304_150, gauge_mk=293_150).verdict is Verdict.PASS


def test_nothing_is_asked_of_a_seat_that_its_maker_says_nothing_of():
    assert judge_seat(None, EVEN, NOTHING).verdict is Verdict.PASS
    assert judge_seat(Seat(10 * TENTH, None), EVEN, NOTHING).verdict is Verdict.PASS
    assert said([99_000_000] * 4, Seat(None, None)).verdict is Verdict.PASS


@given(
    st.lists(st.integers(0, 50_000), min_size=4, max_size=4),
    st.integers(0, 50_000),
    st.integers(0, 3),
    st.integers(0, 9_000),
)
def test_a_deeper_cup_or_a_tighter_limit_is_never_better(values, limit, at, more):
    order = list(Verdict)
    verdict = said(values, Seat(None, limit), uncertainty=1_000).verdict
    deeper = [value + more * (place == at) for place, value in enumerate(values)]
    assert order.index(said(deeper, Seat(None, limit), uncertainty=1_000).verdict) >= order.index(verdict)
    tighter = Seat(None, max(limit - more, 0))
    assert order.index(said(values, tighter, uncertainty=1_000).verdict) >= order.index(verdict)
