"""Two people enter two families at the same moment whose engine numbers could not be told apart."""

from kits.models import EngineFamily
from kits.services.families import enter_family
from tests.concurrency.races import PATIENCE_S, Halfway, no_locks, refusals
from tests.factories.engines import family_document
from tests.factories.stores import PersonFactory, stamp

#: Both have seen that no family has such numbers; neither has written.
CHECKED = "kits.services.families._row_of"


def two_enter(monkeypatch, watched):
    def enters(code, prefix):
        document = family_document() | {"code": code, "engine_numbers": {"prefix": prefix, "first": 1, "width": 5}}
        person = PersonFactory()
        return lambda: enter_family(actor=person, stamp=stamp(), document=document)

    halfway = Halfway(monkeypatch, CHECKED, **watched)
    return halfway, halfway.race(enters("One", "T4-"), enters("Other", "T4"))


def test_the_second_is_told_whose_numbers_they_are(shop_database, monkeypatch):
    halfway, ended = two_enter(monkeypatch, {})
    assert not halfway.overtaken
    assert (refusals(ended), EngineFamily.objects.filter(code__in=("One", "Other")).count()) == (["prefix-differs"], 1)


def test_control_without_locks_both_stand(shop_database, monkeypatch):
    no_locks(monkeypatch)
    halfway, ended = two_enter(monkeypatch, {"watched_s": PATIENCE_S})
    assert halfway.overtaken
    assert (refusals(ended), EngineFamily.objects.filter(code__in=("One", "Other")).count()) == ([], 2)
