"""A job is cancelled while something is bought to its bench, or found there: one of the two is refused, and nothing lies at an ended job's bench."""

import pytest

from inventory.models import Balance, Item
from inventory.services.count import CountLine, count
from inventory.services.receive import receive
from kits.models import Job
from kits.services.finish import cancel_job
from tests.concurrency.races import PATIENCE_S, Halfway, answers, no_locks, refusals
from tests.factories.stores import stamp, technician
from tests.kits.services.test_benches import buying


def calls():
    """Cancelling the job, and buying to its bench, by two people."""
    asked, people = buying("bench J1"), [technician(), technician()]
    return (
        lambda: cancel_job(actor=people[0], stamp=stamp(), job="J1", reason="the customer sells it"),
        lambda: receive(actor=people[1], stamp=stamp(), **asked),
    )


def counted_over():
    """A ring is found at the bench."""
    ring = Item.objects.get(part__number="RING", lot__code="B1")
    asked = {"place": "bench J1", "lines": [CountLine(1, item_id=ring.pk)], "reason": "lay under the rag"}
    finder = technician()
    return lambda: count(actor=finder, stamp=stamp(), **asked)


def lost():
    """Whether something lies at the bench of the job that has ended."""
    ended = Job.objects.get(number="J1").state == Job.State.CANCELLED
    return ended and Balance.objects.filter(place__code="bench J1", amount__gt=0).exists()


@pytest.mark.parametrize(
    ("turned", "told", "stops_at"),
    [
        (False, ["job-ended"], "kits.services.finish.marked_sets"),
        (True, ["job-not-empty"], "inventory.services.receive.read_lines"),
    ],
)
def test_who_comes_second_is_told(shop_database, monkeypatch, turned, told, stops_at):
    first, second = calls()[:: -1 if turned else 1]
    halfway = Halfway(monkeypatch, stops_at)
    ended = halfway.race(first, second)
    assert (len(answers(ended)), refusals(ended), halfway.overtaken, lost()) == (1, told, False, False)


@pytest.mark.parametrize(
    ("turned", "told", "stops_at"),
    [
        (False, ["job-ended"], "kits.services.finish.marked_sets"),
        (True, ["job-not-empty"], "inventory.services.count.book"),
    ],
)
def test_who_finds_something_there_or_cancels_second_is_told(shop_database, monkeypatch, turned, told, stops_at):
    both = (calls()[0], counted_over())
    halfway = Halfway(monkeypatch, stops_at)
    ended = halfway.race(*both[:: -1 if turned else 1])
    assert (len(answers(ended)), refusals(ended), halfway.overtaken, lost()) == (1, told, False, False)


def test_control_without_locks_what_was_found_lies_at_the_bench_of_an_ended_job(shop_database, monkeypatch):
    cancelling, finding = calls()[0], counted_over()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.count.book", PATIENCE_S)
    halfway.race(finding, cancelling)
    assert lost()


def test_control_without_locks_it_lies_at_the_bench_of_an_ended_job(shop_database, monkeypatch):
    cancelling, buying_it = calls()
    no_locks(monkeypatch)
    halfway = Halfway(monkeypatch, "inventory.services.receive.read_lines", PATIENCE_S)
    halfway.race(buying_it, cancelling)
    assert lost()
