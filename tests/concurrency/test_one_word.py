"""Two people count the two bins of a part at the same moment, each within what one person's word may change; together it is too much."""

from datetime import timedelta

from inventory.models import CountedLine, Movement
from inventory.services.count import CountLine, count
from inventory.services.scrap import scrap
from tests.concurrency.races import answers, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.acts import done, item
from tests.factories.counting import may_recount
from tests.factories.stores import NOON, PartFactory, shelf, stamp, stock

BINS = ("R1", "R2")


def counting() -> list:
    """A hundred seals in each of two bins: of both together ten may be off, of which one person changed five already, in a third bin
    that is empty by now. Each finds four less."""
    seal = PartFactory(number="SEAL")
    for place in (*BINS, "R3"):
        stock(seal, 100, lot=place, place=shelf(place), at=NOON - timedelta(days=1))
    people = [may_recount("edda"), may_recount("piet")]

    def called(person, place, amount, at):
        lines = [CountLine(amount, part="SEAL", lot=place)]
        return lambda: count(actor=person, stamp=stamp(at), place=place, lines=lines, reason="torn bag")

    called(people[0], "R3", 95, NOON)()
    why = {"reason": "mouldy", "who_pays": "shop", "no_photo": "none taken"}
    done(scrap, place="R3", item_id=item("SEAL", "lot=R3").pk, amount=95, **why)
    later = NOON + timedelta(hours=1)
    return [called(person, place, 96, later) for person, place in zip(people, BINS, strict=True)]


def taken() -> int:
    return sum(Movement.objects.filter(to_spot__place__kind="count difference").values_list("amount", flat=True))


def test_one_of_them_waits_for_a_second_person(shop_database):
    ended = together(counting())
    assert (len(answers(ended)), refusals(ended)) == (1, ["recount-needed"])
    assert taken() == 9


def test_control_without_locks_both_are_booked(shop_database, monkeypatch):
    people = counting()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.count.book", 2)
    assert len(answers(together(people))) == 2
    assert (taken(), CountedLine.objects.count()) == (13, 3)
