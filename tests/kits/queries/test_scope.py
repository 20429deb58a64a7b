"""What the list of a job is a function of."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act
from kits.domain.findings import Finding
from kits.queries.scope import job_by_number, known_findings, scope_of
from kits.services.finish import mark_not_needed
from kits.services.fit import set_bores
from kits.services.jobs import FindingIn, record_approval, record_choice, record_findings, withdraw_finding
from kits.services.left_over import scrap_for_job
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, shelve_sets

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

LIFTED = Finding("liner-lifted", "CYL-1")


def last_act():
    return Act.objects.order_by("-pk").values_list("pk", flat=True)[0]


def test_an_unknown_job_is_named():
    error = refused("not-found", lambda actor, stamp: job_by_number("J404"))
    assert error.values["job"] == "J404"


def test_findings_count_wait_or_are_gone_and_the_past_stays_what_it_was():
    job = book(findings=[("liner-lifted", "CYL-1")])
    booked = last_act()
    extra = done(record_findings, job="J1", findings=[FindingIn("head-off")], extra_work=True)["findings"][0]["id"]
    waiting = last_act()
    scope = scope_of(job)
    assert (scope.findings, scope.waiting) == ((LIFTED,), (Finding("head-off", "ENGINE"),))
    done(record_approval, job="J1", findings=[extra], approved=True, given_by="owner", how="letter")
    done(withdraw_finding, job="J1", finding_id=job.findings.order_by("pk")[0].pk, reason="mistaken")
    scope = scope_of(job)
    assert (scope.findings, scope.waiting) == ((Finding("head-off", "ENGINE"),), ())
    assert known_findings(scope.findings) == [{"code": "head-off", "place": "ENGINE"}]
    assert scope_of(job, waiting).waiting == (Finding("head-off", "ENGINE"),)
    assert (scope_of(job, booked).findings, scope_of(job, booked).waiting) == ((LIFTED,), ())


def test_choices_are_kept_in_order_and_bores_are_none_of_them():
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    for grade in ("1", "2"):
        done(
            record_choice,
            job="J1",
            choice="upper-half",
            place="MAIN-1/upper-half",
            alternative=grade,
            reason="measured",
        )
    shelve_sets("A-101", "S-1")
    done(set_bores, job="J1", bores={"CYL-1/set": "S-1"}, reason="gauged")
    assert [one.alternative for one in scope_of(job).recorded] == ["1", "2"]


def test_what_goes_back_and_what_gets_nothing():
    position = "PUSHROD-01/pushrod"
    rejected = [("pushrod-rejected", "VALVE-01"), ("pushrod-rejected", "VALVE-02")]
    job = book(engine="R6-7309", operations=["P4"], findings=rejected)
    item = done(find_in_engine, job="J1", finds=[FindIn(position, "R-603")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(position)])
    done(inspect, job="J1", inspections=[InspectIn(position, "0.3 mm", "0.1 mm", True, item)])
    done(mark_not_needed, job="J1", positions={"PUSHROD-02/pushrod": "it is good after all"})
    scope = scope_of(job)
    assert [(key, one.came_from, one.inspection) for key, one in scope.reuse.items()] == [
        ((position, 1), position, "0.1 mm against 0.3 mm")
    ]
    assert scope.not_needed == {"PUSHROD-02/pushrod": "it is good after all"}


def test_an_inspected_part_counts_as_long_as_it_is_at_the_bench_and_the_past_stays_what_it_was():
    position = "PUSHROD-01/pushrod"
    job = book(engine="R6-7309", operations=["P4"], findings=[("pushrod-rejected", "VALVE-01")])
    item = done(find_in_engine, job="J1", finds=[FindIn(position, "R-603")])["found"][0]["item"]
    done(inspect, job="J1", inspections=[InspectIn(position, "0.3 mm", "0.1 mm", True, item)])
    in_place = last_act()
    done(remove, job="J1", removals=[RemoveIn(position)])
    at_bench = last_act()
    assert [one.item for one in scope_of(job).reuse.values()] == [item]
    done(scrap_for_job, job="J1", item_id=item, amount=1, reason="dropped", who_pays="shop")
    assert scope_of(job).reuse == {}
    assert [list(scope_of(job, act).reuse) for act in (in_place, at_bench, last_act())] == [[(position, 1)]] * 2 + [[]]


def test_one_thing_goes_back_to_one_place_by_its_newest_word():
    first, second = "PUSHROD-01/pushrod", "PUSHROD-02/pushrod"
    job = book(engine="R6-7309", operations=["P4"], findings=[("pushrod-rejected", f"VALVE-0{n}") for n in (1, 2)])
    item = done(find_in_engine, job="J1", finds=[FindIn(first, "R-603")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(first)])
    for place in (first, second):
        done(inspect, job="J1", inspections=[InspectIn(place, "0.3 mm", "0.1 mm", True, item)])
    assert list(scope_of(job).reuse) == [(second, 1)]
    done(inspect, job="J1", inspections=[InspectIn(second, "0.3 mm", "0.4 mm", False, item)])
    assert scope_of(job).reuse == {}


def test_of_what_is_not_told_apart_no_more_go_back_than_are_there():
    places = [f"MAIN-1/bolt-{n}" for n in (1, 2)]
    job = book(findings=[("main-bolt-rejected", place) for place in places])
    found = done(find_in_engine, job="J1", finds=[FindIn(place, "A-504", lot="L-1") for place in places])["found"]
    item = found[0]["item"]
    done(remove, job="J1", removals=[RemoveIn(place) for place in places])
    done(inspect, job="J1", inspections=[InspectIn(place, "as new", "as new", True, item) for place in places])
    assert {one["item"] for one in found} == {item}
    assert list(scope_of(job).reuse) == [(place, 1) for place in places]
    done(scrap_for_job, job="J1", item_id=item, amount=1, reason="dropped", who_pays="shop")
    assert len(scope_of(job).reuse) == 1


def test_as_many_queries_for_many_findings_as_for_one():
    few = book(findings=[("liner-lifted", "CYL-1")])
    many = book("J2", engine="A4-020544", findings=[("valve-removed", f"VALVE-{n}") for n in range(1, 9)])
    counts = []
    for job in (few, many):
        job = job_by_number(job.number)
        scope_of(job)
        with CaptureQueriesContext(connection) as captured:
            scope_of(job)
        counts.append(len(captured))
    assert counts == [3, 3]
