"""Two people sign for one transfer note, or explain the same thing in transit: it comes once."""

from inventory.domain.transfers import How
from inventory.models import Balance
from inventory.services.explain_transfer import explain_in_transit
from inventory.services.take_transfer import TakeLine, take_in
from tests.concurrency.races import meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.stores import PersonFactory, stamp
from tests.factories.vans import road


def signing(note):
    def one(person):
        return lambda: take_in(actor=person, stamp=stamp(), note=note, lines=[TakeLine(1, 2, "Y1")])

    return [one(PersonFactory()) for _ in range(2)]


def at(place: str) -> int:
    return sum(Balance.objects.filter(place__code=place).values_list("amount", flat=True))


def test_a_note_is_signed_for_once_and_what_is_missing_is_explained_once(shop_database):
    way = road()
    note = way.sent()
    assert refusals(together(signing(note))) == ["done-already"]
    assert (at("Y1"), at("VAN")) == (2, 2)

    def explaining(person):
        words = {"how": How.COUNTED_SHORT, "amount": 2, "reason": "not there"}
        return lambda: explain_in_transit(actor=person, stamp=stamp(), note=note, line=1, **words)

    ended = together([explaining(PersonFactory()) for _ in range(2)])
    assert refusals(ended) == ["more-than-outstanding"]
    assert (at("VAN"), at("(count difference)")) == (0, 2)


def test_control_without_locks_a_note_is_signed_for_twice(shop_database, monkeypatch):
    way = road()
    note = way.sent()
    calls = signing(note)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.take_transfer.ask_where_it_lies", 2)
    together(calls)
    assert at("Y1") == 4
