"""One piece of a lot is kept in all: where it comes to many sites at the same moment, where several people ask for it at once, and where a
count that lost it is taken back as more of the lot comes."""

from datetime import timedelta

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import KeptPiece
from inventory.services import things
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.keep_pieces import keep_pieces
from inventory.services.receive import ReceiveLine, receive
from tests.concurrency.races import PATIENCE_S, Halfway, answers, meet_before, no_locks
from tests.databases import together
from tests.factories.keeping import rings, switch_on
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, shelf, site, stamp, stock

SITES = 4
HOUR = timedelta(hours=1)


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


def asked_by_all():
    """Ten of a lot lie there from before the shop kept any; everybody asks for one of each lot to be kept."""
    stock(PartFactory(number="RING-K", kind="O-ring"), 10, lot="B", place=shelf("R1"))
    switch_on()

    def asking(person):
        return lambda: keep_pieces(actor=person, stamp=stamp())

    return together([asking(PersonFactory()) for _ in range(SITES)])


def test_one_is_kept_when_all_ask_for_it(shop_database):
    assert len(answers(asked_by_all())) == SITES
    assert KeptPiece.objects.count() == 1


@pytest.mark.postgres_only
@pytest.mark.damages_books
def test_control_without_locks_each_keeps_one(shop_database, monkeypatch):
    """The check and the write are one statement, of which SQLite lets nobody do two at a time; on PostgreSQL nobody sees what the others
    have not yet ended."""
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.keeping._hold", SITES)
    asked_by_all()
    assert KeptPiece.objects.count() > 1


def coming_and_taken_back():
    """More of a lot comes to another site; and the count that lost its kept piece is taken back: two people's calls."""
    ring, person, other = rings(2), PersonFactory(), PersonFactory()
    facts = {"lines": [CountLine(0, item_id=ring.pk)], "looked_at": ["O-ring"], "reason": "gone"}
    lost = count(actor=person, stamp=stamp(), place="R1", **facts)
    things.make_place("K1", PlaceKind.SHELF, site=site("S1"))
    lines, supplier, later = [ReceiveLine("RING-K", 5, lot="B")], SupplierFactory().code, NOON + HOUR
    return (
        lambda: receive(actor=person, stamp=stamp(later), supplier=supplier, place="K1", lines=lines),
        lambda: correct(actor=other, stamp=stamp(later), act_id=lost.act_id, reason="the wrong bin"),
    )


def test_one_is_kept_when_it_comes_as_the_count_that_lost_it_is_taken_back(shop_database, monkeypatch):
    coming, back = coming_and_taken_back()
    halfway = Halfway(monkeypatch, "inventory.services.keeping._hold")
    ended = halfway.race(coming, back)
    assert (len(answers(ended)), halfway.overtaken) == (2, False)
    assert KeptPiece.objects.filter(end=None).count() == 1


@pytest.mark.postgres_only
@pytest.mark.damages_books
def test_control_without_locks_one_is_kept_at_either(shop_database, monkeypatch):
    """SQLite ends what is one statement before anybody else looks."""
    coming, back = coming_and_taken_back()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.keeping._hold", PATIENCE_S)
    halfway.race(coming, back)
    assert KeptPiece.objects.filter(end=None).count() == 2
