"""What the stores refuse is kept as well: a place that is not there or not of the right kind, and nothing given at all."""

import pytest

from inventory.models import Act, Refusal
from inventory.services.break_set import break_set
from inventory.services.count import CountLine, count
from inventory.services.old_units import record_old_unit
from inventory.services.open_item import open_kit
from inventory.services.open_tube import open_tube
from inventory.services.receive import ReceiveLine, receive
from inventory.services.safety_sheets import sign_safety_sheets
from inventory.services.scrap import scrap
from inventory.services.withdraw_stock import withdraw_stock
from tests.factories.acts import item, refused
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, cart, shelf, stamp, stock

pytestmark = pytest.mark.django_db

#: The kind of the act, its service, what is asked besides the place, under which name the place is asked.
AT_A_PLACE = [
    ("receive", receive, {"supplier": "MAKER", "lines": [ReceiveLine("P-1", 1)]}, "place"),
    ("count", count, {"lines": [CountLine(1, part="P-1")]}, "place"),
    ("scrap", scrap, {"item_id": "P-1", "amount": 1, "reason": "bent", "who_pays": "shop"}, "place"),
    ("break set", break_set, {"part": "P-1", "serial": "S", "damaged": "liner", "reason": "fell"}, "orphan_place"),
    ("open kit", open_kit, {"item_id": "P-1", "amount": 1}, "place"),
    ("open tube", open_tube, {"item_id": "P-1", "tube_number": "T-1"}, "place"),
    ("take in old unit", record_old_unit, {"part": "P-1"}, "to_place"),
    ("withdraw stock", withdraw_stock, {"part": "P-1", "reason": "notice"}, "place"),
]


@pytest.fixture
def somebody():
    """A person in a shop with one part on a shelf."""
    SupplierFactory(code="MAKER")
    stock(PartFactory(number="P-1", tracked_by="none"), 3)
    return PersonFactory()


def kept(kind, code, actor):
    """The one refusal that is on record, and no act of its key."""
    (row,) = Refusal.objects.filter(actor=actor)
    assert (row.kind, row.code, row.recorded_at) == (kind, code, NOON)
    assert not Act.objects.filter(key=row.key).exists()
    return row


@pytest.mark.parametrize(("kind", "call", "asked", "name"), AT_A_PLACE)
def test_a_place_that_is_not_there_is_on_record(somebody, kind, call, asked, name):
    asked = {field: item(value).pk if field == "item_id" else value for field, value in asked.items()}
    refused("not-found", call, actor=somebody, **asked, **{name: "NOWHERE"})
    assert kept(kind, "not-found", somebody).values["place"] == "NOWHERE"


def test_a_delivery_to_a_cart_is_on_record(somebody):
    lines = [ReceiveLine("P-1", 1)]
    error = refused("wrong-place", receive, actor=somebody, supplier="MAKER", place=cart("C1").code, lines=lines)
    assert (error.values["place"], kept("receive", "wrong-place", somebody).values["place"]) == ("C1", "C1")


def test_a_delivery_of_nothing_or_of_too_much_is_on_record(somebody):
    for code, lines in (("nothing-given", []), ("too-many-lines", [ReceiveLine("P-1", 1)] * 2001)):
        refused(code, receive, actor=somebody, supplier="MAKER", place=shelf().code, lines=lines)
    refused("nothing-given", sign_safety_sheets, actor=somebody, parts=[])
    rows = Refusal.objects.filter(actor=somebody).order_by("pk").values_list("kind", "code")
    assert list(rows) == [
        ("receive", "nothing-given"),
        ("receive", "too-many-lines"),
        ("sign safety sheets", "nothing-given"),
    ]


def test_a_refused_place_does_not_use_the_key_up(somebody):
    once = stamp()
    lines = [ReceiveLine("P-1", 1)]
    refused("not-found", receive, actor=somebody, stamp=once, supplier="MAKER", place="NOWHERE", lines=lines)
    again = receive(actor=somebody, stamp=once, supplier="MAKER", place=shelf().code, lines=lines)
    assert (again.replayed, Act.objects.get(key=once.key).place.code) == (False, shelf().code)
