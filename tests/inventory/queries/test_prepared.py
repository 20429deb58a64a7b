"""A prepared query answers as the query set that it was composed from."""

from datetime import date

import pytest
from django.db import connection
from django.db.models import Exists, OuterRef
from django.test.utils import CaptureQueriesContext

from inventory.models import Lot, Spot
from inventory.queries.prepared import Prepared
from inventory.services import things
from tests.factories.stores import PartFactory, shelf

pytestmark = pytest.mark.django_db


def test_it_answers_as_the_query_set_whatever_the_order_of_its_conditions():
    one, other = shelf("R1"), shelf("R2")
    spots = [things.spot(place, name) for place in (one, other) for name in ("-", "A")]
    asked = Prepared(
        lambda place, name: Spot.objects.select_related("place__site").filter(place=place, name=name), 0, "x"
    )
    turned = Prepared(lambda name, place: Spot.objects.filter(place=place).filter(name=name), "x", 0)
    for spot in spots:
        assert asked(spot.place_id, spot.name) == turned(spot.name, spot.place_id) == [spot]
    assert asked(one.pk, "B") == []
    with CaptureQueriesContext(connection) as captured:
        (found,) = asked(other.pk, "A")
        assert (found.place.code, found.place.site, found.place.real) == ("R2", other.site, True)
    assert len(captured) == 1


def test_days_and_what_is_left_away_are_those_of_the_query_set():
    lot = Lot.objects.create(
        part=PartFactory(number="RING", life={"years": 7}), code="L-1", compare_key="L1", expires_on=date(2029, 7, 1)
    )
    asked = Prepared(lambda pk: Lot.objects.defer("code").select_related("part").filter(pk=pk), 0)
    (found,) = asked(lot.pk)
    expected = Lot.objects.select_related("part").get(pk=lot.pk)
    assert found.get_deferred_fields() == {"code"}
    assert [getattr(found, field.attname) for field in Lot._meta.concrete_fields] == [
        getattr(expected, field.attname) for field in Lot._meta.concrete_fields
    ]
    assert (found.part, found.part.life, found.part.number) == (expected.part, expected.part.life, expected.part.number)


def test_what_is_annotated_and_what_is_always_asked_with_are_those_of_the_query_set():
    one = shelf("R1")
    for name in ("A", "B"):
        things.spot(one, name)
    same = Spot.objects.filter(place=OuterRef("place"), name=OuterRef("name")).exclude(name="B")
    asked = Prepared(
        lambda place: Spot.objects.filter(place=place).exclude(name="-").annotate(is_a=Exists(same)).order_by("name"),
        -1,
        fixed=["-", "B"],
    )
    assert [(row.name, row.is_a) for row in asked(one.pk)] == [("A", True), ("B", False)]
    with pytest.raises(RuntimeError):
        Prepared(lambda place: Spot.objects.filter(place=place).exclude(name="-"), 0, fixed=["B"])(one.pk)


@pytest.mark.parametrize(
    ("compose", "like"),
    [
        (lambda name: Spot.objects.filter(name=name, place=7), ("x",)),
        (lambda name, place: Spot.objects.filter(name=name), ("x", 0)),
        (lambda name, place: Spot.objects.filter(name=name, place=place), (1, 1)),
    ],
)
def test_a_value_that_is_no_argument_or_cannot_be_told_from_another_is_refused(compose, like):
    with pytest.raises(RuntimeError):
        Prepared(compose, *like)(*like)
