"""The arithmetic of a lot, without a database."""

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.places import BOOKS_ONLY, PlaceKind
from inventory.domain.whereabouts import Standings, Step, Thing, conserve, flows, used_at

KINDS = dict(enumerate(PlaceKind))
SPOT = {kind: number for number, kind in KINDS.items()}


def step(amount: int, origin: PlaceKind, target: PlaceKind, item: int = 1, act: int = 0) -> Step:
    return Step(item, amount, SPOT[origin], SPOT[target], act)


def test_a_return_to_the_supplier_does_not_lower_what_was_received():
    gross = flows(
        [step(10, PlaceKind.SUPPLIER, PlaceKind.SHELF), step(3, PlaceKind.SHELF, PlaceKind.SUPPLIER)],
        {1: Thing()},
        KINDS,
    )
    assert (gross.received_loose, gross.returned) == (10, 3)
    total = conserve(gross, Standings(loose=7), 0, 0)
    assert (total.came, total.accounted, total.difference) == (10, 10, 0)


def test_pieces_in_boxes_are_received_there_and_move_out_when_a_box_is_opened():
    things = {1: Thing(), 2: Thing(factor=2, kit=True), 3: Thing(out_of_kit=True, kit_told=True)}
    gross = flows(
        [
            step(5, PlaceKind.SUPPLIER, PlaceKind.SHELF, 2),
            step(3, PlaceKind.SHELF, PlaceKind.CONVERSION, 2),
            step(6, PlaceKind.CONVERSION, PlaceKind.SHELF, 3),
        ],
        things,
        KINDS,
    )
    assert (gross.received_loose, gross.received_in_kits, gross.missing_from_boxes) == (0, 10, 0)
    total = conserve(gross, Standings(loose=6, in_closed_kits=4), 0, 0)
    assert (total.received, total.accounted, total.difference) == (10, 10, 0)


def test_pieces_that_were_packed_here_stand_in_the_boxes_loose_or_in_boxes_before():
    things = {1: Thing(), 2: Thing(factor=2, kit=True), 3: Thing(factor=2, kit=True)}
    packed = [
        step(10, PlaceKind.SUPPLIER, PlaceKind.SHELF, 1, act=1),
        step(6, PlaceKind.SHELF, PlaceKind.CONVERSION, 1, act=2),
        step(3, PlaceKind.CONVERSION, PlaceKind.SHELF, 2, act=2),
        step(1, PlaceKind.SHELF, PlaceKind.CONVERSION, 2, act=3),
        step(1, PlaceKind.CONVERSION, PlaceKind.SHELF, 3, act=3),
    ]
    gross = flows(packed, things, KINDS)
    assert (gross.received_loose, gross.opened, gross.missing_from_boxes) == (10, 0, 0)
    assert conserve(gross, Standings(loose=4, in_closed_kits=6), 0, 0).difference == 0
    # One piece more went in than the boxes are said to hold: it is named, not lost.
    more = [*packed, step(1, PlaceKind.SHELF, PlaceKind.CONVERSION, 1, act=2)]
    assert flows(more, things, KINDS).opened == 1


def test_a_box_that_gave_too_little_is_a_difference_unless_an_unread_bag_explains_it():
    things = {2: Thing(factor=2, kit=True), 3: Thing(out_of_kit=True, kit_told=True)}
    gross = flows(
        [
            step(1, PlaceKind.SUPPLIER, PlaceKind.SHELF, 2),
            step(1, PlaceKind.SHELF, PlaceKind.CONVERSION, 2),
            step(1, PlaceKind.CONVERSION, PlaceKind.SHELF, 3),
        ],
        things,
        KINDS,
    )
    assert gross.missing_from_boxes == 1
    assert conserve(gross, Standings(loose=1), 0, 0).difference == 1
    explained = conserve(gross, Standings(loose=1), 1, 0)
    assert (explained.lot_not_read, explained.difference) == (1, 0)
    for not_read, otherwise in ((5, 0), (0, 5), (5, 5)):
        many = conserve(gross, Standings(loose=1), not_read, otherwise)
        assert (many.lot_not_read + many.read_otherwise, many.difference) == (1, 0)
    nothing = conserve(
        flows([step(2, PlaceKind.SUPPLIER, PlaceKind.SHELF)], {1: Thing()}, KINDS), Standings(loose=2), 5, 5
    )
    assert (nothing.lot_not_read, nothing.read_otherwise, nothing.difference) == (0, 0, 0)


def test_pieces_out_of_a_box_that_did_not_name_the_lot_count_as_received_when_it_was_opened():
    gross = flows([step(4, PlaceKind.CONVERSION, PlaceKind.SHELF)], {1: Thing(out_of_kit=True)}, KINDS)
    assert gross.told_by_opening == 4
    assert conserve(gross, Standings(loose=4), 0, 0).received == 4


def test_opened_tubes_and_counts_and_owners_close_the_sum():
    gross = flows(
        [
            step(10, PlaceKind.SUPPLIER, PlaceKind.SHELF),
            step(2, PlaceKind.SHELF, PlaceKind.CONVERSION),
            step(1, PlaceKind.SHELF, PlaceKind.COUNT_DIFFERENCE),
            step(3, PlaceKind.COUNT_DIFFERENCE, PlaceKind.SHELF),
            step(2, PlaceKind.BEFORE_RECORDS, PlaceKind.ENGINE),
            step(1, PlaceKind.ENGINE, PlaceKind.OWNER),
            step(1, PlaceKind.SHELF, PlaceKind.SCRAP),
        ],
        {1: Thing()},
        KINDS,
    )
    assert (gross.opened, gross.counted_short, gross.counted_over, gross.found) == (2, 1, 3, 2)
    assert (gross.given_to_owner, gross.scrapped) == (1, 1)
    assert conserve(gross, Standings(in_engines=1, loose=9), 0, 0).difference == 0


def test_of_a_bench_with_both_kinds_the_new_ones_go_into_the_engine_and_the_old_ones_to_the_claim_shelf():
    steps = [
        step(6, PlaceKind.SUPPLIER, PlaceKind.BENCH),
        step(6, PlaceKind.BEFORE_RECORDS, PlaceKind.ENGINE),
        step(6, PlaceKind.ENGINE, PlaceKind.BENCH),
        step(6, PlaceKind.BENCH, PlaceKind.QUARANTINE),
        step(5, PlaceKind.BENCH, PlaceKind.ENGINE),
        step(1, PlaceKind.BENCH, PlaceKind.SHELF),
    ]
    assert used_at(steps, KINDS) == {(1, SPOT[PlaceKind.QUARANTINE]): 6, (1, SPOT[PlaceKind.ENGINE]): 5}


ALL = sorted(PlaceKind)


@settings(max_examples=60)
@given(st.lists(st.tuples(st.sampled_from(ALL), st.sampled_from(ALL), st.integers(1, 5)), max_size=40))
def test_whatever_is_moved_adds_up(moves):
    """Loose pieces only: a naive count of every place is the twin."""
    there = dict.fromkeys(PlaceKind, 0)
    steps = []
    for origin, target, wanted in moves:
        amount = wanted if origin in BOOKS_ONLY else min(wanted, there[origin])
        if amount and origin is not target:
            there[origin] -= amount
            there[target] += amount
            steps.append(step(amount, origin, target))
    real = {kind: amount for kind, amount in there.items() if kind not in BOOKS_ONLY}
    now = Standings(in_engines=real.pop(PlaceKind.ENGINE), loose=sum(real.values()))
    assert conserve(flows(steps, {1: Thing()}, KINDS), now, 0, 0).difference == 0
    used = used_at(steps, KINDS)
    for kind, amount in there.items():
        if kind not in BOOKS_ONLY:
            assert 0 <= used.get((1, SPOT[kind]), 0) <= amount
    assert used.get((1, SPOT[PlaceKind.ENGINE]), 0) == there[PlaceKind.ENGINE]
