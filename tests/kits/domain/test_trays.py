"""Order of steps and trays: worked weights, refusals, and brute force for both."""

from __future__ import annotations

from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.trays import Laid, Placed, TrayLine, lay_out, step_order

KG = 1_000_000  # mg


def _lines(*weights_kg: float) -> list[TrayLine]:
    return [TrayLine(f"line {at}", 1, round(weight * KG)) for at, weight in enumerate(weights_kg, start=1)]


def test_worked_weights_make_five_trays() -> None:
    # worked example of the demo shop: 12 kg a tray, filled in order
    cart = lay_out(_lines(3.2, 8.4, 8.4, 2.0, 4.1, 6.5, 1.2, 0.8, 9.0, 2.6))
    assert [tray.weight_mg for tray in cart.trays] == [11_600_000, 10_400_000, 11_800_000, 9_800_000, 2_600_000]
    assert [tray.number for tray in cart.trays] == [1, 2, 3, 4, 5]
    assert [len(tray.lines) for tray in cart.trays] == [2, 2, 3, 2, 1]
    assert cart.floor == ()


def test_a_tray_is_full_by_size_before_it_is_by_weight() -> None:
    litre = 1_000_000  # µL
    lines = [
        TrayLine("gasket", 2, KG, 10 * litre),
        TrayLine("filter", 1, KG, 4 * litre),
        TrayLine("cover", 1, KG, litre),
        TrayLine("bolts", 10, 92_000),
        TrayLine("trunk", 1, KG, 24 * litre + 1),
        TrayLine("boxes", 5, KG, 11 * litre),
    ]
    cart = lay_out(lines)
    assert [[(laid.key, laid.pieces) for laid in tray.lines] for tray in cart.trays] == [
        [("gasket", 2), ("filter", 1)],
        [("cover", 1), ("bolts", 10)],
        [("boxes", 2)],
        [("boxes", 2)],
        [("boxes", 1)],
    ]
    assert [tray.size_ul for tray in cart.trays] == [litre * n for n in (24, 1, 22, 22, 11)]
    assert [tray.unsized for tray in cart.trays] == [(), ("bolts",), (), (), ()]
    # Too large for a tray is not too heavy for one person.
    assert cart.floor == (Placed("trunk", 1, KG, by_hoist=False),)


def test_floor_items_and_single_heavy_ones_stand_by_themselves() -> None:
    lines = [
        TrayLine("gasket", 1, 1 * KG),
        TrayLine("set", 4, 3 * KG, floor=True),
        TrayLine("flywheel", 1, 14 * KG, tools=("sling",)),
        TrayLine("bolts", 10, 338_000),
    ]
    cart = lay_out(lines)
    assert cart.floor == (
        Placed("set", 4, 3 * KG, by_hoist=False),
        Placed("flywheel", 1, 14 * KG, by_hoist=True, tools=("sling",)),
    )
    assert [tray.lines for tray in cart.trays] == [(Laid("gasket", 1), Laid("bolts", 10))]
    assert lay_out([TrayLine("crank", 1, 30 * KG, floor=True)]).floor[0].by_hoist is True


def test_a_line_heavier_than_a_tray_is_spread_by_pieces() -> None:
    cart = lay_out([TrayLine("small", 1, 5 * KG), TrayLine("bolts", 7, 4 * KG), TrayLine("last", 1, 8 * KG)])
    assert [tray.lines for tray in cart.trays] == [
        (Laid("small", 1),),
        (Laid("bolts", 3),),
        (Laid("bolts", 3),),
        (Laid("bolts", 1), Laid("last", 1)),
    ]
    assert lay_out([TrayLine("exact", 1, 12 * KG)]).trays[0].weight_mg == 12 * KG


def test_tools_ride_once_with_the_first_line_that_needs_them() -> None:
    lines = [
        TrayLine("a", 1, 7 * KG, tools=("puller", "gauge", "puller")),
        TrayLine("b", 1, 7 * KG, tools=("gauge", "bead gun")),
    ]
    assert [tray.tools for tray in lay_out(lines).trays] == [("puller", "gauge"), ("bead gun",)]


def test_an_unknown_weight_is_said() -> None:
    cart = lay_out([TrayLine("a", 2, None), TrayLine("b", 1, 12 * KG)])
    assert [(tray.weight_mg, tray.unweighed) for tray in cart.trays] == [(12 * KG, ("a",))]


def test_senseless_lines_are_a_defect_of_the_caller() -> None:
    assert lay_out([]).trays == ()
    for lines, *limits in (
        ([], 0),
        ([], 1, 0),
        ([TrayLine("a", 0, 1)], 1),
        ([TrayLine("a", 1, -1)], 1),
        ([TrayLine("a", 1, 1, -1)], 1),
    ):
        with pytest.raises(ValueError, match="a tray carries something"):
            lay_out(lines, *limits)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 9)), min_size=1, max_size=8))
def test_filling_in_order_gives_the_fewest_trays(things: list[tuple[int, int]]) -> None:
    """Brute force over every way to cut the order into trays that hold both weight and size."""
    cart = lay_out([TrayLine(str(at), 1, *one) for at, one in enumerate(things)], limit_mg=12, limit_ul=9)
    assert all(tray.weight_mg <= 12 and tray.size_ul <= 9 for tray in cart.trays)
    assert [laid.key for tray in cart.trays for laid in tray.lines] == [str(at) for at in range(len(things))]
    fewest = min(
        number + 1
        for number in range(len(things))
        for cuts in combinations(range(1, len(things)), number)
        if all(
            sum(one[0] for one in things[a:b]) <= 12 and sum(one[1] for one in things[a:b]) <= 9
            for a, b in zip((0, *cuts), (*cuts, len(things)), strict=True)
        )
    )
    assert len(cart.trays) == fewest


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 4), st.integers(0, 20) | st.none(), st.integers(0, 11) | st.none(), st.booleans()),
        max_size=10,
    )
)
def test_every_piece_is_on_the_cart_once_and_no_tray_is_above_one_that_an_earlier_line_needs(
    entries: list[tuple[int, int | None, int | None, bool]],
) -> None:
    lines = [TrayLine(str(at), n, weight, size, floor) for at, (n, weight, size, floor) in enumerate(entries)]
    cart = lay_out(lines, limit_mg=12, limit_ul=9)
    placed: dict[str, int] = {}
    for entry in [*cart.floor, *(laid for tray in cart.trays for laid in tray.lines)]:
        placed[entry.key] = placed.get(entry.key, 0) + entry.pieces
    assert placed == {line.key: line.pieces for line in lines}
    by_key = {line.key: line for line in lines}
    for tray in cart.trays:
        assert tray.lines and tray.weight_mg <= 12 and tray.size_ul <= 9
        assert tray.weight_mg == sum((by_key[laid.key].piece_mg or 0) * laid.pieces for laid in tray.lines)
        assert tray.size_ul == sum((by_key[laid.key].piece_ul or 0) * laid.pieces for laid in tray.lines)
        keys = [laid.key for laid in tray.lines]
        assert tray.unweighed == tuple(key for key in keys if by_key[key].piece_mg is None)
        assert tray.unsized == tuple(key for key in keys if by_key[key].piece_ul is None)
    order = [int(laid.key) for tray in cart.trays for laid in tray.lines]
    assert order == sorted(order)
    assert [entry.key for entry in cart.floor if entry.by_hoist] == [
        line.key for line in lines if (line.piece_mg or 0) > 12
    ]


def test_steps_stay_in_order_unless_they_wait() -> None:
    assert step_order([("10", []), ("15", ["10"]), ("12", []), ("20", ["15"])]) == ["10", "15", "12", "20"]
    assert step_order([("b", ["a"]), ("c", []), ("a", [])]) == ["c", "a", "b"]
    assert step_order([]) == []


def test_a_circle_of_steps_is_refused_and_named() -> None:
    with pytest.raises(DomainError) as caught:
        step_order([("10", []), ("20", ["10", "40"]), ("30", ["20"]), ("40", ["30"]), ("50", ["40"])])
    assert (caught.value.code, caught.value.values["loop"]) == ("step-loop", ["20", "30", "40"])
    assert "20 before 30 before 40 before 20" in caught.value.message
    with pytest.raises(DomainError) as caught:
        step_order([("10", ["10"])])
    assert caught.value.values["loop"] == ["10"]


def test_unknown_and_double_steps_are_refused() -> None:
    for steps in ([("10", ["5"])], [("10", []), ("10", [])]):
        with pytest.raises(DomainError) as caught:
            step_order(steps)
        assert caught.value.code == "step-unknown"


@settings(max_examples=150, deadline=None)
@given(st.integers(1, 5), st.sets(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=8))
def test_the_order_is_the_first_of_all_that_are_possible(number: int, waits: set[tuple[int, int]]) -> None:
    """Brute force: of all orders that respect the waits, the first in the order given; none when there is a circle."""
    names = [str(at) for at in range(number)]
    pairs = [(str(step), str(before)) for step, before in waits if step < number and before < number]
    steps = [(name, sorted(before for step, before in pairs if step == name)) for name in names]
    possible = [
        order for order in permutations(names) if all(order.index(before) < order.index(step) for step, before in pairs)
    ]
    if possible:
        assert step_order(steps) == list(min(possible))
        return
    with pytest.raises(DomainError) as caught:
        step_order(steps)
    loop = caught.value.values["loop"]
    assert all((later, before) in pairs for before, later in zip(loop, [*loop[1:], loop[0]], strict=True))
