"""Sixteen people ask at the same moment for the last set, and for the last of a ring lot."""

import pytest
from django.db import DatabaseError

from inventory.models import Balance, Hold
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from kits.models import JobHold
from kits.services.extras import ask_for_more
from kits.services.hold_kit import hold_kit
from tests.concurrency.races import (
    PATIENCE_S,
    Halfway,
    answers,
    damaged,
    meet_before,
    no_locks,
    refusals,
    retries_seen,
)
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PartFactory, PersonFactory, shelf, stamp, stock

CLIENTS = 16


def ask(number: str, person):
    """Somebody who asks for the kit of a job."""
    return lambda: hold_kit(actor=person, stamp=stamp(), job=number)


def all_ask(operation: str):
    """Sixteen people, each for a job of their own."""
    numbers = [workshop.job(f"J{at:02d}", operation).number for at in range(CLIENTS)]
    return [ask(number, PersonFactory()) for number in numbers]


def promised(part: str) -> tuple[int, int, int]:
    """(pieces on shelves, pieces held by the balances, pieces of open holds) of a part."""
    rows = list(Balance.objects.filter(part__number=part, pickable=True))
    holds = Hold.objects.filter(item__part__number=part, end__isnull=True)
    return sum(row.amount for row in rows), sum(row.held for row in rows), sum(hold.amount for hold in holds)


def test_the_last_set_is_promised_once(shop_database, monkeypatch):
    workshop.sets("S-1")
    seen = retries_seen(monkeypatch)
    ended = together(all_ask("SETS"))
    assert refusals(ended) == []
    bodies = [done.body for done in answers(ended)]
    assert sorted(len(body["held"]) for body in bodies) == [0] * 15 + [1]
    assert sorted(sum(short["amount"] for short in body["shorts"]) for body in bodies) == [0] + [1] * 15
    assert promised("SET") == (1, 1, 1)
    winner = JobHold.objects.get().job.number
    assert [short["held_by"] for body in bodies for short in body["shorts"]] == [[winner]] * 15
    assert dict(seen) == {}


def test_a_lot_of_five_rings_goes_to_five_of_sixteen(shop_database, monkeypatch):
    workshop.rings(5)
    seen = retries_seen(monkeypatch)
    ended = together(all_ask("RINGS"))
    assert refusals(ended) == []
    bodies = [done.body for done in answers(ended)]
    assert sorted(sum(one["amount"] for one in body["held"]) for body in bodies) == [0] * 11 + [1] * 5
    assert promised("RING") == (5, 5, 5)
    assert dict(seen) == {}


def test_two_bores_each_of_a_lot_that_does_not_go_round(shop_database):
    workshop.rings(7)
    numbers = [workshop.job(f"J{at}", "RINGS", cylinders=2).number for at in range(5)]
    ended = together([ask(number, PersonFactory()) for number in numbers])
    assert refusals(ended) == []
    held = sorted(sum(one["amount"] for one in done.body["held"]) for done in answers(ended))
    assert held == [0, 1, 2, 2, 2]
    assert promised("RING") == (7, 7, 7)


@pytest.mark.damages_books
@pytest.mark.parametrize(("operation", "pieces"), [("SETS", 1), ("RINGS", 5)])
def test_control_without_locks_the_last_things_are_promised_to_all(shop_database, monkeypatch, operation, pieces):
    workshop.sets("S-1")
    workshop.rings(5)
    calls = all_ask(operation)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.holding.hold_more", CLIENTS)
    ended = together(calls)
    # All sixteen had been given it; the database's last line of defence stopped those for whom nothing was left.
    assert damaged(ended) == CLIENTS - pieces
    assert len(answers(ended)) == pieces
    assert {type(one.error).__mro__[1] for one in ended if one.error is not None} == {DatabaseError}


def replaced_part():
    """A job whose list names a part that is used up, the one piece of the part that replaces it, and who asks for each."""
    new = PartFactory(number="N-NEW")
    stock(new, 1, lot="A", place=shelf("R1"))
    line = ReplacementIn(workshop.MANY[0], [NewPart(new.number)])
    add_replacement(actor=PersonFactory(), stamp=stamp(), line=line)
    workshop.job("J1", "RISING")
    workshop.job("J2", "RINGS")
    facts = {"job": "J2", "part": new.number, "amount": 1, "reason": "dropped"}
    asker = PersonFactory()
    return ask("J1", PersonFactory()), lambda: ask_for_more(actor=asker, stamp=stamp(), **facts)


def test_the_last_piece_that_comes_in_by_a_replacement_is_promised_once(shop_database, monkeypatch):
    by_list, by_number = replaced_part()
    halfway = Halfway(monkeypatch, "inventory.services.holding.hold_more")
    ended = halfway.race(by_list, by_number)
    assert not halfway.overtaken
    assert refusals(ended) == []
    first, second = (done.body for done in answers(ended))
    assert [(one["part"], one["amount"]) for one in first["held"]] == [("N-NEW", 1)]
    assert (second["held"], second["short"]) == ([], 1)
    assert promised("N-NEW") == (1, 1, 1)


@pytest.mark.damages_books
def test_control_without_locks_the_replacement_is_promised_twice(shop_database, monkeypatch):
    by_list, by_number = replaced_part()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.holding.hold_more", PATIENCE_S)
    ended = halfway.race(by_list, by_number)
    assert halfway.overtaken
    assert damaged(ended) == 1
