"""The cheapest cover, against the worked example and against trying everything."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.cover import Offer, cheapest_cover
from inventory.domain.errors import DomainError

# Worked example of the demo shop (invented, E7): a top set, a full set and single parts at the prices of its catalogue.
TOP = {"head gasket": 1, "manifold gasket": 1, "cover gasket": 1, "stem seal": 8}
FULL = {**TOP, "front seal": 1, "rear seal": 1, "base ring": 4}
SINGLES = {
    "head gasket": 3100,
    "manifold gasket": 650,
    "cover gasket": 980,
    "stem seal": 240,
    "front seal": 790,
    "rear seal": 1860,
    "base ring": 210,
}
NEED = {**TOP, "front seal": 1, "rear seal": 1, "base ring": 2}


def offers(*, none_of=(), packs=True):
    found = [Offer("top set", 6200, TOP, 9), Offer("full set", 10400, FULL, 9)]
    found += [Offer(part, coins, {part: 1}, 0 if part in none_of else 99) for part, coins in SINGLES.items()]
    if packs:
        found += [Offer("8 stem seals", 1520, {"stem seal": 8}, 9), Offer("10 base rings", 2000, {"base ring": 10}, 9)]
    return found


def test_two_liners_take_the_top_set_and_single_parts():
    cover = cheapest_cover(NEED, offers())
    assert (cover.cost_coins, cover.left) == (9270, ())
    assert cover.taken == (("top set", 1), ("front seal", 1), ("rear seal", 1), ("base ring", 2))


def test_all_loose_is_93_20():
    loose = [offer for offer in offers() if offer.code not in ("top set", "full set")]
    assert cheapest_cover(NEED, loose).cost_coins == 9320


def test_four_liners_cost_96_90():
    assert cheapest_cover({**NEED, "base ring": 4}, offers()).cost_coins == 9690


def test_without_a_rear_seal_on_the_shelf_the_full_set_is_opened():
    cover = cheapest_cover(NEED, offers(none_of=["rear seal"]))
    assert (cover.taken, cover.cost_coins, cover.left) == ((("full set", 1),), 10400, (("base ring", 2),))


def test_what_is_left_over_may_be_worth_something():
    need = {**TOP, "stem seal": 5}
    assert cheapest_cover(need, offers()).cost_coins == 5930
    kept = cheapest_cover(need, offers(packs=False), {"stem seal": Fraction(240)})
    assert (kept.taken, kept.cost_coins - kept.left_coins) == ((("top set", 1),), 5480)
    # with a pack of eight in single parts: 31.00 + 6.50 + 9.80 + 15.20 less three seals
    packed = cheapest_cover(need, offers()[1:], {"stem seal": Fraction(240)})
    assert packed.cost_coins - packed.left_coins == 5530


def test_need_of_nothing_takes_nothing():
    cover = cheapest_cover({"head gasket": 0}, offers())
    assert (cover.taken, cover.cost_coins, cover.left) == ((), 0, ())


def test_a_kit_that_brings_a_second_one_leaves_it_over():
    pair = [Offer("a", 10, {"x": 1, "y": 1}, 1), Offer("b", 10, {"x": 1, "z": 1}, 1)]
    cover = cheapest_cover({"x": 1, "y": 1, "z": 1}, pair)
    assert (cover.taken, cover.left) == ((("a", 1), ("b", 1)), (("x", 1),))


def test_a_pack_worth_more_than_it_costs_is_not_taken_without_end():
    cover = cheapest_cover({"ring": 1}, [Offer("ten", 50, {"ring": 10}, 5)], {"ring": Fraction(10)})
    assert cover.taken == (("ten", 1),)


def test_what_stops_it_is_named():
    with pytest.raises(DomainError) as none:
        cheapest_cover({"rear seal": 2, "front seal": 1}, [Offer("one", 5, {"rear seal": 1, "front seal": 1}, 1)])
    assert (none.value.code, none.value.values["missing"]) == ("cover-impossible", {"rear seal": 1})


@pytest.mark.parametrize(
    ("needs", "found", "values", "bad"),
    [
        ({"x": -1}, [], {}, "x"),
        ({"x": 1}, [Offer("a", -1, {"x": 1}, 1)], {}, "a"),
        ({"x": 1}, [Offer("a", 1, {}, 1)], {}, "a"),
        ({"x": 1}, [Offer("a", 1, {"x": 0}, 1)], {}, "a"),
        ({"x": 1}, [Offer("a", 1, {"x": 1}, -1)], {}, "a"),
        ({"x": 1}, [Offer("a", 1, {"x": 1}, 1), Offer("a", 2, {"x": 1}, 1)], {}, "a"),
        ({"x": 1}, [Offer("a", 1, {"x": 1}, 1)], {"x": Fraction(-1)}, "x"),
    ],
)
def test_nonsense_is_refused_by_name(needs, found, values, bad):
    with pytest.raises(DomainError) as none:
        cheapest_cover(needs, found, values)
    assert (none.value.code, none.value.values["bad"]) == ("cover-unreadable", [bad])


def by_trying(needs, found, values):
    """Cost less what is left over, of every cover from which nothing can be taken away: the least."""
    best = None
    for counts in product(*(range(offer.available + 1) for offer in found)):

        def over(counts):
            parts = {part for offer in found for part in offer.contents} | set(needs)
            return {
                part: sum(offer.contents.get(part, 0) * times for offer, times in zip(found, counts, strict=True))
                - needs.get(part, 0)
                for part in parts
            }

        def covers(counts):
            return min(over(counts).values(), default=0) >= 0

        fewer = [
            tuple(times - (at == one) for at, times in enumerate(counts)) for one in range(len(counts)) if counts[one]
        ]
        if covers(counts) and not any(map(covers, fewer)):
            cost = sum(offer.price_coins * times for offer, times in zip(found, counts, strict=True))
            cost -= sum(values.get(part, 0) * pieces for part, pieces in over(counts).items())
            best = cost if best is None else min(best, cost)
    return best


PARTS = st.sampled_from("xyz")


@given(
    needs=st.dictionaries(PARTS, st.integers(0, 4), max_size=3),
    found=st.lists(
        st.tuples(st.integers(0, 30), st.dictionaries(PARTS, st.integers(1, 3), min_size=1), st.integers(0, 3)),
        max_size=5,
    ),
    values=st.dictionaries(PARTS, st.fractions(0, 12, max_denominator=3), max_size=3),
)
def test_it_is_the_best_of_all(needs, found, values):
    made = [Offer(str(at), *one) for at, one in enumerate(found)]
    least = by_trying(needs, made, values)
    if least is None:
        with pytest.raises(DomainError, match="missing"):
            cheapest_cover(needs, made, values)
        return
    cover = cheapest_cover(needs, made, values)
    assert cover.cost_coins - cover.left_coins == least
    given_ = dict.fromkeys(needs, 0)
    by_code = {offer.code: offer for offer in made}
    for code, times in cover.taken:
        assert 0 < times <= by_code[code].available
        for part, pieces in by_code[code].contents.items():
            given_[part] = given_.get(part, 0) + pieces * times
    assert dict(cover.left) == {p: n - needs.get(p, 0) for p, n in given_.items() if n > needs.get(p, 0)}


@given(st.permutations(offers()))
def test_the_order_of_the_offers_does_not_change_the_cost(found):
    assert cheapest_cover(NEED, found).cost_coins == 9270


def test_a_long_list_is_soon_covered():
    kits = [Offer(f"kit {at}", 900, {f"p{at * 4 + one}": 2 for one in range(4)}, 3) for at in range(30)]
    loose = [Offer(f"p{at}", 150, {f"p{at}": 1}, 50) for at in range(120)]
    cover = cheapest_cover({f"p{at}": 3 for at in range(120)}, [*kits, *loose])
    assert cover.cost_coins == 30 * (900 + 4 * 150)
