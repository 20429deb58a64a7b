"""Eight people record the same finding at the same moment: the job has it once, and seven are told its number."""

import pytest

from kits.models import JobFinding
from kits.services.jobs import FindingIn, record_findings
from tests.concurrency.races import answers, damaged, meet_before, no_locks, refusals
from tests.databases import together
from tests.factories import workshop
from tests.factories.stores import PersonFactory, stamp

PEOPLE = 8


def recorded(cylinder: str):
    """One of them records that this cylinder was chosen."""
    person = PersonFactory()
    return lambda: record_findings(actor=person, stamp=stamp(), job="J1", findings=[FindingIn("chosen", cylinder)])


def test_one_records_it_and_seven_are_told_which_it_is(shop_database):
    workshop.job("J1", "RINGS", cylinders=1)
    ended = together([recorded("CYL-2") for _ in range(PEOPLE)])
    assert refusals(ended) == ["finding-on-job"] * 7
    (done,) = answers(ended)
    told = {one.error.errors[0][1].values["finding"] for one in ended if one.error is not None}
    assert told == {done.body["findings"][0]["id"]}
    assert list(JobFinding.objects.order_by("place").values_list("place", flat=True)) == ["CYL-1", "CYL-2"]


@pytest.mark.damages_books
def test_control_without_locks_it_is_there_more_than_once(shop_database, monkeypatch):
    workshop.job("J1", "RINGS", cylinders=1)
    no_locks(monkeypatch)
    meet_before(monkeypatch, "kits.services.jobs.refuse_twice", 2)
    assert damaged(together([recorded("CYL-2") for _ in range(2)])) == 0
    assert JobFinding.objects.filter(place="CYL-2").count() == 2
