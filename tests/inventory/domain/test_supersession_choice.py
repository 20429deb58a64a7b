"""Which numbers to issue. Worked examples of the demo shop, and a twin that tries every split of the quantity."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.supersession import BothWays, Fate, Link, OneToSeveral, OneWay, Route, routes
from inventory.domain.supersession_choice import Choice, Families, Shortfall, choose, mix_scope, mixed
from tests.inventory.domain.test_supersession import PARTS, random_links, sound

#: P1 may not be mixed with P2 or P3; P2 and P3 replace each other and may be mixed
WORKED: list[Link] = [OneWay("P1", "P2", no_mix_on="engine"), BothWays("P2", "P3")]


def test_worked_example_seven_and_three() -> None:
    answer = choose("P1", 10, WORKED, {"P1": 6, "P2": 7, "P3": 5})
    assert answer == Choice((("P2", 7), ("P3", 3)), ("P2 replaces P1, 1:1", "P3 and P2 replace each other"), ())


def test_six_of_the_old_do_not_fill_ten_and_are_not_filled_up_with_the_new() -> None:
    answer = choose("P1", 10, WORKED, {"P1": 6, "P2": 5, "P3": 4})
    assert isinstance(answer, Shortfall)
    assert answer.short == 1
    assert answer.families == ((("P1",), 4), (("P2", "P3"), 1))
    assert answer.because == ("P1: short by 4 of 10", "P2 with P3: short by 1 of 10")


def test_old_stock_that_reaches_is_used_up_first() -> None:
    assert choose("P1", 10, WORKED, {"P1": 10, "P2": 70, "P3": 5}) == Choice((("P1", 10),), (), ())


def test_where_mixing_is_allowed_the_old_is_used_up_and_filled_up() -> None:
    assert choose("A", 10, [OneWay("A", "B", Fraction(2))], {"A": 3, "B": 99}) == Choice(
        (("A", 3), ("B", 14)), ("B replaces A, 1:2",), ()
    )


def test_both_ways_pair_seven_and_three_fills_ten() -> None:
    assert choose("P2", 10, WORKED, {"P1": 99, "P2": 7, "P3": 5}) == Choice(
        (("P2", 7), ("P3", 3)), ("P3 and P2 replace each other",), ()
    )
    assert choose("P3", 10, WORKED, {"P1": 99, "P2": 7, "P3": 5}) == Choice(
        (("P2", 7), ("P3", 3)), ("P2 and P3 replace each other",), ()
    )


def test_new_asked_with_only_old_on_the_shelf_is_short() -> None:
    answer = choose("P2", 1, WORKED, {"P1": 99})
    assert isinstance(answer, Shortfall)
    assert answer.short == 1


def test_chain_of_thirds_issues_three_for_four() -> None:
    links: list[Link] = [
        OneWay("old", "mid", Fraction(2), Fate.WITHDRAWN),
        OneWay("mid", "new", Fraction(1, 3), Fate.WITHDRAWN),
    ]
    assert choose("old", 4, links, {"new": 3}) == Choice(
        (("new", 3),), ("mid replaces old, 1:2", "new replaces mid, 3:1"), ()
    )
    short = choose("old", 4, links, {"new": 2})
    assert isinstance(short, Shortfall)
    assert short.short == 1


def test_same_kind_on_both_banks() -> None:
    links: list[Link] = [BothWays("H-205", "H-206", no_mix_on="engine")]
    assert choose("H-206", 2, links, {"H-205": 1, "H-206": 1}) == Shortfall(
        "H-206",
        1,
        ((("H-205",), 1), (("H-206",), 1)),
        ("H-205: short by 1 of 2", "H-206: short by 1 of 2"),
    )
    assert choose("H-206", 1, links, {"H-205": 5, "H-206": 1}, already=["H-206"]) == Choice((("H-206", 1),), (), ())
    assert choose("H-206", 1, links, {"H-205": 5, "H-206": 1}) == Choice(
        (("H-205", 1),), ("H-205 and H-206 replace each other",), ()
    )


def test_a_rope_becomes_two_halves_with_the_condition_told() -> None:
    links: list[Link] = [OneWay("H-209", "H-213", Fraction(2), condition="cap groove machined", no_mix_on="engine")]
    assert choose("H-209", 1, links, {"H-213": 2}) == Choice(
        (("H-213", 2),), ("H-213 replaces H-209, 1:2",), ("cap groove machined",)
    )


def test_several_all_or_none_for_each_piece() -> None:
    links: list[Link] = [OneToSeveral("R-802", (("R-111", Fraction(1)), ("R-113", Fraction(1))))]
    assert choose("R-802", 6, links, {"R-802": 4, "R-111": 9, "R-113": 2}) == Choice(
        (("R-802", 4), ("R-111", 2), ("R-113", 2)), ("R-111 replaces R-802, 1:1", "R-113 replaces R-802, 1:1"), ()
    )
    assert isinstance(choose("R-802", 6, links, {"R-802": 4, "R-111": 9, "R-113": 1}), Shortfall)


def test_newest_breaks_the_tie_of_equal_stock() -> None:
    links: list[Link] = [OneWay("A", "B", fate=Fate.WITHDRAWN), OneWay("B", "C"), OneWay("A", "D", fate=Fate.WITHDRAWN)]
    first = choose(
        "A", 2, [OneWay("A", "B"), OneWay("A", "D"), OneWay("D", "C", fate=Fate.WITHDRAWN)], {"B": 5, "C": 5}
    )
    assert isinstance(first, Choice)
    assert first.issue == (("C", 2),)
    used_up = choose("A", 2, links, {"B": 5, "C": 5, "D": 9})
    assert isinstance(used_up, Choice)
    assert used_up.issue == (("B", 2),)  # B was replaced by C: old stock goes first


def test_ways_that_share_a_part_do_not_stand_in_each_others_way() -> None:
    # Both ways reach two; the first, with two rings a piece, would take every ring and leave the second none.
    links: list[Link] = [
        OneToSeveral("A", (("B", Fraction(1)), ("ring", Fraction(2))), Fate.WITHDRAWN),
        OneToSeveral("A", (("C", Fraction(1)), ("ring", Fraction(1))), Fate.WITHDRAWN),
    ]
    answer = choose("A", 3, links, {"B": 9, "C": 2, "ring": 4})
    assert isinstance(answer, Choice)
    assert dict(answer.issue) == {"B": 1, "C": 2, "ring": 4}


def test_nothing_asked_and_less_than_nothing() -> None:
    assert choose("A", 0, [], {}) == Choice((), (), ())
    with pytest.raises(DomainError):
        choose("A", -1, [], {})
    withdrawn = choose("A", 1, [OneWay("A", "B", fate=Fate.WITHDRAWN, new_fits="from 100")], {"A": 9, "B": 9})
    assert withdrawn == Shortfall("A", 1, (), ("No number that may be used here serves for A.",))


def test_mixed_on_a_finished_list_shows_totals_per_member() -> None:
    bolts: list[Link] = [OneWay("A-501", "A-502", no_mix_on="engine")]
    assert mixed({"A-501": 4, "A-502": 6, "A-203": 1}, bolts) == ((("A-501", 4), ("A-502", 6)),)
    assert mixed({"A-501": 0, "A-502": 10}, bolts) == ()
    assert mixed({"P1": 1, "P2": 1, "P3": 1}, WORKED) == ((("P1", 1), ("P2", 1)), (("P1", 1), ("P3", 1)))
    chain: list[Link] = [OneWay("A", "B", no_mix_on="bank"), OneWay("B", "C", no_mix_on="bank")]
    assert mixed({"A": 1, "C": 1}, chain) == ((("A", 1), ("C", 1)),)
    kit: list[Link] = [OneToSeveral("K", (("x", Fraction(1)), ("y", Fraction(1))), no_mix_on="engine")]
    assert mixed({"K": 1, "x": 1, "y": 1}, kit) == ((("K", 1), ("x", 1)), (("K", 1), ("y", 1)))


def test_where_choosing_has_to_be_done() -> None:
    chain: list[Link] = [OneWay("A", "B", no_mix_on="bank"), OneWay("B", "C", no_mix_on="engine"), OneWay("X", "Y")]
    assert [mix_scope(part, chain) for part in ("A", "B", "C", "X", "other")] == ["engine", "engine", "engine", "", ""]
    assert mix_scope("A", chain[:1]) == "bank"


# --- twin -----------------------------------------------------------------------------------------------------------------


def splits(quantity: int, ways: int) -> list[tuple[int, ...]]:
    if ways == 0:
        return [()] if quantity == 0 else []
    return [(first, *rest) for first in range(quantity + 1) for rest in splits(quantity - first, ways - 1)]


def best_by_trying(part: str, quantity: int, links: list[Link], stock: dict[str, int]) -> int | None:
    """The most old units in any allowed way to serve all of `quantity`; None when there is none."""
    families = Families(links)
    ways: list[Route] = routes(part, quantity, links, stock)
    best: int | None = None
    for split in splits(quantity, len(ways)):
        used: dict[str, Fraction] = {}
        for way, units in zip(ways, split, strict=True):
            for leaf, ratio in way.leaves if units else ():
                used[leaf] = used.get(leaf, Fraction(0)) + ratio * units
        if any(amount > stock.get(leaf, 0) for leaf, amount in used.items()):
            continue
        if any(families.apart(a, b) for a, b in combinations(used, 2)):
            continue
        old = sum(units for way, units in zip(ways, split, strict=True) if way.old)
        best = old if best is None else max(best, old)
    return best


def test_served_whenever_any_split_serves_in_300_random_cases() -> None:
    outcomes = {"served": 0, "short": 0}
    for seed in range(300):
        rng = random.Random(seed)
        links = sound(random_links(seed))
        stock = {part: rng.randint(0, 4) for part in PARTS}
        part, quantity = rng.choice(PARTS), rng.randint(1, 4)
        if len(routes(part, quantity, links, stock)) > 7:
            continue
        answer = choose(part, quantity, links, stock)
        best = best_by_trying(part, quantity, links, stock)
        assert isinstance(answer, Choice) == (best is not None), seed
        if isinstance(answer, Choice):
            assert all(pieces <= stock[leaf] for leaf, pieces in answer.issue), seed
            assert mixed(dict(answer.issue), links) == (), seed
        outcomes["served" if best is not None else "short"] += 1
    assert outcomes["served"] > 60
    assert outcomes["short"] > 60


def one_for_one(links: list[Link]) -> list[Link]:
    return [
        OneWay(link.old, link.new, fate=link.fate, no_mix_on=link.no_mix_on) if isinstance(link, OneWay) else link
        for link in links
        if not isinstance(link, OneToSeveral)
    ]


def test_as_much_old_stock_is_used_up_as_any_split_could_in_300_random_cases() -> None:
    used_up = 0
    for seed in range(300):
        rng = random.Random(seed)
        links = one_for_one(sound(random_links(seed)))
        stock = {part: rng.randint(0, 4) for part in PARTS}
        part, quantity = rng.choice(PARTS), rng.randint(1, 4)
        answer = choose(part, quantity, links, stock)
        best = best_by_trying(part, quantity, links, stock)
        assert isinstance(answer, Choice) == (best is not None), seed
        if isinstance(answer, Choice):
            replaced = {link.old for link in links if isinstance(link, OneWay)}
            old = sum(pieces for leaf, pieces in answer.issue if leaf in replaced)
            assert old == best, seed
            used_up += old > 0
    assert used_up > 30


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 100_000), st.integers(1, 6))
def test_the_order_of_the_links_does_not_change_the_pieces(seed: int, quantity: int) -> None:
    links = sound(random_links(seed))
    rng = random.Random(seed)
    stock = {part: rng.randint(0, 9) for part in PARTS}
    first = choose("A", quantity, links, stock)
    rng.shuffle(links)
    again = choose("A", quantity, links, stock)
    if isinstance(first, Choice):
        assert isinstance(again, Choice)
        assert sorted(again.issue) == sorted(first.issue)
    else:
        assert isinstance(again, Shortfall)
        assert (again.short, again.families) == (first.short, first.families)
