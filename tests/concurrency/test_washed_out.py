"""Two people count plugs back into one block at the same moment."""

from kits.models import WashedCount
from kits.services.washed_out import count_washed
from tests.concurrency.races import PATIENCE_S, Halfway, no_locks, refusals
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

#: Both have checked that three of four may come back; neither has written.
CHECKED = "kits.services.washed_out.said"


def two_count_back(monkeypatch, watched):
    """Four are out; two people have three in their hands each."""
    workshop.job("J1", "RINGS")
    people = [PersonFactory(), PersonFactory()]
    count_washed(actor=people[0], stamp=stamp(), job="J1", counts={"core plug": 4}, back=False)

    def counts_three_back(person):
        return lambda: count_washed(actor=person, stamp=stamp(), job="J1", counts={"core plug": 3}, back=True)

    halfway = Halfway(monkeypatch, CHECKED, **watched)
    return halfway, halfway.race(*[counts_three_back(person) for person in people])


def back():
    return list(WashedCount.objects.filter(back=True).values_list("count", flat=True))


def test_the_second_is_told_that_fewer_are_out(shop_database, monkeypatch):
    halfway, ended = two_count_back(monkeypatch, {})
    assert not halfway.overtaken
    assert (refusals(ended), back()) == (["more-back-than-out"], [3])


def test_control_without_locks_more_come_back_than_were_out(shop_database, monkeypatch):
    no_locks(monkeypatch)
    halfway, ended = two_count_back(monkeypatch, {"watched_s": PATIENCE_S})
    assert halfway.overtaken
    assert (refusals(ended), back()) == ([], [3, 3])
