"""Four machines carry stock value forward at the same moment: one moment is carried once, and nothing is wrong."""

from datetime import timedelta

from inventory.models import PartCarried, ValueCarried
from inventory.queries.audit import audit
from inventory.services.receive import ReceiveLine
from inventory.services.value_points import carry_forward
from tests.concurrency.races import answers, damaged, meet_before, no_locks
from tests.databases import together
from tests.factories.orders import came
from tests.factories.stores import NOON, PartFactory

MACHINES = 4


def carrying():
    """A delivery of two parts; what carries it forward, once for each machine."""
    for number in ("A", "B"):
        PartFactory(number=number, tracked_by="nothing")
        came(ReceiveLine(number, 5, total_coins=500))
    today = (NOON + timedelta(days=9)).date()
    return [lambda: carry_forward(actor=None, today=today, each=1)] * MACHINES


def test_it_is_carried_once(shop_database):
    ended = together(carrying())
    assert (len(answers(ended)), len({one.answer for one in ended})) == (MACHINES, 1)
    assert (ValueCarried.objects.count(), PartCarried.objects.count(), audit()) == (1, 2, [])


def test_control_without_locks_the_database_itself_refuses_the_others(shop_database, monkeypatch):
    calls = carrying()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.value_points._drop", MACHINES)
    assert damaged(together(calls)) == MACHINES - 1
