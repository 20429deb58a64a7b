"""What readings came to: kept with what it rests on, stale when that is withdrawn or something newer took its place."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.domain.errors import DomainError
from inventory.services.run import run
from kits.domain.allowance import FACTOR, RULE
from kits.models import MeasuredResult, ResultReading
from kits.queries.results import result_now, results_of
from kits.queries.scope import job_by_number
from kits.services.readings import withdraw_reading
from kits.services.results import record_result
from tests.factories.acts import done
from tests.factories.measuring import gauge, ledge, read
from tests.factories.rebuilds import book, person
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

DOCUMENT = {"rule": RULE, "factor": FACTOR, "verdict": "pass", "protrusion_nm": 63_000}


@pytest.fixture
def job():
    gauge("G-1")
    return book()


def kept(job, kind="protrusion", subject="CYL-1", readings=(), document=DOCUMENT):
    """A result by an act of its own; its id."""
    row = job_by_number(job.number)

    def work(act):
        return {"result": record_result(act, row, kind, subject, document, readings).pk}

    request = {"kind": kind, "subject": subject, "readings": list(readings)}
    return run("judge", work, actor=person("judge"), stamp=stamp(), request=request).body["result"]


def readings(job, *values):
    points = ("12", "3", "6", "9")
    return [
        one["id"]
        for one in read(job.number, *(ledge(v, point=p) for v, p in zip(values, points, strict=False)))["readings"]
    ]


def standing(job):
    return [(one.subject, one.stale, one.why, one.replaced_by) for one in results_of(job)]


def test_a_result_names_what_it_rests_on(job):
    ids = readings(job, "93.030 mm", "93.031 mm")
    made = kept(job, readings=[*ids, ids[0]])
    row = result_now(job, "protrusion", "CYL-1")
    assert (row.id, row.job, row.kind, row.subject, row.document) == (made, "J1", "protrusion", "CYL-1", DOCUMENT)
    assert (row.readings, row.by, row.stale) == (tuple(ids), "judge", False)
    assert ResultReading.objects.count() == 2


def test_it_is_stale_when_one_of_its_readings_is_withdrawn(job):
    first, second, other = readings(job, "93.030 mm", "93.031 mm", "93.032 mm")
    one, two = kept(job, readings=[first, second]), kept(job, subject="CYL-2", readings=[other])
    body = done(withdraw_reading, job="J1", reading_id=second, reason="zero was off")
    assert body["stale"] == [{"result": one, "kind": "protrusion", "subject": "CYL-1"}]
    assert standing(job) == [
        ("CYL-1", True, (f"reading {second} was withdrawn: zero was off",), None),
        ("CYL-2", False, (), None),
    ]
    assert (result_now(job, "protrusion", "CYL-1"), result_now(job, "protrusion", "CYL-2").id) == (None, two)
    assert [row.id for row in results_of(job, standing_only=True)] == [two]


def test_a_later_one_of_the_same_kind_and_subject_takes_its_place(job):
    ids = readings(job, "93.030 mm", "93.031 mm")
    first = kept(job, readings=ids[:1])
    layout = kept(job, kind="layout", subject="CYL-1", readings=ids)
    second = kept(job, readings=ids[1:])
    assert standing(job) == [
        ("CYL-1", True, (f"result {second} took its place",), second),
        ("CYL-1", False, (), None),
        ("CYL-1", False, (), None),
    ]
    assert (result_now(job, "protrusion", "CYL-1").id, result_now(job, "layout", "CYL-1").id) == (second, layout)
    # what took its place went stale: the earlier one does not come back
    done(withdraw_reading, job="J1", reading_id=ids[1], reason="wrong bore")
    assert result_now(job, "protrusion", "CYL-1") is None
    assert [row.id for row in results_of(job, "protrusion", "CYL-1")] == [first, second]


def test_results_of_another_job_stay_alone(job):
    other = book("J2", engine="A4-020544")
    ids, its = readings(job, "93.030 mm"), readings(other, "93.030 mm")
    kept(job, readings=ids)
    kept(other, readings=its)
    assert (standing(job), standing(other)) == ([("CYL-1", False, (), None)], [("CYL-1", False, (), None)])


def test_it_does_not_rest_on_what_does_not_count_or_is_not_there(job):
    ids = readings(job, "93.030 mm")
    done(withdraw_reading, job="J1", reading_id=ids[0], reason="zero was off")
    for wanted, code in ((ids, "reading-withdrawn"), ([ids[0] + 1000], "not-found")):
        with pytest.raises(DomainError) as caught:
            kept(job, readings=wanted)
        assert caught.value.code == code
    with pytest.raises(ValueError, match="by which rule"):
        kept(job, document={"verdict": "pass"})
    assert MeasuredResult.objects.count() == 0


def test_results_take_the_same_queries_for_one_and_for_three(job):
    counts = []
    for subject in ("CYL-1", "CYL-2", "CYL-3"):
        kept(job, subject=subject, readings=readings(job, "93.030 mm"))
        with CaptureQueriesContext(connection) as caught:
            rows = results_of(job)
        counts.append((len(rows), len(caught)))
    assert counts == [(1, 4), (2, 4), (3, 4)]
    assert results_of(book("J2", engine="A4-020544")) == ()
