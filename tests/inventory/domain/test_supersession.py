"""Replacement links: what is refused, and every route. Numbers: worked examples of the demo shop; twins search everything."""

from __future__ import annotations

import random
from collections import deque
from fractions import Fraction
from itertools import product
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.supersession import (
    BothWays,
    Fate,
    Link,
    OneToSeveral,
    OneWay,
    Unread,
    add_link,
    check_links,
    read_link,
    read_ratios,
    routes,
)

HALF, THIRD = Fraction(1, 2), Fraction(1, 3)


def leaves_of(part: str, links: list[Link]) -> set[tuple[tuple[str, Fraction], ...]]:
    return {route.leaves for route in routes(part, 1, links, {})}


def parts_of(part: str, links: list[Link]) -> list[str]:
    return sorted({leaf for route in routes(part, 1, links, {}) for leaf, _ in route.leaves})


# --- reading and refusing -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "limbs", "ratios"),
    [
        ("1:1", 1, (1,)),
        (" 1:2 ", 1, (2,)),
        ("3:1", 1, (THIRD,)),
        ("1:1+1+4", 3, (1, 1, 4)),
        ("2:3", 1, (Fraction(3, 2),)),
    ],
)
def test_ratios(text: str, limbs: int, ratios: tuple[Fraction, ...]) -> None:
    assert read_ratios(text, limbs) == ratios


@pytest.mark.parametrize("text", ["", "-", "0:1", "1:0", "1:-1", "1:1+1", "1:1.5", "1", "1:1+0", "9999999:1", "1:١"])
def test_bad_ratios(text: str) -> None:
    with pytest.raises(DomainError) as refused:
        read_ratios(text, 1)
    assert refused.value.code == "replacement-ratio"


def test_rows_of_the_demo_shops_table_and_its_two_planted_faults() -> None:
    rows = [
        ("A-501", "A-502", "one way", "1:1"),
        ("H-205", "H-206", "both ways", "1:1"),
        ("H-209", "H-213", "one way", "1:2"),
        ("L-205", "L-205", "fault", "1:1"),
        ("R-101", "R-101", "none", "1:1"),
        ("R-802", "R-111+R-112+R-113+R-114", "one to several", "1:1+1+1+1"),
        ("A-102", "A-101", "one to several", "1:4"),
    ]
    links = [read_link(*row) for row in rows]
    assert links == [
        OneWay("A-501", "A-502"),
        BothWays("H-205", "H-206"),
        OneWay("H-209", "H-213", Fraction(2)),
        Unread("L-205", "L-205", "fault"),
        Unread("R-101", "R-101", "none"),
        OneToSeveral("R-802", tuple((part, Fraction(1)) for part in ("R-111", "R-112", "R-113", "R-114"))),
        OneToSeveral("A-102", (("A-101", Fraction(4)),)),
    ]
    assert [(problem.at, problem.code, problem.refused) for problem in check_links(links)] == [
        (3, "replacement-self", True),
        (4, "replacement-kind", False),
    ]


def test_both_ways_is_one_for_one() -> None:
    with pytest.raises(DomainError, match="one for one"):
        read_link("A", "B", "both ways", "1:2")


@pytest.mark.parametrize(
    ("existing", "link", "code", "printed"),
    [
        ([], OneWay("A", "A"), "replacement-self", "A cannot"),
        ([], BothWays("A", "A"), "replacement-self", "A cannot"),
        ([], OneToSeveral("A", (("B", Fraction(1)), ("A", Fraction(1)))), "replacement-self", "A cannot"),
        ([], OneWay("A", "B", Fraction(0)), "replacement-ratio", "A: a ratio"),
        ([], OneWay("A", "B", Fraction(-1)), "replacement-ratio", "A: a ratio"),
        ([], OneToSeveral("A", ()), "replacement-ratio", "A: a ratio"),
        ([], Unread("A", "B", "perhaps"), "replacement-kind", "'perhaps'"),
        ([OneWay("A", "B")], OneWay("B", "A"), "replacement-loop", "B → A → B"),
        ([OneWay("A", "B"), OneWay("B", "C")], OneWay("C", "A"), "replacement-loop", "C → A → B → C"),
        ([OneWay("A", "B"), BothWays("B", "C")], OneWay("C", "A"), "replacement-loop", "C → A → B ↔ C"),
        ([OneWay("A", "B")], BothWays("A", "B"), "replacement-loop", "A → B ↔ A"),
        ([OneWay("A", "B")], BothWays("B", "A"), "replacement-loop", "A → B ↔ A"),
        ([BothWays("A", "B")], OneWay("A", "B"), "replacement-loop", "A → B ↔ A"),
        (
            [OneToSeveral("A", (("B", Fraction(1)), ("C", Fraction(1))))],
            OneWay("C", "A"),
            "replacement-loop",
            "C → A → C",
        ),
    ],
)
def test_refused_links(existing: list[Link], link: Link, code: str, printed: str) -> None:
    with pytest.raises(DomainError) as refused:
        add_link(existing, link)
    assert refused.value.code == code
    assert printed in refused.value.message


def test_both_ways_classes_may_close_a_ring_of_their_own_and_diamonds_are_no_loops() -> None:
    ring: list[Link] = [BothWays("A", "B"), BothWays("B", "C"), BothWays("C", "A")]
    assert check_links(ring) == ()
    diamond: list[Link] = [OneWay("A", "B"), OneWay("A", "C"), OneWay("B", "D"), OneWay("C", "D")]
    assert check_links(diamond) == ()
    assert [problem.code for problem in check_links([*diamond, OneWay("C", "D")])] == ["replacement-twice"]
    assert add_link(diamond, OneWay("D", "E")) == (*diamond, OneWay("D", "E"))


def test_a_refused_link_does_not_spoil_the_ones_after_it() -> None:
    links: list[Link] = [OneWay("A", "B"), OneWay("B", "A"), OneWay("B", "C"), OneWay("C", "A")]
    assert [(problem.at, problem.code) for problem in check_links(links)] == [
        (1, "replacement-loop"),
        (3, "replacement-loop"),
    ]


# --- routes ---------------------------------------------------------------------------------------------------------------


def test_old_asked_offers_new_and_new_asked_never_offers_old() -> None:
    links: list[Link] = [OneWay("old", "new")]
    assert parts_of("old", links) == ["new", "old"]
    (only,) = routes("new", 1, links, {"old": 99})
    assert (only.pieces, only.missing, only.available) == ((("new", 1),), (("new", 1),), False)


def test_ratios_multiply_along_the_chain_and_round_up_once() -> None:
    # worked example of the demo shop: 1 old = 2 mid, 3 mid = 1 new; 4 old are 8/3 new, issue 3, and not 4 times 1
    links: list[Link] = [OneWay("old", "mid", Fraction(2)), OneWay("mid", "new", THIRD)]
    pieces = {route.leaves[0][0]: route.pieces for route in routes("old", 4, links, {})}
    assert pieces == {"old": (("old", 4),), "mid": (("mid", 8),), "new": (("new", 3),)}


def test_equal_limbs_add_up_before_rounding() -> None:
    links: list[Link] = [
        OneToSeveral("kit", (("a", HALF), ("b", HALF)), fate=Fate.WITHDRAWN),
        OneWay("a", "c", fate=Fate.WITHDRAWN),
        OneWay("b", "c", fate=Fate.WITHDRAWN),
    ]
    (only,) = routes("kit", 3, links, {"c": 3})
    assert (only.leaves, only.pieces, only.available) == ((("c", Fraction(1)),), (("c", 3),), True)


def test_one_limb_out_of_stock_makes_the_whole_route_unavailable_and_is_named() -> None:
    links: list[Link] = [
        OneToSeveral("R-802", (("R-111", Fraction(1)), ("R-113", Fraction(1)), ("R-114", Fraction(1))))
    ]
    stock = {"R-111": 6, "R-113": 2, "R-114": 6}
    kit, contents = routes("R-802", 3, links, stock)
    assert (kit.pieces, kit.missing) == ((("R-802", 3),), (("R-802", 3),))
    assert contents.pieces == (("R-111", 3), ("R-113", 3), ("R-114", 3))
    assert (contents.missing, contents.available) == ((("R-113", 1),), False)
    assert [route.available for route in routes("R-802", 2, links, stock)] == [False, True]


def test_a_limb_that_is_replaced_itself() -> None:
    links: list[Link] = [
        OneToSeveral("kit", (("ring", Fraction(2)), ("seal", Fraction(1)))),
        OneWay("ring", "ring2", HALF),
    ]
    assert leaves_of("kit", links) == {
        (("kit", Fraction(1)),),
        (("ring", Fraction(2)), ("seal", Fraction(1))),
        (("ring2", Fraction(1)), ("seal", Fraction(1))),
    }


def test_withdrawn_is_never_offered_but_its_replacement_is() -> None:
    links: list[Link] = [OneWay("A", "B"), OneWay("B", "C", fate=Fate.WITHDRAWN)]
    assert parts_of("A", links) == ["A", "C"]
    assert parts_of("B", links) == ["C"]


def test_engine_number_conditions() -> None:
    below = OneWay("A-201", "A-203", fate=Fate.USE_BELOW, old_fits="below A4-020450")
    links: list[Link] = [below]
    old_engine = [
        route.leaves[0][0] for route in routes("A-201", 1, links, {}, fits=lambda key: key == "below A4-020450")
    ]
    assert old_engine == ["A-201", "A-203"]
    assert [route.leaves[0][0] for route in routes("A-201", 1, links, {}, fits=lambda key: False)] == ["A-203"]
    assert parts_of("A-201", links) == ["A-203"]  # nobody asked about the number: the conditional one stays away
    assert parts_of("A", [OneWay("A", "B", fate=Fate.USE_BELOW)]) == ["B"]  # below which number nobody said
    late: list[Link] = [OneWay("A", "B", new_fits="from 100")]
    assert parts_of("A", late) == ["A"]
    assert [r.leaves[0][0] for r in routes("A", 1, late, {}, fits=lambda key: key == "from 100")] == ["A", "B"]
    assert [r.leaves[0][0] for r in routes("A", 1, [OneWay("A", "B")], {}, may_use=lambda part: part != "A")] == ["B"]


def test_a_class_with_a_member_that_is_replaced_by_a_fourth_part() -> None:
    links: list[Link] = [BothWays("P1", "P2"), BothWays("P2", "P3"), OneWay("P3", "P4", Fraction(2))]
    assert parts_of("P1", links) == ["P1", "P2", "P3", "P4"]
    assert parts_of("P4", links) == ["P4"]
    by_part = {route.leaves[0][0]: route for route in routes("P1", 1, links, {})}
    assert by_part["P4"].because == ("P3 and P1 replace each other", "P4 replaces P3, 1:2")
    assert (by_part["P4"].newness, by_part["P3"].old, by_part["P2"].old) == (1, True, False)


def test_too_many_routes_are_refused_loudly() -> None:
    links: list[Link] = [OneToSeveral("kit", tuple((f"limb{i}", Fraction(1)) for i in range(10)))]
    links += [OneWay(f"limb{i}", f"new{i}") for i in range(10)]
    with pytest.raises(DomainError) as refused:
        routes("kit", 1, links, {})
    assert refused.value.code == "replacement-too-wide"


# --- twins ----------------------------------------------------------------------------------------------------------------

PARTS = "ABCDEF"


def random_links(seed: int) -> list[Link]:
    rng = random.Random(seed)
    made: list[Link] = []
    for _ in range(rng.randint(1, 8)):
        a, b, c = rng.sample(PARTS, 3)
        ratio = Fraction(rng.randint(1, 3), rng.randint(1, 3))
        fate = rng.choice((Fate.USE_UP, Fate.USE_UP, Fate.WITHDRAWN))
        no_mix = rng.choice(("", "engine"))
        kind = rng.randrange(5)
        if kind < 3:
            made.append(OneWay(a, b, ratio, fate, no_mix_on=no_mix))
        elif kind == 3:
            made.append(BothWays(a, b, no_mix))
        else:
            made.append(OneToSeveral(a, ((b, ratio), (c, Fraction(1))), fate, no_mix_on=no_mix))
    return made


def sound(links: list[Link]) -> list[Link]:
    refused = {problem.at for problem in check_links(links) if problem.refused}
    return [link for at, link in enumerate(links) if at not in refused]


def has_loop(links: list[Link]) -> bool:
    """Twin: a one-way step whose end reaches its start again, by closure over all pairs."""
    reach = {(part, part) for part in PARTS}
    directed = [(link.old, new) for link in links if isinstance(link, OneWay | OneToSeveral) for new, _ in link.limbs]
    reach |= set(directed)
    for link in links:
        if isinstance(link, BothWays):
            reach |= {(link.a, link.b), (link.b, link.a)}
    for middle, start, end in product(PARTS, repeat=3):
        if (start, middle) in reach and (middle, end) in reach:
            reach.add((start, end))
    return any((new, old) in reach for old, new in directed)


def test_loops_are_found_exactly_in_300_random_graphs() -> None:
    loops = 0
    for seed in range(300):
        accepted: list[Link] = []
        for link in random_links(seed):
            try:
                accepted = list(add_link(accepted, link))
            except DomainError as refused:
                assert refused.code == "replacement-loop", seed
                assert has_loop([*accepted, link]), seed
                loops += 1
            else:
                assert not has_loop(accepted), seed
    assert loops > 100


def rewritten(part: str, links: list[Link]) -> set[tuple[tuple[str, Fraction], ...]]:
    """Twin of the routes: rewrite one token at a time, breadth first, until nothing new appears."""
    gone = {link.old for link in links if isinstance(link, OneWay | OneToSeveral) and link.fate is Fate.WITHDRAWN}
    start = ((part, Fraction(1)),)
    seen, queue, done = {start}, deque([start]), set()
    while queue:
        tokens = queue.popleft()
        if not any(name in gone for name, _ in tokens):
            total: dict[str, Fraction] = {}
            for name, ratio in tokens:
                total[name] = total.get(name, Fraction(0)) + ratio
            done.add(tuple(sorted(total.items())))
        for at, (name, ratio) in enumerate(tokens):
            for link in links:
                news: list[tuple[str, Fraction]] = []
                if isinstance(link, BothWays) and name in (link.a, link.b):
                    news = [(link.b if name == link.a else link.a, ratio)]
                elif isinstance(link, OneWay | OneToSeveral) and link.old == name:
                    news = [(new, ratio * inner) for new, inner in link.limbs]
                if news:
                    state = tuple(sorted((*tokens[:at], *news, *tokens[at + 1 :])))
                    if state not in seen:
                        seen.add(state)
                        queue.append(state)
    return done


def test_routes_equal_the_twins_in_250_random_graphs() -> None:
    several = 0
    for seed in range(250):
        links = sound(random_links(seed))
        part = PARTS[seed % len(PARTS)]
        found = leaves_of(part, links)
        assert found == rewritten(part, links), seed
        several += any(len(leaves) > 1 for leaves in found)
    assert several > 20


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 100_000), st.integers(0, 7))
def test_pieces_are_rounded_up_once_and_nothing_old_comes_for_new(seed: int, quantity: int) -> None:
    links = sound(random_links(seed))
    for link in links:
        if isinstance(link, OneWay | OneToSeveral):
            for new, _ in link.limbs:
                assert link.old not in parts_of(new, links)
    for route in routes("A", quantity, links, {"A": 1}):
        for (leaf, ratio), (same, pieces) in zip(route.leaves, route.pieces, strict=True):
            assert (same, pieces) == (leaf, ceil(ratio * quantity))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 100_000))
def test_no_walk_returns_to_its_start_even_in_an_unchecked_graph(seed: int) -> None:
    links = random_links(seed)  # loops and all
    for route in routes("A", 1, links, {}):
        replaced = [words.split(" replaces ")[0] for words in route.because if " replaces " in words]
        assert "A" not in replaced
