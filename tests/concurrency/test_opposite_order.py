"""Two jobs want the same six parts, one in rising and one in falling order; two sites carry the same things to each other."""

import threading

import pytest
from django.db import OperationalError
from django.db.backends.sqlite3.base import DatabaseWrapper as SqliteConnection

from inventory import locks
from inventory.models import Balance, Hold
from inventory.services import run as run_module
from inventory.services.transfer import TransferLine, transfer
from kits.services.hold_kit import hold_kit
from tests.concurrency.races import PATIENCE_S, answers, meet_before, refusals, retries_seen
from tests.databases import on_postgresql, together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, shelf, stamp

ROUNDS = 10


def hold_all(numbers, person):
    """Somebody who holds the kits of these jobs, one after another; how much each got."""

    def call():
        done = [hold_kit(actor=person, stamp=stamp(), job=number) for number in numbers]
        return [sum(one["amount"] for one in each.body["held"]) for each in done]

    return call


def two_ways(rounds: int):
    """The jobs of one who works upwards and of one who works downwards."""
    up = [workshop.job(f"U{at}", "RISING").number for at in range(rounds)]
    down = [workshop.job(f"D{at}", "FALLING").number for at in range(rounds)]
    return [hold_all(up, PersonFactory()), hold_all(down, PersonFactory())]


def test_the_same_parts_in_opposite_order_never_block_each_other(shop_database, monkeypatch):
    workshop.many(13)
    calls, seen = two_ways(ROUNDS), retries_seen(monkeypatch)
    if on_postgresql():
        # Each round both are about to lock at the same moment. (On SQLite the second waits at its BEGIN already.)
        meet_before(monkeypatch, "inventory.locks.scarcer", 2)
    ended = together(calls)
    assert refusals(ended) == []
    # Twenty jobs want one of each of six parts; thirteen of each were there.
    assert sum(sum(got) for got in answers(ended)) == 13 * 6
    rows = Balance.objects.filter(part__number__in=workshop.MANY, pickable=True)
    assert sorted(rows.values_list("amount", "held")) == [(13, 13)] * 6
    assert Hold.objects.filter(end__isnull=True).count() == 13 * 6
    # Not one deadlock, not even one that was tried again unseen.
    assert dict(seen) == {}


@pytest.mark.postgres_only
def test_control_locks_taken_in_the_order_of_the_list_deadlock(shop_database, monkeypatch):
    workshop.many(13)
    calls = two_ways(1)
    meeting, real = threading.Barrier(2), locks.scarcer
    turn = threading.local()

    def unsorted(pairs, items=()):
        order = sorted(pairs, reverse=getattr(turn, "down", False))
        real(order[:1])
        meeting.wait(PATIENCE_S)
        for pair in order[1:]:
            real([pair])

    def downwards():
        turn.down = True
        return calls[1]()

    monkeypatch.setattr(locks, "scarcer", unsorted)
    monkeypatch.setattr(run_module, "RETRIES", 0)
    ended = together([calls[0], downwards])
    errors = [one.error for one in ended if one.error is not None]
    assert [type(error) for error in errors] == [OperationalError]
    assert errors[0].__cause__.sqlstate == "40P01"


@pytest.mark.sqlite_only
def test_control_transactions_that_begin_as_readers_are_thrown_out(shop_database, monkeypatch):
    workshop.many(13)
    calls = two_ways(1)
    monkeypatch.setattr(
        SqliteConnection, "_start_transaction_under_autocommit", lambda self: self.cursor().execute("BEGIN DEFERRED")
    )
    monkeypatch.setattr(run_module, "RETRIES", 0)
    meet_before(monkeypatch, "inventory.services.run._header", 2)
    ended = together(calls)
    errors = [one.error for one in ended if one.error is not None]
    assert [type(error) for error in errors] == [OperationalError]
    assert "locked" in str(errors[0])


def carry(item, person, there: str, back: str):
    """Somebody who carries one piece at a time from here to there, many times; how often it went."""

    def call():
        for _ in range(ROUNDS):
            transfer(actor=person, stamp=stamp(), lines=[TransferLine(item.pk, 1, there, back)])
        return ROUNDS

    return call


def test_two_who_carry_the_same_lot_between_two_shelves_never_block_each_other(shop_database, monkeypatch):
    ring = workshop.rings(2 * ROUNDS)
    shelf("F1")
    first = [TransferLine(ring.pk, ROUNDS, "R1", "F1")]
    transfer(actor=PersonFactory(), stamp=stamp(), lines=first)
    seen = retries_seen(monkeypatch)
    ended = together([carry(ring, PersonFactory(), "R1", "F1"), carry(ring, PersonFactory(), "F1", "R1")])
    assert refusals(ended) == []
    assert sorted(Balance.objects.filter(item=ring, real=True).values_list("place__code", "amount")) == [
        ("F1", ROUNDS),
        ("R1", ROUNDS),
    ]
    assert dict(seen) == {}
