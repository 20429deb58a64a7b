"""Stock on past days by replay: the same as the balances rolled back, and a damage on either side is found."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from inventory.domain.places import PlaceKind
from inventory.models import Balance, Movement
from inventory.queries.replay import replay_until
from tests.factories.damage import execute, lift_guards
from tests.factories.moves import item_of, move, spot, take_back
from tests.factories.stores import NOON, PartFactory, shelf, stock

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def shop(db):
    """Ten came, four were carried on the next day, two scrapped on the third and that taken back."""
    part = PartFactory(number="B", tracked_by="nothing")
    stock(part, 10, place=shelf("R1"), at=NOON)
    bolt, r1, r2 = item_of(part), spot(shelf("R1")), spot(shelf("R2"))
    move((bolt, 4, r1, r2), at=NOON + DAY)
    gone = move((bolt, 2, r2, spot(PlaceKind.SCRAP)), at=NOON + 2 * DAY)
    move((bolt, 1, r1, r2), at=NOON + 3 * DAY)
    take_back(gone, NOON + 4 * DAY)
    return bolt


def standing(days):
    found = replay_until((NOON + days * DAY).date())
    assert found.faults == []
    return [(one.place, one.amount) for one in found.standing]


def test_every_past_day(shop):
    assert [standing(days) for days in (-1, 0, 1, 2, 3, 30)] == [
        [], [("R1", 10)], [("R1", 6), ("R2", 4)], [("R1", 6), ("R2", 4)], [("R1", 5), ("R2", 5)], [("R1", 5), ("R2", 5)],
    ]  # fmt: skip
    now = Balance.objects.filter(real=True, amount__gt=0).order_by("place__code").values_list("place__code", "amount")
    assert standing(30) == list(now)
    before = NOON - timedelta(microseconds=1)
    assert replay_until(before).standing == []
    assert [one.amount for one in replay_until(NOON).standing] == [10]


def test_the_command_says_so(shop, capsys):
    call_command("replay", "--on", NOON.date().isoformat(), "--list")
    assert capsys.readouterr().out.splitlines() == [
        "R1 -: 10 of B -",
        f"1 movements up to {NOON.date()} give the stock of that day: 1 rows",
    ]
    with pytest.raises(CommandError, match="is not a day"):
        call_command("replay", "--on", "yesterday")


@pytest.mark.damages_books
def test_a_damage_on_either_side_is_found(shop, capsys):
    Balance.objects.filter(place__code="R2").update(amount=7)
    with pytest.raises(CommandError, match="the replay differs: 1 findings"):
        call_command("replay", "--on", (NOON + DAY).date().isoformat())
    assert capsys.readouterr().out == "R2 -: B -: the replay has 4, the balances 6\n"
    Balance.objects.filter(place__code="R2").update(amount=5)
    connection.check_constraints()  # PostgreSQL alters no table whose foreign keys are still to be looked at
    lift_guards("inventory_movement")
    if (
        connection.vendor == "sqlite"
    ):  # the connection is that of the tests to come, and no rollback gives it its checks back
        execute("PRAGMA ignore_check_constraints = OFF")
    first = Movement.objects.order_by("pk")[1]
    execute("UPDATE inventory_movement SET amount = 11 WHERE id = %s", [first.pk])
    faults = replay_until((NOON + DAY).date()).faults
    assert f"R1 -: B -: -1 after {(NOON + DAY).isoformat()}" in faults


@pytest.mark.parametrize("many", [1, 3])
def test_the_queries_do_not_grow(many, shop, django_assert_max_num_queries):
    for number in range(many):
        stock(PartFactory(number=f"P-{number}", tracked_by="nothing"), 5, place=shelf("R1"))
    with django_assert_max_num_queries(5):
        assert len(replay_until((NOON + DAY).date()).standing) == 2 + many
