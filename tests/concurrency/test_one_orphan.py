"""Two people match one orphan at the same moment, each to a set of their own: one does, the others are told that it is gone."""

import pytest

from inventory.models import MatchedSet, SetMatch
from kits.services.match_set import match_set
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals, retries_seen
from tests.databases import together
from tests.factories import workshop
from tests.factories.matching import left_of_two, read_both
from tests.factories.measuring import gauge
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 4


def matching(people: int):
    """One liner and one piston with its pin are left and were read; so many people want them, each for a new serial."""
    workshop.sets("S-1", "S-2")
    gauge("G-1")
    workshop.job("J1", "SETS")
    them = left_of_two("SET", "S-1", "S-2")
    read_both("J1", them)
    signer = workshop.checker("edda")

    def one(person, number):
        return lambda: match_set(
            actor=person, stamp=stamp(), job="J1", part="SET", serial=f"N-{number}", signed_by=signer, **them
        )

    return [one(PersonFactory(), number) for number in range(people)]


def test_one_of_four_makes_the_set(shop_database, monkeypatch):
    calls = matching(PEOPLE)
    seen = retries_seen(monkeypatch)
    ended = together(calls)
    assert refusals(ended) == ["not-there"] * (PEOPLE - 1)
    (done,) = answers(ended)
    assert [row.serial.number for row in SetMatch.objects.select_related("serial")] == [done.body["serial"]]
    assert MatchedSet.objects.count() == 3
    assert dict(seen) == {}


@pytest.mark.damages_books
def test_control_without_locks_both_take_the_orphan(shop_database, monkeypatch):
    calls = matching(2)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "inventory.services.post._update", 2)
    assert damaged(together(calls)) == 1
