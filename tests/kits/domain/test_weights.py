"""Weight groups: the worked example of the demo shop, brute force on small shelves, and what no sum of weights may depend on.

The weights of the worked example are grams, pistons with pin; every answer quoted of it was found by an independent script.
"""

from dataclasses import replace
from functools import cache
from itertools import combinations, combinations_with_replacement

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from kits.domain.weights import (
    Weighed,
    WeightClass,
    Window,
    checked,
    engines_by_class,
    engines_from,
    replacement_window,
    replacements,
    window_said,
)

GRAM = 1000
SHELF = (411, 412, 414, 415, 415, 416, 418, 418, 419, 420, 421, 423)
CLASSES = tuple(WeightClass(f"{low}-{low + 4}", low * GRAM, (low + 4) * GRAM + 999) for low in (410, 415, 420))


def shelf(weights, unit=GRAM):
    """Sets S00, S01, ... in the order given."""
    return [Weighed(f"S{at:02d}", weight * unit) for at, weight in enumerate(weights)]


def in_grams(engines):
    return [[one.weight_mg // GRAM for one in engine] for engine in engines]


def test_three_engines_by_weight_and_one_by_printed_class():
    assert in_grams(engines_from(shelf(SHELF), 4, 4 * GRAM)) == [
        [411, 412, 414, 415], [415, 416, 418, 418], [419, 420, 421, 423],
    ]  # fmt: skip
    by_class = engines_by_class(shelf(SHELF), 4, 4 * GRAM, CLASSES)
    assert {name: in_grams(engines) for name, engines in by_class.items()} == {
        "410-414": [], "415-419": [[415, 415, 416, 418]], "420-424": [],
    }  # fmt: skip
    sizes = [sum(one.low_mg <= weight * GRAM <= one.high_mg for weight in SHELF) for one in CLASSES]
    assert sizes == [3, 6, 3]


def test_what_may_replace_one_of_four():
    rest = shelf((415, 416, 418))
    spares = [Weighed(f"N{weight}", weight * GRAM) for weight in (420, 411, 414, 419)]
    assert replacement_window(rest, 4 * GRAM) == Window(414 * GRAM, 419 * GRAM)
    assert window_said(rest, 4 * GRAM) == "from 414 g to 419 g"
    assert [one.serial for one in replacements(rest, spares, 4 * GRAM)] == ["N414", "N419"]
    # a milligram beyond either end
    edge = [Weighed("A", 413_999), Weighed("B", 414_000), Weighed("C", 419_000), Weighed("D", 419_001)]
    assert [one.serial for one in replacements(rest, edge, 4 * GRAM)] == ["B", "C"]


def test_a_rest_that_is_too_wide_leaves_an_empty_window_and_says_so():
    exact, wide = shelf((414, 418)), [Weighed("A", 414_000), Weighed("B", 418_001)]
    assert replacement_window(exact, 4 * GRAM) == Window(414 * GRAM, 418 * GRAM)
    assert replacement_window(wide, 4 * GRAM) is None
    assert replacements(wide, [Weighed("C", 416_000)], 4 * GRAM) == ()
    assert window_said(wide, 4 * GRAM) == "No piston fits: those that are left differ by 4.001 g already, at most 4 g."


def test_a_spread_on_the_limit_is_an_engine_and_a_milligram_more_is_none():
    assert len(engines_from([Weighed("A", 411_000), Weighed("B", 415_000)], 2, 4 * GRAM)) == 1
    assert engines_from([Weighed("A", 411_000), Weighed("B", 415_001)], 2, 4 * GRAM) == ()
    assert engines_from(shelf((1, 1, 1)), 4, 0) == engines_from([], 1, 0) == ()


def test_sets_of_one_weight_go_by_serial_number():
    mixed = [Weighed(serial, 415_000) for serial in ("S3", "S1", "S4", "S2", "S5")]
    assert [[one.serial for one in engine] for engine in engines_from(mixed, 2, 0)] == [["S1", "S2"], ["S3", "S4"]]
    assert engines_from(mixed, 2, 0) == engines_from(reversed(mixed), 2, 0)


def most(weights, pistons, spread):
    """The most engines of sorted weights, by trying every choice of sets for the lightest one, or leaving it out."""

    @cache
    def best(left):
        if len(left) < pistons:
            return 0
        found = best(left[1:])
        for others in combinations(range(1, len(left)), pistons - 1):
            if not others or left[others[-1]] - left[0] <= spread:
                found = max(found, 1 + best(tuple(one for at, one in enumerate(left) if at and at not in others)))
        return found

    return best(tuple(sorted(weights)))


def test_no_choice_serves_more_on_every_small_shelf():
    for count in range(1, 7):
        for weights in combinations_with_replacement(range(1, 6), count):
            for pistons, spread in ((1, 0), (2, 0), (2, 1), (2, 2), (3, 1), (3, 2)):
                assert len(engines_from(shelf(weights, 1), pistons, spread)) == most(weights, pistons, spread)


@given(st.lists(st.integers(1, 30), max_size=10), st.integers(1, 4), st.integers(0, 12))
def test_no_choice_serves_more(weights, pistons, spread):
    sets = shelf(weights, 1)
    engines = engines_from(sets, pistons, spread)
    assert len(engines) == most(weights, pistons, spread)
    used = [one for engine in engines for one in engine]
    assert len({one.serial for one in used}) == len(used)
    assert set(used) <= set(sets)
    for engine in engines:
        assert len(engine) == pistons
        assert max(one.weight_mg for one in engine) - min(one.weight_mg for one in engine) <= spread


@given(
    st.lists(st.integers(1, 40), max_size=24), st.integers(1, 6), st.integers(0, 12), st.integers(1, 500), st.randoms()
)
def test_the_number_of_engines_is_monotone_symmetric_and_free_of_units(weights, pistons, spread, unit, chance):
    sets = shelf(weights, 1)
    engines = engines_from(sets, pistons, spread)
    assert len(engines_from(sets, pistons, spread + 1)) >= len(engines)
    assert len(engines_from(sets, pistons + 1, spread)) <= len(engines)
    assert len(engines_from([*sets, Weighed("T", 20)], pistons, spread)) >= len(engines)
    shuffled = list(sets)
    chance.shuffle(shuffled)
    assert engines_from(shuffled, pistons, spread) == engines
    other = engines_from(shelf(weights, unit), pistons, spread * unit)
    assert [[one.serial for one in engine] for engine in other] == [
        [one.serial for one in engine] for engine in engines
    ]
    heavier = engines_from([replace(one, weight_mg=one.weight_mg + unit) for one in sets], pistons, spread)
    assert len(heavier) == len(engines)
    mirrored = engines_from([replace(one, weight_mg=41 - one.weight_mg) for one in sets], pistons, spread)
    assert len(mirrored) == len(engines)


@given(st.lists(st.integers(1, 40), min_size=1, max_size=5), st.integers(0, 15), st.integers(1, 60))
def test_a_piston_may_join_if_and_only_if_the_whole_engine_keeps_the_spread(rest, spread, weight):
    window = replacement_window(shelf(rest, 1), spread)
    together = [*rest, weight]
    assert (window is not None and window.holds(weight)) == (max(together) - min(together) <= spread)


def test_what_was_not_weighed_alike_is_never_compared():
    alike = [Weighed("A", 415_000, with_pin=False), Weighed("B", 416_000, with_pin=False)]
    assert checked(alike) == alike
    for other in (Weighed("C", 416_000), Weighed("C", 416_000, with_pin=False, with_rings=True)):
        for refused in (
            lambda other=other: checked([*alike, other]),
            lambda other=other: engines_from([*alike, other], 2, GRAM),
            lambda other=other: replacements(alike, [other], GRAM),
        ):
            with pytest.raises(DomainError) as raised:
                refused()
            assert (raised.value.code, raised.value.values["serials"][-1]) == ("weights-unusable", "C")


@pytest.mark.parametrize(
    "nonsense",
    [
        lambda: engines_from(shelf((0,)), 1, 0),
        lambda: engines_from([Weighed("A", 415.0)], 1, 0),
        lambda: engines_from([Weighed("A", float("nan"))], 1, 0),
        lambda: engines_from([Weighed("A", True)], 1, 0),
        lambda: engines_from(shelf((1, 2)), 0, 0),
        lambda: engines_from(shelf((1, 2)), 2, -1),
        lambda: engines_from([Weighed("A", 1), Weighed("A", 2)], 1, 0),
        lambda: replacement_window([], 1),
        lambda: replacement_window(shelf((1,)), -1),
        lambda: replacements(shelf((1,)), shelf((2,)), 4),  # both are S00
        lambda: engines_by_class(shelf((425,)), 1, 0, CLASSES),
        lambda: engines_by_class([], 1, 0, (CLASSES[0], replace(CLASSES[1], low_mg=CLASSES[0].high_mg))),
        lambda: engines_by_class([], 1, 0, (replace(CLASSES[0], high_mg=1),)),
    ],
)
def test_weights_and_groups_that_make_no_sense(nonsense):
    with pytest.raises(DomainError) as raised:
        nonsense()
    assert raised.value.code == "weights-unusable"
