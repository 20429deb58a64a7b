"""Carrying stock value forward: all of a moment or nothing, and by night, from the machine's timetable."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import OperationalError

from inventory.models import Act, PartCarried, ValueCarried
from inventory.queries import value_points
from inventory.services.receive import ReceiveLine
from inventory.services.value_points import carry_forward
from tests.factories.orders import came
from tests.factories.stores import NOON, PartFactory
from tests.faults.failing import MESSAGE, failing_at, holdings


@pytest.fixture
def delivered(shop_database):
    """Two deliveries, a day apart."""
    PartFactory(number="B", tracked_by="nothing")
    came(ReceiveLine("B", 5, total_coins=500))
    came(ReceiveLine("B", 5, total_coins=700), at=NOON + timedelta(days=1))


def test_each_statement_fails_once_and_leaves_nothing(delivered, monkeypatch):
    today = (NOON + timedelta(days=9)).date()
    assert carry_forward(actor=None, today=today, each=1) is not None
    # One that holds no more has to go with what was carried with it, in the same transaction.
    came(ReceiveLine("B", 1, total_coins=90), at=NOON)
    found = value_points.next_to_carry(today, 1)
    monkeypatch.setattr("inventory.services.value_points.next_to_carry", lambda *_: found)
    before, number = holdings(), 0
    while True:
        number += 1
        with failing_at(number) as statements:
            try:
                carry_forward(actor=None, today=today, each=1)
            except OperationalError as error:
                assert MESSAGE in str(error)
        if statements.seen < number:
            break
        assert holdings() == before, number
    assert number > 5
    assert (ValueCarried.objects.count(), PartCarried.objects.get().kept["stock"][0][1]) == (1, [["TS", 6]])


def test_by_night_it_is_carried_moment_by_moment_and_is_no_act(delivered, monkeypatch, capsys):
    acts = Act.objects.count()
    call_command("carry")
    assert capsys.readouterr().out == "0 moments were carried forward\n"  # too few were moved
    monkeypatch.setattr("api.management.commands.carry.carry_forward", _each_movement)
    call_command("carry")
    assert capsys.readouterr().out.splitlines() == [
        "carried forward to the end of 2025-01-15",
        "carried forward to the end of 2025-01-16",
        "2 moments were carried forward",
    ]
    assert (ValueCarried.objects.count(), Act.objects.count(), value_points.EACH) == (2, acts, 10_000)


def _each_movement(**said):
    return carry_forward(**said, each=1)
