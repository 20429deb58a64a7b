"""The list of a job as people read it; the totals of the demo shop's worked example."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Part
from kits.models import PickList
from kits.queries.job_list import changes_document, changes_since, document, free_for, job_list, sits_in
from kits.queries.scope import job_by_number
from kits.services.jobs import FindingIn, record_findings
from kits.services.strip import FindIn, find_in_engine
from tests.factories.acts import done
from tests.factories.rebuilds import (
    TODAY,
    book,
    hold,
    listed,
    parts_on,
    shelve,
    shelve_lot,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

S1 = [
    ("cylinder-chosen", "CYL-2"),
    ("cylinder-chosen", "CYL-3"),
    *(("valve-removed", f"VALVE-{number}") for number in range(1, 9)),
]


def test_what_two_operations_ask_for_is_listed_once():
    # Worked example of the demo shop (J1072): by position, not added up over the operations.
    job = book("J1072", operations=["P1", "P2", "P3"], findings=S1)
    totals = parts_on(job)
    right = {
        "A-203": 1, "A-204": 1, "A-205": 1, "A-502": 10, "G-701": 10_462, "A-212": 1, "A-901": 1, "G-706": 5_200_000,
        "A-101": 2, "A-111": 2, "A-503": 4, "A-210": 8,
    }  # fmt: skip
    assert {part: totals.get(part) for part in right} == right
    checked = set(right)
    positions = {key for line in listed(job).lines if line.part in checked for key in line.keys}
    assert len(positions) == 33
    assert all(line.becauses for line in listed(job).lines)


def test_the_document_says_what_is_bought_in_what_waits_and_which_tools_ride_along():
    job = book(findings=[("camshaft-worn", "ENGINE"), ("liner-lifted", "CYL-1")])
    done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-2")], extra_work=True)
    said = document(listed(job))
    assert [(one["position"], one["text"], one["shown"]) for one in said["buy_in"]] == [
        ("CAMSHAFT/camshaft", "camshaft", "1")
    ]
    assert said["waiting_for_owner"] == [{"code": "liner-lifted", "place": "CYL-2"}]
    ring = next(line for line in said["lines"] if line["part"] == "A-111")
    assert (ring["amount"], ring["positions"], ring["class"], ring["notes"]) == (
        1,
        ["CYL-1/base-ring"],
        "always-new",
        ["soap, no twist; clamp before the crank turns"],
    )
    assert "liner hold-down clamp" in {one["tool"] for one in said["tools"]}
    with_waiting = document(job_list(job_by_number("J1"), TODAY, with_waiting=True))
    assert next(line["amount"] for line in with_waiting["lines"] if line["part"] == "A-111") == 2


def test_what_changed_since_the_last_list():
    shelve({"A-111": 4})
    job = book(findings=[("liner-lifted", "CYL-1")])
    hold(job, steps=["P1/10"])
    act = PickList.objects.get().act_id
    done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-2")])
    said = changes_document(changes_since(listed(job), job_list(job_by_number("J1"), TODAY, upto_act=act)))
    added = {one["position"]: one["parts"] for one in said["added"]}
    assert added["CYL-2/base-ring"] == ["A-111"]
    assert (said["removed"], said["changed"]) == ([], [])
    before = job_list(job_by_number("J1"), TODAY, upto_act=act).entries()
    assert said["kept"] == len(before)


def test_free_is_what_is_good_on_the_day_with_the_margin():
    shelve_lot("A-111", 3, "GOOD", cure="1Q22")
    shelve_lot("A-111", 5, "OLD", cure="1Q18")
    job = book(findings=[("liner-lifted", "CYL-1")])
    lots = Part.objects.get(number="A-111").lots
    # Margin of the demo shop: 14 days beyond the day of fitting.
    for day, good in ((date(2025, 2, 3), 8), (date(2025, 2, 2), 3)):
        lots.filter(code="OLD").update(expires_on=day)
        its = listed(job)
        assert free_for(its.fit_day, its.shop, its.parts, its.standings)["A-111"] == good


def test_what_sits_in_the_engine_counted_pieces_only():
    job = book()
    done(find_in_engine, job="J1", finds=[FindIn("HEAD/gasket", "A-203")])
    assert sits_in(job) == {"HEAD/gasket": "A-203"}


def test_a_long_list_costs_no_more_queries_than_a_short_one():
    counts = []
    for number, engine, findings in (("J1", "A4-020543", [("liner-lifted", "CYL-1")]), ("J2", "A4-020544", S1)):
        book(number, engine=engine, operations=["P1", "P2", "P3"], findings=findings)
        job = job_by_number(number)
        job_list(job, TODAY)
        with CaptureQueriesContext(connection) as captured:
            job_list(job, TODAY)
        counts.append(len(captured))
    assert counts == [7, 7]
