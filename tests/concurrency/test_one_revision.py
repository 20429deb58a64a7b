"""Eight people take the same newer revision over at the same moment: the job has it once."""

import pytest

from kits.models import JobOperation, RevisionWord
from kits.services.families import enter_procedure
from kits.services.revisions import RevisionIn, decide_revisions
from tests.concurrency.races import answers, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 8


@pytest.fixture
def revised(shop_database):
    workshop.job("J1", "RINGS", cylinders=1)
    document = workshop.operations()[1] | {"revision": 2}
    enter_procedure(actor=PersonFactory(), stamp=stamp(), document=document)


def decided(take: bool):
    """One of them decides."""
    person = PersonFactory()
    given = {"job": "J1", "revisions": [RevisionIn(2, "RINGS")], "take": take, "reason": "the maker says so"}
    return lambda: decide_revisions(actor=person, stamp=stamp(), **given)


def test_one_takes_it_over_and_seven_are_told_that_the_job_is_not_asked(revised):
    ended = together([decided(True) for _ in range(PEOPLE)])
    assert refusals(ended) == ["revision-not-asked"] * 7
    (done,) = answers(ended)
    assert done.body["revisions"] == [{"procedure": "RINGS", "revision": 2, "instead_of": 1}]
    assert (JobOperation.objects.count(), RevisionWord.objects.count()) == (2, 1)
