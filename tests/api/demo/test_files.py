"""The demo's acts are done once, however often and wherever it was broken off; what it is refused, it is told again."""

import uuid

import pytest

from api.demo.files import moment, once, stamp, told_no
from inventory.models import Act, Refusal
from inventory.queries.outcomes import outcome_of, refusal_of
from inventory.services.set_up import PlaceIn, set_up_shop
from tests.factories.stores import PersonFactory

pytestmark = pytest.mark.django_db
STAMP = stamp("a test of the demo", moment("2025-01-15", 8, 30))


def test_a_stamp_has_the_key_of_its_name_and_the_time_of_the_shop() -> None:
    assert STAMP.key == stamp("a test of the demo", moment("2024-01-01")).key != stamp("another", STAMP.occurred_at).key
    assert STAMP.occurred_at.isoformat() == STAMP.recorded_at.isoformat() == "2025-01-15T08:30:00+00:00"


def test_an_act_that_stands_in_the_books_is_not_asked_for_again_even_with_other_content() -> None:
    actor = PersonFactory()
    first = once(set_up_shop, actor=actor, stamp=STAMP, sites={"A": "One"})
    again = once(set_up_shop, actor=actor, stamp=STAMP, sites={"B": "Two"})
    assert first == again == outcome_of(STAMP.key) == {"sites": ["A"], "places": [], "settings": {}}
    assert Act.objects.filter(kind="set up shop").count() == 1


def test_a_refusal_is_told_as_it_was_the_first_time() -> None:
    given = {"actor": PersonFactory(), "stamp": STAMP, "places": [PlaceIn("E1", "engine")]}
    first = told_no(set_up_shop, **given)
    again = told_no(set_up_shop, **given | {"places": [PlaceIn("S1", "supplier")]})
    assert first == again == refusal_of(STAMP.key)
    assert first.startswith("line 1: E1: a 'engine' is not made by hand")
    assert Refusal.objects.count() == 1


def test_what_should_have_been_refused_and_was_not_is_no_answer() -> None:
    with pytest.raises(AssertionError, match="should have been refused"):
        told_no(set_up_shop, actor=PersonFactory(), stamp=STAMP, sites={"A": "One"})


def test_an_unknown_key_has_neither() -> None:
    key = uuid.uuid4()
    assert (outcome_of(key), refusal_of(key)) == (None, None)
