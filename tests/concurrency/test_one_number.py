"""Two people join the same two records at the same moment, the other way round."""

from inventory.models import PartJoin
from inventory.services.join_parts import join_parts
from tests.concurrency.races import PATIENCE_S, Halfway, no_locks, refusals
from tests.factories.stores import PartFactory, PersonFactory, stamp

#: Both have seen that neither record was joined; neither has written.
CHECKED = "inventory.services.join_parts.add_link"


def two_join(monkeypatch, watched):
    for number in ("A-201", "A 201"):
        PartFactory(number=number)

    def joins(joined, kept):
        person = PersonFactory()
        return lambda: join_parts(actor=person, stamp=stamp(), joined=joined, kept=kept, reason="typed twice")

    halfway = Halfway(monkeypatch, CHECKED, **watched)
    return halfway, halfway.race(joins("A 201", "A-201"), joins("A-201", "A 201"))


def test_the_second_is_told_which_is_kept(shop_database, monkeypatch):
    halfway, ended = two_join(monkeypatch, {})
    assert not halfway.overtaken
    assert (refusals(ended), PartJoin.objects.count()) == (["joined-already"], 1)


def test_control_without_locks_each_points_at_the_other(shop_database, monkeypatch):
    no_locks(monkeypatch)
    halfway, ended = two_join(monkeypatch, {"watched_s": PATIENCE_S})
    assert halfway.overtaken
    assert (refusals(ended), PartJoin.objects.count()) == ([], 2)
