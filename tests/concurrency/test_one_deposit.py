"""Several people at one deposit, one tag, one old unit: each coin is refunded once, each tag given once, each unit sent once."""

import pytest

from inventory.models import Deposit, DepositEntry, OldUnitSent, OldUnitTag
from inventory.services.deposits import settle_deposit
from inventory.services.old_units import answer_old_unit, send_back
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals, retries_seen
from tests.databases import together
from tests.factories.cores import brought, maker, paid
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 4


def refunding(deposit: int, people: int, coins: int = 4_500):
    """People who each enter the whole refund."""

    def one(person):
        return lambda: settle_deposit(actor=person, stamp=stamp(), deposit=deposit, what="refunded", coins=coins)

    return [one(PersonFactory()) for _ in range(people)]


def test_one_refund_is_entered_once(shop_database, monkeypatch):
    deposit = paid(4_500)
    seen = retries_seen(monkeypatch)
    ended = together(refunding(deposit, PEOPLE))
    assert refusals(ended) == ["more-than-outstanding"] * (PEOPLE - 1)
    assert (Deposit.objects.get().outstanding_coins, DepositEntry.objects.count()) == (0, 2)
    assert dict(seen) == {}


@pytest.mark.damages_books
def test_control_without_locks_the_database_itself_refuses_the_second(shop_database, monkeypatch):
    calls = refunding(paid(4_500), 2)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.deposits.outstanding", 2)
    assert damaged(together(calls)) == 1


def test_one_tag_is_given_to_one_of_four(shop_database, monkeypatch):
    units = [brought() for _ in range(PEOPLE)]
    seen = retries_seen(monkeypatch)

    def tagging(person, unit):
        return lambda: answer_old_unit(
            actor=person, stamp=stamp(), unit=unit, tag="T-1", subject="J1", reason="by its clamp"
        )

    ended = together([tagging(PersonFactory(), unit) for unit in units])
    assert refusals(ended) == ["old-unit-tagged"] * (PEOPLE - 1)
    assert OldUnitTag.objects.count() == 1
    assert dict(seen) == {}


def test_one_old_unit_is_sent_back_once(shop_database):
    unit = brought("T-1", "J1")
    supplier = maker().code

    def sending(person):
        return lambda: send_back(actor=person, stamp=stamp(), supplier=supplier, units=[unit])

    ended = together([sending(PersonFactory()) for _ in range(PEOPLE)])
    assert refusals(ended) == ["old-unit-ended"] * (PEOPLE - 1)
    assert len(answers(ended)) == OldUnitSent.objects.count() == 1
