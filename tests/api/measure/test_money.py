"""`measure money` at its smallest: every read beside a walk by hand with equal answers, by both ways of valuation."""

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from api.measure import own, twins_of_money
from api.measure.money import LIMITS
from inventory.domain.cost_pools import Method
from inventory.queries import value_points
from inventory.services import value_points as carrying
from tests import databases


@pytest.fixture
def copied(monkeypatch, template_database):
    """The measurement's own database is a copy of the migrated template."""

    def made(name):
        with databases.copied(template_database, name):
            yield name

    monkeypatch.setattr(own, "_made", made)


def measured():
    said = StringIO()
    try:
        call_command("measure", "money", jobs=[12], pairs=1, stdout=said)
    except CommandError as error:
        assert error.returncode == 1, error  # slower than its limit on this machine
    return said.getvalue()


@pytest.mark.parametrize("each", [900, 100_000])
def test_every_read_says_what_the_walk_by_hand_says(shop_database, copied, monkeypatch, each):
    """Carried forward every few movements, and not at all."""
    monkeypatch.setattr("api.measure.money.carry_forward", lambda **said: carrying.carry_forward(**said, each=each))
    said = measured()
    lines = [re.split(r"\s{2,}", line.strip()) for line in said.splitlines()]
    rows = {line[0]: line for line in lines if len(line) == 9 and line[0] != "act"}
    assert list(rows) == [f"{name}, {method.value}" for method in Method for name in LIMITS]
    assert {row[7] for row in rows.values()} == {"1 of 1"}
    carried = re.findall(r"carried forward (\d+) moments", said)
    assert [int(many) > 2 for many in carried] == [each == 900] * 2


def test_another_answer_ends_the_measurement(shop_database, copied, monkeypatch):
    monkeypatch.setattr(twins_of_money.Pools, "take", lambda self, key, amount: amount * 100)
    with pytest.raises(CommandError, match="stock value today, moving average: answer and twin's differ") as raised:
        call_command("measure", "money", jobs=[12], pairs=1, stdout=StringIO())
    assert raised.value.returncode == 2


def test_what_is_carried_wrongly_ends_the_measurement(shop_database, copied, monkeypatch):
    monkeypatch.setattr("api.measure.money.carry_forward", lambda **said: carrying.carry_forward(**said, each=900))
    real = value_points.parts_at
    monkeypatch.setattr(value_points, "parts_at", lambda point, parts=None: dict([*real(point, parts).items()][1:]))
    with pytest.raises(CommandError, match="answer and twin's differ"):
        call_command("measure", "money", jobs=[12], pairs=1, stdout=StringIO())
