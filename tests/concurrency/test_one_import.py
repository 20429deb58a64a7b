"""Two people book the same table at once; somebody holds from a shelf to which a table is being booked."""

from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from api.tables.read import read_table
from inventory.models import Balance, ImportBooked, Movement
from inventory.services import run as run_module
from inventory.services.bring_in import book_table, keep_table, read_table_rows
from kits.services.extras import ask_for_more
from tests.concurrency.races import PATIENCE_S, WATCHED_S, Halfway, answers, damaged, no_locks, refusals, retries_seen
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

#: Four rings more of the lot that lies on the shelf, in another bin, and four of another lot.
TABLE = "part,place,spot,amount,lot\nRING,R1,A1,4,B1\nRING,R1,,4,B2\n"
#: The last that is looked at before anything of a table is written, and the first that is written when all of it stands.
BEFORE = "inventory.queries.imports.other_spellings"
AFTER = "inventory.services.bring_in.ImportBooked.objects.create"


def booking():
    """People who each book the same table of stock, which was kept and read."""
    content = TABLE.encode()
    kept = keep_table(
        actor=PersonFactory(), stamp=stamp(), kind="stock", name="t.csv", content=content, reader=read_table
    )
    number, rows = kept.body["import"], read_table(content, "t.csv").rows
    assert read_table_rows(actor=PersonFactory(), stamp=stamp(), file_id=number, rows=rows).body["accepted"] == 2

    def one(person):
        return lambda: book_table(actor=person, stamp=stamp(), file_id=number)

    return [one(PersonFactory()) for _ in range(2)]


def rings() -> tuple[int, int]:
    """(pieces, pieces held) of rings on shelf R1."""
    rows = Balance.objects.filter(part__number="RING", place__code="R1").values_list("amount", "held")
    return sum(amount for amount, _ in rows), sum(held for _, held in rows)


def holding(amount):
    """Somebody who asks for so many rings more, for a job."""
    workshop.rings(1)
    job, asker = workshop.job("J1", "RINGS").number, PersonFactory()
    facts = {"job": job, "part": "RING", "amount": amount, "reason": "dropped"}
    return lambda: ask_for_more(actor=asker, stamp=stamp(), **facts)


def test_a_table_is_booked_once(shop_database, monkeypatch):
    halfway = Halfway(monkeypatch, BEFORE)
    ended = halfway.race(*booking())
    assert not halfway.overtaken
    assert refusals(ended) == ["import-booked"]
    assert [done.body["booked"] for done in answers(ended)] == [{"lines": 2, "new_lots_without_a_date": 2}]
    assert (rings(), ImportBooked.objects.count()) == ((8, 0), 1)


@pytest.mark.damages_books
def test_control_without_locks_it_is_booked_twice(shop_database, monkeypatch):
    calls = booking()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, BEFORE, PATIENCE_S)
    ended = halfway.race(*calls)
    # Both had looked and found it open; the table of what was booked takes one of them, when all is written.
    assert halfway.overtaken
    assert (damaged(ended), len(answers(ended))) == (1, 1)


def test_who_holds_meanwhile_gets_what_is_there_and_both_are_in_the_books(shop_database, monkeypatch):
    ask, seen = holding(5), retries_seen(monkeypatch)
    ended = together([booking()[0], ask])
    assert refusals(ended) == []
    held = sum(one["amount"] for one in answers(ended)[1].body["held"])
    # Before the table was booked there was one, after it there were nine.
    assert held in (1, 5)
    assert rings() == (9, held)
    assert dict(seen) == {}


def failing(monkeypatch, watched_s=WATCHED_S):
    """The booking of a table fails when all of it stands on the shelf but the word that it was booked; how the two race."""

    def fail(**ignored):
        raise RuntimeError("the power went")

    monkeypatch.setattr(AFTER, fail)
    return Halfway(monkeypatch, AFTER, watched_s)


def test_what_a_failed_booking_had_put_there_is_promised_to_nobody(shop_database, monkeypatch):
    ask, book = holding(5), booking()[0]
    failed, asked = failing(monkeypatch).race(book, ask)
    assert str(failed.error) == "the power went"
    assert ([one["amount"] for one in asked.answer.body["held"]], asked.answer.body["short"]) == ([1], 4)
    assert rings() == (1, 1)
    assert not Movement.objects.filter(act__kind="book table").exists()


@pytest.mark.damages_books
def test_control_without_its_transaction_half_a_table_is_promised(shop_database, monkeypatch):
    ask, book = holding(5), booking()[0]
    no_locks(monkeypatch)
    monkeypatch.setattr(run_module, "transaction", SimpleNamespace(atomic=lambda **ignored: nullcontext()))
    halfway = failing(monkeypatch, PATIENCE_S)
    failed, asked = halfway.race(book, ask)
    assert str(failed.error) == "the power went"
    assert halfway.overtaken
    assert (sum(one["amount"] for one in asked.answer.body["held"]), asked.answer.body["short"]) == (5, 0)
    assert not ImportBooked.objects.exists()
