"""Stock value carried forward: whatever is asked, as of whatever day, it answers as the walk over everything does."""

import json
from datetime import timedelta

import pytest
from django.db import connection

from inventory.models import Item, Movement, PartCarried, ReceiptLine, ValueCarried
from inventory.queries import value_points
from inventory.queries.audit import audit
from inventory.queries.days import last_of, shop_day
from inventory.queries.late_invoices import late_invoices
from inventory.queries.stock_costs import coins_of_balances
from inventory.queries.valuation import stock_value
from inventory.queries.value_points import entries_of
from inventory.queries.value_walk import AsOf
from inventory.services.correct import correct
from inventory.services.count import CountLine, count
from inventory.services.invoices import enter_invoice
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold
from inventory.services.open_item import open_kit
from inventory.services.receive import ReceiveLine
from inventory.services.scrap import scrap
from inventory.services.set_up import set_up_shop
from inventory.services.transfer import TransferLine, transfer
from inventory.services.value_points import carry_forward
from tests.factories.acts import done, item
from tests.factories.damage import execute
from tests.factories.moves import move, spot
from tests.factories.orders import came
from tests.factories.stores import NOON, OwnerFactory, PartFactory, PersonFactory, bench, quarantine, shelf, stamp
from tests.factories.stores_kits import kit

pytestmark = pytest.mark.django_db
#: Long after everything.
TODAY = (NOON + timedelta(days=60)).date()
METHODS = ("moving average", "first in first out")


def at(day, recorded=None):
    return stamp(NOON + timedelta(days=day), None if recorded is None else NOON + timedelta(days=recorded))


def carried(each=1):
    """Everything, moment by moment; how many moments."""
    many = 0
    while carry_forward(actor=None, today=TODAY, each=each) is not None:
        many += 1
    return many


@pytest.fixture
def busy(db):
    """Ten days on which a bit of everything happened that moves coins; the places of a job."""
    r1, at_bench = shelf("R1"), bench("bench J")
    shelf("R2")
    quarantine("Q1")

    def to_bench(what, amount, day):
        move((what, amount, spot(r1), spot(at_bench)), at=NOON + timedelta(days=day))

    PartFactory(number="B", tracked_by="nothing")
    PartFactory(number="X", tracked_by="set", unit="SET", kind="matched set")
    for number, price in (("HG", 3100), ("MG", 650)):
        PartFactory(number=number, price_coins=price, tracked_by="nothing")
    kit("TOP", {"HG": 1, "MG": 2}, tracked_by="nothing")
    (first,) = came(ReceiveLine("B", 10, total_coins=4003))
    came(ReceiveLine("TOP", 3, total_coins=13_001), ReceiveLine("X", 1, serial="S-1", total_coins=9_320), at=NOON)
    came(ReceiveLine("B", 20), ReceiveLine("X", 1, serial="S-2", total_coins=9_900), at=NOON + timedelta(days=1))
    (waiting,) = ReceiptLine.objects.filter(item__part__number="B", total_coins=None)
    bolt, box, one_set = item("B"), item("TOP"), item("X", "serial=S-1")
    done(open_kit, stamp=at(2), item_id=box.pk, place="R1", amount=2)
    to_bench(bolt, 7, 2)
    to_bench(Item.objects.get(part__number="HG"), 1, 3)
    to_bench(one_set, 1, 3)
    sold = done(
        sell_at_counter, stamp=at(3), lines=[LeavingLine(bolt.pk, 2, "R1")], buyer=OwnerFactory().pk, reason="walked in",
        demand=False,
    )  # fmt: skip
    done(scrap, stamp=at(4), item_id=bolt.pk, amount=1, reason="bent", who_pays="shop", place="R1")
    move((bolt, 3, spot(at_bench), spot(r1)), at=NOON + timedelta(days=5))
    back = {"line": sold["lines"][0]["line"], "amount": 1, "reason": "wrong", "place": "Q1"}
    done(take_back_sold, stamp=at(6), **back)
    done(enter_invoice, stamp=at(7), line=first["line"], coins=5_000)
    done(enter_invoice, stamp=at(7), line=waiting.pk, coins=9_001)
    done(count, stamp=at(8), place="R1", lines=[CountLine(17, item_id=bolt.pk)], reason="short")
    done(transfer, stamp=at(9), lines=[TransferLine(Item.objects.get(part__number="MG").pk, 1, "R1", "R2")])
    done(enter_invoice, stamp=at(10), line=waiting.pk, coins=9_501)
    return frozenset((at_bench.pk,))


def everything(places):
    """What every read says now, as of every day, and as known on some."""
    days = [last_of(shop_day(NOON + timedelta(days=day))) for day in (-1, 0, 3, 4, 6, 7, 9, 11)]
    asked = [AsOf(), AsOf(None, days[4]), AsOf(days[3], NOON + timedelta(days=20)), *(AsOf(on) for on in days)]
    told = [[stock_value(one), *entries_of(places, one)] for one in asked]
    assert all(one[0]["adds_up"] for one in told)
    told.append(coins_of_balances())
    told += [late_invoices(shop_day(NOON + timedelta(days=day))) for day in (-1, 7, 12)]
    return told


def as_walked(places):
    """The same, as if nothing had been carried."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(value_points, "point_for", lambda *_: None)
        return everything(places)


@pytest.mark.parametrize("method", METHODS)
def test_every_read_on_every_day_is_the_same_and_what_comes_late_makes_it_stale(busy, method):
    set_up_shop(actor=PersonFactory(), stamp=stamp(), settings={"valuation": method})
    walked = everything(busy)
    assert walked[0][0]["method"] == method
    assert carried() == 9  # one at the end of each day on which something moved
    assert everything(busy) == walked == as_walked(busy)
    assert [*ValueCarried.objects.order_by("upto")] == [*ValueCarried.objects.order_by("pk")]
    # Entered on day 30, true since day 4: the moments from then on hold no more, those before do.
    scrapped = scrap(
        actor=PersonFactory(),
        stamp=at(4, 30),
        item_id=Item.objects.get(part__number="MG").pk,
        amount=2,
        reason="bent",
        who_pays="shop",
        place="R1",
    )
    holding = value_points.point_for(AsOf(), walked_method(method))
    assert holding.upto == last_of(shop_day(NOON + timedelta(days=3)))
    late = everything(busy)
    assert (late == as_walked(busy), late == walked) == (True, False)
    # As it was known before that, all of them hold still.
    then = AsOf(None, NOON + timedelta(days=20))
    assert value_points.point_for(then, walked_method(method)) == ValueCarried.objects.order_by("pk").last()
    assert carried() == 5  # from day 4 on
    assert everything(busy) == late
    # A correction is of the moment that it corrects.
    correct(actor=PersonFactory(), stamp=at(31), act_id=scrapped.act_id, reason="not that one")
    assert value_points.point_for(AsOf(), walked_method(method)) == holding
    assert everything(busy) == as_walked(busy)
    carried()
    assert everything(busy) == as_walked(busy)
    # A late invoice of an early day.
    line = ReceiptLine.objects.filter(item__part__number="TOP").get()
    enter_invoice(actor=PersonFactory(), stamp=at(1, 32), line=line.pk, coins=15_000)
    late = everything(busy)
    assert late == as_walked(busy)
    carried()
    assert (everything(busy), audit()) == (late, [])


def walked_method(name):
    return value_points.Method(name)


def test_another_setting_begins_anew(busy):
    carried()
    before = ValueCarried.objects.count()
    set_up_shop(actor=PersonFactory(), stamp=at(40), settings={"valuation": METHODS[1]})
    assert everything(busy) == as_walked(busy)
    assert (carried(), ValueCarried.objects.exclude(method=METHODS[1]).count()) == (before, 0)
    assert everything(busy) == as_walked(busy)


def test_only_what_changed_is_written_and_young_days_are_left_open(busy):
    # On day 12 the day before yesterday is day 10.
    today = (NOON + timedelta(days=12)).date()
    while carry_forward(actor=None, today=today, each=1) is not None:
        pass
    last = ValueCarried.objects.order_by("pk").last()
    assert last.upto == last_of(shop_day(NOON + timedelta(days=9)))
    # The transfer of day 9 changes no pool.
    assert [one.parts.count() for one in ValueCarried.objects.order_by("pk")] == [3, 2, 4, 3, 1, 1, 1, 1, 0]
    assert carry_forward(actor=None, today=today, each=1) is None


def test_a_moment_is_at_the_end_of_the_day_by_which_so_many_were_moved(busy):
    moves = Movement.objects.filter(act__corrected_by__isnull=True).count()
    assert (carried(each=moves + 1), carried(each=moves)) == (0, 1)
    assert PartCarried.objects.count() > 0


@pytest.mark.damages_books
def test_the_audit_walks_again_from_moment_to_moment(busy):
    carried()
    assert audit() == []
    row = PartCarried.objects.filter(part__number="B").order_by("pk").first()
    execute(
        f"UPDATE {PartCarried._meta.db_table} SET kept = %s WHERE id = %s",
        [json.dumps(json.loads(json.dumps(row.kept).replace("4003", "4004"))), row.pk],
    )
    found = audit()
    assert (found[0].invariant, found[0].table, found[0].row) == (
        "value-carried-is-the-walk",
        "valuecarried",
        row.point_id,
    )
    assert f"part {row.part_id}" in found[0].sentence
    # One that holds no more is not looked at: it is not read either.
    execute(f"UPDATE {ValueCarried._meta.db_table} SET acts = acts - 1")
    assert audit() == []


def test_what_is_read_of_a_job_is_only_what_its_cost_comes_from(busy):
    asked = []
    with connection.execute_wrapper(lambda execute, *rest: asked.append(rest[0]) or execute(*rest)):
        _, entries = entries_of(busy, AsOf())
    assert {one.item for one in entries} == {
        item("B").pk,
        Item.objects.get(part__number="HG").pk,
        item("X", "serial=S-1").pk,
    }
    assert len(asked) <= 20
    assert entries_of(frozenset((0,)), AsOf())[1] == []
