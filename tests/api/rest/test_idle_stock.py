"""`idle-stock` over HTTP: what nobody used for long."""

from datetime import timedelta

import pytest

from tests.factories.acts import held, item, picked
from tests.factories.stores import NOON, PartFactory, cart, shelf, site, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    """Ten nuts and five bolts of long ago, of which four bolts were used at noon; a pin that came at noon."""
    for number, pieces, at in (("BOLT", 5, 400), ("NUT", 10, 400), ("PIN", 1, 0)):
        stock(
            PartFactory(number=number, price_coins=30), pieces, lot="A", place=shelf("R1"), at=NOON - timedelta(days=at)
        )
    picked(held(item("BOLT", "lot=A"), cart("cart J1"), 4), 4)


def idle(client, **query):
    answer = client.read("idle-stock", **query)
    assert answer.status_code == 200, answer.content
    return [(row["part"], row["months_since_use"], row["cover_days"], row["coins"]) for row in answer.json()]


def test_what_was_never_used_comes_first_then_the_longest_idle(shop, manager):
    # Used on 15 January: eleven whole months on 14 January of the next year, twelve on the 15th. One is left, and four in a year is one in
    # 91.25 days.
    never = [("NUT", None, None, 300), ("PIN", None, None, 30)]
    assert idle(manager, on="2026-01-14") == never
    assert idle(manager, on="2026-01-15", window_days=366) == [*never, ("BOLT", 12, 91, 30)]
    assert idle(manager, on="2026-01-15", window_days=30) == [*never, ("BOLT", 12, None, 30)]
    assert idle(manager, on="2025-01-15", months=0)[-1] == ("BOLT", 0, 91, 30)


def test_a_site_by_its_own_shelves_and_its_own_use(shop, manager):
    marine = shelf("M1", at=site("QY"))
    stock(item("BOLT", "lot=A").part, 2, lot="A", place=marine, at=NOON - timedelta(days=400))
    assert idle(manager, on="2025-01-15", months=0, site="QY") == [("BOLT", None, None, 60)]
    assert ("BOLT", 0, 91, 30) in idle(manager, on="2025-01-15", months=0, site="TS")
    assert manager.read("idle-stock", site="QX").status_code == 404


@pytest.mark.parametrize("query", [{"months": "601"}, {"months": "-1"}, {"window_days": "0"}, {"on": "soon"}])
def test_what_cannot_be_asked_is_named(manager, query):
    answer = manager.read("idle-stock", **query)
    assert (answer.status_code, answer.json()["code"]) == (400, "parameter-wrong")


def test_three_parts_cost_as_many_queries_as_one(manager, django_assert_num_queries):
    for number in ("A", "B", "C"):
        stock(PartFactory(number=number), 2, lot="A", place=shelf("R1"))
        # token and person in one, what lies there, four of use, the parts
        with django_assert_num_queries(7):
            idle(manager)
