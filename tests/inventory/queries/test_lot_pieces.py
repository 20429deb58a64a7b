"""How many pieces of a lot were there to be looked at: not those in engines and closed kits, and without a number where it is measured."""

from datetime import timedelta

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import Lot, Place
from inventory.queries.lot_pieces import pieces_on_hand
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.run import run
from tests.factories.acts import held, item, picked
from tests.factories.stores import NOON, PersonFactory, cart, shelf, stamp, stock
from tests.factories.stores_kits import closed_kits, kit

pytestmark = pytest.mark.django_db


def moved(its, amount, goes, at=NOON):
    def work(act):
        post(act, [Move(its, amount, things.spot(shelf("R1")), things.spot(goes))])
        return {}

    run("move for a test", work, actor=PersonFactory(), stamp=stamp(at), request={})


def test_what_lies_in_engines_and_closed_kits_is_no_sample_and_what_lies_on_carts_is():
    kit("K-1", {"R-9": 4})
    closed_kits("K-1", 2, lot="K1", inner={"R-9": "B1"})
    row = Lot.objects.get(code="B1")
    assert pieces_on_hand(row.pk, NOON) == 0
    stock(row.part, 6, lot="B1")
    ring = item("R-9", "lot=B1")
    picked(held(ring, cart("cart J1"), 2), 2)
    engine = Place.objects.create(code="engine 1", kind=PlaceKind.ENGINE, real=True)
    moved(ring, 3, engine, NOON + timedelta(hours=2))
    assert pieces_on_hand(row.pk, NOON + timedelta(hours=1)) == 6
    assert pieces_on_hand(row.pk, NOON + timedelta(hours=2)) == 3
    assert pieces_on_hand(0, NOON) == 0
