"""What is on hand of a part, in the shop and apart from engines."""

from datetime import date

import pytest

from inventory.domain.places import PlaceKind
from inventory.queries.stock import on_hand
from inventory.services import things
from inventory.services.holding import Promise, hold
from inventory.services.run import run
from inventory.services.stops import stop_lot
from tests.factories.moves import DAY, engine_place, item_of, lot_of, move, plans, spot
from tests.factories.stores import NOON, PartFactory, PersonFactory, bench, cart, quarantine, shelf, site, stamp, stock

pytestmark = pytest.mark.django_db


def held(item, amount: int):
    def work(act):
        hold(act, spot(cart("C1")), [Promise(item.pk, spot(shelf()).pk, amount, date(2025, 2, 3))])
        return {}

    run("hold", work, actor=PersonFactory(), stamp=stamp(NOON + DAY), request={})


def test_every_place_of_the_shop_but_engines_with_what_is_free_and_what_is_apart():
    ring, other = PartFactory(number="RING", life={"from": "cure", "years": 7}), PartFactory(number="OTHER")
    stock(ring, 20, lot="A", cure_code="3Q22")
    stock(ring, 5, lot="B", cure_code="1Q22")
    stock(other, 9, lot="A")
    item, home = item_of(ring, lot="A"), spot(shelf())
    move((item, 2, home, spot(engine_place("E-1"), "CYL-1/ring")), at=NOON + DAY)
    move((item, 1, home, spot(bench("B1"))), at=NOON + DAY)
    move((item, 3, home, spot(quarantine())), at=NOON + DAY)
    move((item, 1, home, spot(PlaceKind.SCRAP)), at=NOON + DAY)
    move((item, 4, home, spot(shelf("Z1", at=site("AA")))), at=NOON + DAY)
    held(item, 2)
    # ISO 2230 group B: 7 years, counted here from the first day of the cure quarter.
    first, second = date(2029, 7, 1), date(2029, 1, 1)
    assert [(row.site, row.place, row.lot, row.use_by, row.amount, row.held, row.free, row.apart) for row in on_hand(ring.pk)] == [
        ("AA", "Z1", "A", first, 4, 0, 4, False),
        ("TS", "B1", "A", first, 1, 0, 0, False),
        ("TS", "Q1", "A", first, 3, 0, 0, True),
        ("TS", "R1", "B", second, 5, 0, 5, False),
        ("TS", "R1", "A", first, 9, 2, 7, False),
    ]  # fmt: skip


def test_a_stopped_lot_is_on_hand_and_not_free():
    ring = PartFactory(number="RING")
    stock(ring, 20, lot="A")
    stop_lot(actor=PersonFactory(), stamp=stamp(NOON + DAY), lot_id=lot_of(ring, "A").pk, reason="leaks")
    assert [(row.amount, row.free, row.stopped) for row in on_hand(ring.pk)] == [(20, 0, True)]


@pytest.mark.parametrize("lots", [1, 3])
def test_two_queries_whatever_the_answer(lots, django_assert_num_queries):
    ring = PartFactory(number="RING")
    for number in range(lots):
        stock(ring, 2, lot=f"L{number}")
    with django_assert_num_queries(2):
        assert len(on_hand(ring.pk)) == lots


def test_it_is_found_by_the_index_that_leaves_engines_out():
    ring = PartFactory(number="RING")
    stock(ring, 502, lot="A")
    bolts = things.spots(engine_place("E-1"), [f"HEAD/bolt-{n}" for n in range(500)])
    item = item_of(ring, lot="A")
    move(*[(item, 1, spot(shelf()), bolt) for bolt in bolts.values()], kind="fit", at=NOON + DAY)
    assert "balance_on_hand_part" in plans(lambda: on_hand(ring.pk))
