"""The same lot comes to two sites at the same moment: one piece of it is kept in all."""

from inventory.domain.places import PlaceKind
from inventory.models import KeptPiece
from inventory.services import things
from inventory.services.receive import ReceiveLine, receive
from tests.concurrency.races import answers
from tests.databases import together
from tests.factories.keeping import switch_on
from tests.factories.stores import PartFactory, PersonFactory, SupplierFactory, site, stamp

SITES = 4


def test_one_is_kept(shop_database):
    switch_on()
    PartFactory(number="RING-K", kind="O-ring")
    supplier = SupplierFactory().code
    for number in range(SITES):
        things.make_place(f"K{number}", PlaceKind.SHELF, site=site(f"S{number}"))

    def coming(number, person):
        lines = [ReceiveLine("RING-K", 5, lot="B")]
        return lambda: receive(actor=person, stamp=stamp(), supplier=supplier, place=f"K{number}", lines=lines)

    ended = together([coming(number, PersonFactory()) for number in range(SITES)])
    assert (len(answers(ended)), KeptPiece.objects.count()) == (SITES, 1)
