"""Two carts and two rings: they are issued to one of two jobs, for what is issued is nobody else's."""

import pytest

from inventory.models import Balance, Movement
from kits.services.found_on_cart import issue_found
from tests.concurrency.races import answers, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp


def two_carts():
    """Two jobs on each of whose carts somebody says to have found both rings."""
    ring = workshop.rings(2)
    for number in ("J1", "J2"):
        workshop.job(number, "RINGS", cylinders=2)

    def issuing(person, job):
        return lambda: issue_found(
            actor=person, stamp=stamp(), job=job, item=ring.pk, place="R1", amount=2, reason="lay on the cart"
        )

    return ring, [issuing(PersonFactory(), job) for job in ("J1", "J2")]


def test_two_rings_are_issued_to_one_job(shop_database):
    ring, calls = two_carts()
    ended = together(calls)
    assert len(answers(ended)) == 1
    assert refusals(ended) == ["not-there"]
    assert Movement.objects.filter(item=ring, to_spot__place__kind="cart").count() == 1
    assert list(Balance.objects.filter(item=ring, amount__gt=0, real=True).values_list("amount", "held")) == [(2, 0)]


@pytest.mark.damages_books
def test_control_without_locks_both_get_as_far_as_the_books(shop_database, monkeypatch):
    _, calls = two_carts()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.found_on_cart._served", 2)
    assert sum(one.error is not None for one in together(calls)) >= 1
