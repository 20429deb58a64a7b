"""Thrust washers by end float. Thicknesses and limits are made up."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits
from kits.domain.thrust import ThrustChoice, Washer, choose_washers, room_of

THIN, THICK = Washer("T-1", 2_310_000), Washer("T-2", 2_360_000)
LIMITS = Limits(80_000, 200_000)


def test_thicker_washers_take_up_a_worn_face():
    room = room_of(260_000, [THIN, THIN])
    assert room == 4_880_000
    # Thin both: 0.260; one thick: 0.210; thick both: 0.160.
    assert choose_washers(room, {THIN: 2, THICK: 2}, LIMITS) == ThrustChoice((THICK, THICK), 160_000)
    with pytest.raises(DomainError) as caught:
        choose_washers(room, {THIN: 2, THICK: 1}, LIMITS)
    assert (caught.value.code, caught.value.values["miss_nm"]) == ("bearing-impossible", 10_000)


def test_washers_that_are_bought_as_a_pair_stay_a_pair():
    room, stock = 4_800_000, {THIN: 2, THICK: 2}
    # One of each leaves 0.130, nearest the middle of 0.140; a thin pair leaves 0.180, a thick pair 0.080.
    assert choose_washers(room, stock, LIMITS).washers == (THIN, THICK)
    assert choose_washers(room, stock, LIMITS, alike=True) == ThrustChoice((THIN, THIN), 180_000)


def test_a_limit_itself_passes():
    for play, fits in ((80_000, True), (200_000, True), (79_999, False), (200_001, False)):
        try:
            found = choose_washers(THIN.thickness_nm + play, {THIN: 1}, LIMITS, faces=1)
        except DomainError as error:
            assert (error.code, fits) == ("bearing-impossible", False)
        else:
            assert (found.end_float_nm, fits) == (play, True)


@settings(max_examples=60)
@given(st.integers(1, 60), st.dictionaries(st.integers(1, 12), st.integers(0, 2), max_size=5), st.sampled_from([1, 2]))
def test_against_a_twin_that_tries_every_pair(room, sorts, faces):
    stock = {Washer(f"W{size:02}", size): pieces for size, pieces in sorts.items()}
    limits = Limits(3, 8)
    every = []
    for chosen in product(stock, repeat=faces):
        play = room - sum(one.thickness_nm for one in chosen)
        ordered = tuple(sorted(chosen, key=lambda one: one.thickness_nm))
        if all(chosen.count(one) <= stock[one] for one in chosen) and 3 <= play <= 8:
            apart = ordered[-1].thickness_nm - ordered[0].thickness_nm
            every.append((abs(2 * play - 11), apart, ordered[0].thickness_nm, [one.part for one in ordered], play))
    try:
        found = choose_washers(room, stock, limits, faces=faces)
    except DomainError as error:
        assert (error.code, every) == ("bearing-impossible", [])
        return
    assert ([one.part for one in found.washers], found.end_float_nm) == min(every)[3:]


@pytest.mark.parametrize(
    ("room", "stock", "limits", "faces"),
    [
        (0, {THIN: 1}, LIMITS, 1),
        (10, {THIN: -1}, LIMITS, 1),
        (10, {THIN: True}, LIMITS, 1),
        (10, {Washer("T", 0): 1}, LIMITS, 1),
        (10, {THIN: 1}, Limits(None, 1), 1),
        (10, {THIN: 1}, LIMITS, 3),
        (10, {THIN: 1}, LIMITS, True),
    ],
)
def test_nonsense_is_refused(room, stock, limits, faces):
    with pytest.raises(DomainError) as caught:
        choose_washers(room, stock, limits, faces=faces)
    assert caught.value.code == "bearing-unreadable"
