"""Two buyers' clerks: the last piece is sold once, and what was sold comes back once."""

from inventory.models import Balance
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold
from tests.concurrency.races import meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.acts import done, item
from tests.factories.stores import OwnerFactory, PartFactory, PersonFactory, quarantine, stamp, stock


def sale():
    return {"buyer": OwnerFactory().pk, "reason": "walked in", "demand": True}


def returning():
    stock(PartFactory(number="R-1"), 9, lot="A")
    quarantine("Q1")
    lines = [LeavingLine(item("R-1", "lot=A").pk, 4, "R1")]
    # Another four were sold: the books' own place would give them, only the line does not.
    done(sell_at_counter, lines=lines, **sale())
    line = done(sell_at_counter, lines=lines, **sale())["lines"][0]["line"]

    def one(person):
        return lambda: take_back_sold(
            actor=person, stamp=stamp(), line=line, amount=4, place="Q1", reason="the wrong size"
        )

    return [one(PersonFactory()) for _ in range(2)]


def apart() -> int:
    return sum(Balance.objects.filter(place__code="Q1").values_list("amount", flat=True))


def test_the_last_piece_is_sold_once_and_what_was_sold_comes_back_once(shop_database):
    assert refusals(together(returning())) == ["more-than-outstanding"]
    assert apart() == 4
    last = [LeavingLine(item("R-1", "lot=A").pk, 1, "R1")]

    words = sale()

    def selling(person):
        return lambda: sell_at_counter(actor=person, stamp=stamp(), lines=last, **words)

    assert refusals(together([selling(PersonFactory()) for _ in range(2)])) == ["not-there"]


def test_control_without_locks_it_comes_back_twice(shop_database, monkeypatch):
    calls = returning()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.off_job.check_returns", 2)
    together(calls)
    assert apart() == 8
