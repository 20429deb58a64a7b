"""Several people mark the same month of a part's demand at once: one word is entered, the others are told of it."""

import pytest

from inventory.models import DemandMark
from inventory.services.demand_marks import mark_demand
from tests.concurrency.races import answers, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories.stores import NOON, PartFactory, PersonFactory, stamp

PEOPLE = 4


def marking():
    """What each of them does."""
    PartFactory(number="P-1")

    def one(person):
        return lambda: mark_demand(actor=person, stamp=stamp(), part="P-1", month=NOON.date(), reason="a recall")

    return [one(PersonFactory()) for _ in range(PEOPLE)]


def test_a_month_is_marked_once(shop_database):
    ended = together(marking())
    assert (len(answers(ended)), refusals(ended)) == (1, ["month-marked-so"] * (PEOPLE - 1))
    assert DemandMark.objects.count() == 1


@pytest.mark.damages_books
def test_control_without_locks_it_is_marked_more_than_once(shop_database, monkeypatch):
    calls = marking()
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.demand_marks.DemandMark.objects.create", PEOPLE)
    together(calls)
    assert DemandMark.objects.count() > 1
