"""Where things may be carried, what a broken set leaves, what a weighed tube holds, which lot an inner bag has."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.domain.stores import (
    Carried,
    Carry,
    InnerBag,
    check_at_hand,
    check_never_used,
    check_release,
    check_same_site,
    check_transfer,
    content_ul,
    inner_bags,
    used_in_quarantine,
)

SHELF, VAN, QUARANTINE = PlaceKind.SHELF, PlaceKind.VAN, PlaceKind.QUARANTINE
THING = Carried("A-1")


def code(call, *arguments):
    try:
        call(*arguments)
    except DomainError as error:
        return error.code
    return ""


@pytest.mark.parametrize("origin", list(PlaceKind))
@pytest.mark.parametrize("target", list(PlaceKind))
def test_only_shelf_and_quarantine_are_transfer_places_and_quarantine_is_left_by_release(origin, target):
    stores = {SHELF, QUARANTINE}
    expected = ""
    if origin not in stores or target not in stores:
        expected = "wrong-place"
    elif origin is QUARANTINE and target is not QUARANTINE:
        expected = "release-needed"
    assert code(check_transfer, THING, origin, target, "dented") == expected


def test_quarantine_wants_a_reason():
    assert code(check_transfer, THING, SHELF, QUARANTINE, "  ") == "reason-missing"
    assert code(check_transfer, THING, SHELF, SHELF, "") == ""


@pytest.mark.parametrize(
    ("thing", "expected"),
    [
        (Carried("A-1", orphan=True), "set-broken"),
        (Carried("A-1", lot_unknown=True), "lot-unknown"),
        (Carried("A-1", found=True), "lot-unknown"),
    ],
)
def test_halves_and_things_without_a_lot_go_to_quarantine_only(thing, expected):
    assert code(check_transfer, thing, SHELF, SHELF, "x") == expected
    assert code(check_transfer, thing, SHELF, QUARANTINE, "x") == ""
    assert code(check_release, thing, QUARANTINE, SHELF, 1, [2]) == expected


def test_between_two_sites_a_note_goes_along_and_a_place_of_no_site_is_near_every_one():
    assert code(check_same_site, "A-1", "TB", "QY") == "other-site"
    assert [code(check_same_site, "A-1", *ends) for ends in (("TB", "TB"), ("TB", None), (None, "QY"))] == [""] * 3


def test_a_release_needs_another_person():
    assert code(check_release, THING, QUARANTINE, SHELF, 1, [1, 2]) == "second-person-needed"
    assert code(check_release, THING, QUARANTINE, SHELF, 3, [1, 2]) == ""
    assert code(check_release, THING, QUARANTINE, VAN, 3, []) == "wrong-place"
    assert code(check_release, THING, SHELF, SHELF, 3, []) == "wrong-place"


def carries(*moves):
    """Movements from words such as "3 engine>bench"; a digit behind a word tells places of one kind apart."""
    kinds = {"engine": PlaceKind.ENGINE, "bench": PlaceKind.BENCH, "aside": QUARANTINE, "shelf": SHELF}
    kinds |= {
        "scrap": PlaceKind.SCRAP,
        "out": PlaceKind.OUTSIDE,
        "owner": PlaceKind.OWNER,
        "lost": PlaceKind.COUNT_DIFFERENCE,
    }
    ids: dict[str, int] = {}
    for move in moves:
        amount, ends = move.split(" ")
        origin, target = ends.split(">")
        one, other = (ids.setdefault(end, len(ids)) for end in (origin, target))
        yield Carry(int(amount), one, kinds[origin.rstrip("12")], other, kinds[target.rstrip("12")])


@pytest.mark.parametrize(
    ("moves", "used"),
    [
        ((), 0),
        (("3 engine>aside",), 3),
        (("3 bench>aside",), 0),
        (("2 engine>bench", "3 bench>aside"), 2),
        # The old ones leave first, whether to quarantine or to scrap; what goes to a shelf or back in is none of them.
        (("2 engine>bench", "1 bench>scrap", "3 bench>aside"), 1),
        (("2 engine>bench", "4 bench>shelf", "1 bench>engine", "3 bench>aside"), 2),
        (("2 engine>bench1", "5 bench2>aside"), 0),
        # In order of time: what was scrapped before they came was none of them.
        (("3 bench>aside", "3 aside>scrap", "3 engine>aside"), 3),
        (("3 engine>aside", "3 aside>scrap", "3 bench>aside"), 0),
        (("3 engine>aside", "2 aside>owner"), 1),
        # Two quarantine places, one story; and what was with an outside machinist.
        (("3 engine>aside1", "2 aside1>aside2"), 3),
        (("1 engine>out", "1 out>bench", "1 bench>aside"), 1),
        # Counted short and found again: the old ones come first.
        (("2 engine>aside", "2 aside>lost", "3 lost>aside"), 2),
        (("1 engine>bench", "1 bench>lost", "1 lost>shelf", "1 bench>aside"), 0),
    ],
)
def test_what_in_quarantine_was_in_an_engine(moves, used):
    assert used_in_quarantine(carries(*moves)) == used


def test_what_was_in_an_engine_is_never_stock_again():
    assert code(check_never_used, THING, 2, 5, 3) == ""
    assert code(check_never_used, THING, 3, 5, 3) == "was-in-engine"
    assert code(check_never_used, THING, 9, 5, 3) == "was-in-engine"
    assert code(check_never_used, THING, 9, 5, 0) == ""
    assert code(check_never_used, THING, 1, 0, 0) == ""


@pytest.mark.parametrize("kind", list(PlaceKind))
def test_nothing_is_broken_in_an_engine_or_in_the_books(kind):
    lying = {SHELF, QUARANTINE, PlaceKind.CART, PlaceKind.BENCH, PlaceKind.CRATE}
    assert code(check_at_hand, kind, "X", "broken") == ("" if kind in lying else "wrong-place")


def test_a_weighed_tube():
    # Worked example of the demo shop: (26.2 g − 11.5 g) / 1.32 g/mL = 11.14 mL.
    assert content_ul(26_200, 11_500, 1320, 50_000) == 11_136
    assert content_ul(11_500, 11_500, 1320, 50_000) == 0
    assert code(content_ul, 11_499, 11_500, 1320, 50_000) == "weight-below-empty"
    # 50 mL and a tenth at 1.32 g/mL weigh 72.6 g.
    assert content_ul(11_500 + 72_600, 11_500, 1320, 50_000) == 55_000
    assert code(content_ul, 11_500 + 72_602, 11_500, 1320, 50_000) == "weight-too-large"


@settings(max_examples=60)
@given(st.integers(0, 10**6), st.integers(0, 10**5), st.integers(500, 3000))
def test_the_content_is_the_nearest_whole_microlitre(content_mg, empty_mg, density):
    found = content_ul(content_mg + empty_mg, empty_mg, density, 10**9)
    assert abs(found - Fraction(content_mg * 1000, density)) <= Fraction(1, 2)


def test_the_record_of_a_closed_kit_is_taken():
    record = [InnerBag("L1", 1)]
    assert inner_bags("R-1", 1, record, "", "").bags == (InnerBag("L1", 1),)
    assert inner_bags("R-1", 1, record, "L1", "").bags == (InnerBag("L1", 1),)


def test_another_lot_on_the_bag_is_a_conflict_until_there_is_a_reason():
    record = [InnerBag("L1", 1)]
    with pytest.raises(DomainError) as refused:
        inner_bags("R-1", 1, record, "L2", "")
    assert refused.value.values == {"part": "R-1", "on_record": ["L1"], "read": "L2"}
    believed = inner_bags("R-1", 1, record, "L2", "bag read twice, by two people")
    assert (believed.bags, believed.record_said) == ((InnerBag("L2", 1),), ("L1",))


def test_what_the_record_does_not_cover_has_no_known_lot():
    assert inner_bags("R-1", 4, [InnerBag("L1", 3)], "", "").bags == (InnerBag("L1", 3), InnerBag("", 1))
    assert inner_bags("R-1", 4, [], "", "").bags == (InnerBag("", 4),)
    assert inner_bags("R-1", 4, [], "L9", "").bags == (InnerBag("L9", 4),)


@settings(max_examples=60)
@given(st.integers(1, 20), st.lists(st.integers(1, 9), max_size=4))
def test_bags_always_add_up_to_the_content(amount, recorded):
    record = [InnerBag(f"L{index}", number) for index, number in enumerate(recorded)]
    bags = inner_bags("R-1", amount, record, "", "").bags
    assert sum(bag.amount for bag in bags) == amount
    assert all(bag.amount > 0 for bag in bags)
