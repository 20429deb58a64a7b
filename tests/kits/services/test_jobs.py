"""Booking a job and what changes its scope."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import Hold, HoldEnd, Owner, Refusal
from kits.models import Approval, Engine, FindingWithdrawal, Job, JobOperation
from kits.queries.to_return import to_return
from kits.services.families import enter_procedure
from kits.services.jobs import (
    FindingIn,
    add_operations,
    book_job,
    record_approval,
    record_choice,
    record_findings,
    withdraw_finding,
)
from kits.services.strip import FindIn, find_in_engine
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    TODAY,
    book,
    give,
    held,
    hold,
    listed,
    parts_on,
    person,
    shelve,
    take,
)
from tests.fixtures.shop_files import procedure_document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

BOOKING = {
    "number": "J1",
    "engine_number": "A4-020543",
    "site": "TB",
    "operations": ["P1"],
    "strip_on": date(2025, 1, 10),
    "fit_on": date(2025, 1, 20),
    "new_engine": True,
}


def test_a_booking_makes_the_engine_its_cart_and_its_bench_and_freezes_the_revisions():
    owner = Owner.objects.create(name="Harbour works")
    body = done(
        book_job, **BOOKING, owner_id=owner.pk, complaint="coolant in oil", hours=Decimal("1089.0"), photo_ref="p 1"
    )
    assert body == {
        "job": "J1",
        "engine": "A4-020543",
        "family": "Alder-4",
        "cart": "cart J1",
        "bench": "bench J1",
        "operations": [{"procedure": "P1", "revision": 1}],
        # Demo shop: A-201 and its ten bolts A-501 only below A4-020450.
        "number_ranges": [
            {"numbers": "from A4-020450", "part": part, "fits": False, "at": [at], "procedures": ["P1"]}
            for part, at in (("A-201", "HEAD/gasket"), ("A-501", "HEAD/bolt-01 to bolt-10"))
        ],
        "near": [],
    }
    job = Job.objects.get()
    assert (job.engine.owner_id, job.engine.digits, job.cart.kind, job.bench.kind) == (owner.pk, 20543, "cart", "bench")
    assert list(job.dates.values_list("fit_on", flat=True)) == [date(2025, 1, 20)]


def test_the_frozen_revision_stays_when_a_new_one_is_entered():
    job = book(findings=[("liner-lifted", "CYL-1")])
    newer = procedure_document("P1") | {"revision": 2}
    newer["lines"] = [line for line in newer["lines"] if line["part"] != "A-111"]
    done(enter_procedure, document=newer)
    assert parts_on(job)["A-111"] == 1
    assert "A-111" not in parts_on(book("J2", engine="A4-020544", findings=[("liner-lifted", "CYL-1")]))


@pytest.mark.parametrize(
    ("code", "changes"),
    [
        ("nothing-given", {"operations": []}),
        ("dates-turned", {"fit_on": date(2025, 1, 9)}),
        ("not-found", {"site": "XX"}),
        ("not-found", {"operations": ["P9"]}),
        ("not-found", {"owner_id": 999_999}),
        ("operation-other-family", {"operations": ["P4"]}),
        ("engine-number-unreadable", {"engine_number": "A4-02O543"}),
        ("engine-unknown", {"new_engine": False}),
        ("finding-unknown", {"findings": [FindingIn("haunted")]}),
        ("finding-place-wrong", {"findings": [FindingIn("liner-lifted", "ENGINE")]}),
    ],
)
def test_what_cannot_be_booked(code, changes):
    refused(code, book_job, **(BOOKING | changes))
    assert Job.objects.count() == Engine.objects.count() == 0


def test_a_number_is_booked_once_and_near_engines_are_named():
    done(book_job, **BOOKING)
    refused("job-exists", book_job, **BOOKING)
    error = refused(
        "engine-unknown", book_job, **(BOOKING | {"number": "J2", "engine_number": "A4-020534", "new_engine": False})
    )
    assert error.values["near"] == ["A4-020543"]
    assert Refusal.objects.filter(code="engine-unknown").count() == 1


def test_every_bad_finding_is_named():
    job = book()
    findings = [FindingIn("haunted"), FindingIn("liner-lifted", "CYL-1"), FindingIn("liner-lifted", "CYL-9")]
    error = refused("finding-unknown", record_findings, job="J1", findings=findings)
    assert isinstance(error, ManyErrors)
    assert [number for number, _ in error.errors] == [1, 3]
    refused("nothing-given", record_findings, job="J1", findings=[])
    assert job.findings.count() == 0


def test_extra_work_waits_for_the_owner():
    job = book(findings=[("liner-lifted", "CYL-1")])
    body = done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-2")], extra_work=True)
    assert body["waiting"] is True
    assert parts_on(job)["A-111"] == 1
    finding = body["findings"][0]["id"]
    word = {"job": "J1", "findings": [finding], "given_by": "owner", "how": "telephone"}
    refused("reason-missing", record_approval, **(word | {"how": " "}), approved=True)
    refused("not-found", record_approval, **(word | {"findings": [999_999]}), approved=True)
    refused("not-found", record_approval, **(word | {"findings": []}), approved=True)
    done(record_approval, **word, approved=False)
    assert (parts_on(job)["A-111"], listed(job).scope.waiting) == (1, ())
    done(record_approval, **word, approved=True, limit_coins=120_00)
    assert parts_on(job)["A-111"] == 2
    assert Approval.objects.count() == 2


def test_a_finding_is_recorded_once_at_one_place_and_the_refusal_names_it():
    job = book(findings=[("liner-lifted", "CYL-1")])
    first = job.findings.get().pk
    more = [FindingIn("liner-lifted", "CYL-2"), FindingIn("liner-lifted", "CYL-1"), FindingIn("liner-lifted", "CYL-2")]
    error = refused("finding-on-job", record_findings, job="J1", findings=more)
    assert [(at, one.code, one.values["finding"], one.values["entry"]) for at, one in error.errors] == [
        (2, "finding-on-job", first, None),
        (3, "finding-on-job", None, 1),
    ]
    assert job.findings.count() == 1
    refused("finding-on-job", record_findings, job="J1", findings=more[1:2], extra_work=True)
    done(withdraw_finding, job="J1", finding_id=first, reason="the other cylinder")
    again = done(record_findings, job="J1", findings=more[1:2])["findings"][0]["id"]
    assert (
        refused("finding-on-job", record_findings, job="J1", findings=more[1:2]).errors[0][1].values["finding"] == again
    )
    assert (job.findings.count(), parts_on(job)["A-111"]) == (2, 1)
    twice = BOOKING | {"number": "J2", "engine_number": "A4-020544", "findings": more[::2]}
    refused("finding-on-job", book_job, **twice)
    assert not Job.objects.filter(number="J2").exists()


def test_an_owner_who_refused_is_asked_again_on_the_same_finding():
    job = book()
    found = {"job": "J1", "findings": [FindingIn("liner-lifted", "CYL-2")], "extra_work": True}
    finding = done(record_findings, **found)["findings"][0]["id"]
    way = refused("finding-on-job", record_findings, **found).errors[0][1].ways_out[0]
    assert way == f"Record the owner's word on finding {finding}: it waits for it."
    word = {"job": "J1", "findings": [finding], "given_by": "owner", "how": "telephone"}
    done(record_approval, **word, approved=False)
    way = refused("finding-on-job", record_findings, **found).errors[0][1].ways_out[0]
    assert way == f"Ask the owner again and record the new word on finding {finding}: the newest counts."
    assert "A-111" not in parts_on(job)
    done(record_approval, **word, approved=True)
    assert parts_on(job)["A-111"] == 1
    assert refused("finding-on-job", record_findings, **found).errors[0][1].ways_out[0] == "Nothing: it is on the list."


def test_a_withdrawn_finding_shrinks_the_list_and_deletes_nothing():
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    first = job.findings.order_by("pk").first()
    refused("reason-missing", withdraw_finding, job="J1", finding_id=first.pk, reason="")
    refused("not-found", withdraw_finding, job="J1", finding_id=999_999, reason="mistaken")
    body = done(withdraw_finding, job="J1", finding_id=first.pk, reason="mistaken")
    assert body == {
        "withdrawn": first.pk,
        "code": "liner-lifted",
        "place": "CYL-1",
        "to_return": {"job": "J1", "lying": [], "held": []},
    }
    refused("withdrawn-already", withdraw_finding, job="J1", finding_id=first.pk, reason="mistaken")
    assert parts_on(job)["A-111"] == 1
    assert (job.findings.count(), FindingWithdrawal.objects.count()) == (2, 1)


def test_an_operation_is_added_once():
    job = book()
    assert done(add_operations, job="J1", operations=["P2", "P2"]) == {
        "operations": [{"procedure": "P2", "revision": 1}]
    }
    refused("operation-on-job", add_operations, job="J1", operations=["P2"])
    refused("nothing-given", add_operations, job="J1", operations=[])
    assert JobOperation.objects.filter(job=job).count() == 2


CHOICE = {"job": "J1", "choice": "upper-half", "place": "MAIN-1/upper-half", "alternative": "2", "reason": "measured"}


def test_a_choice_needs_its_reason_its_place_and_one_of_its_alternatives():
    book(findings=[("coolant-in-oil", "ENGINE")])
    for code, changes in [
        ("reason-missing", {"reason": " "}),
        ("choice-unknown", {"choice": "colour"}),
        ("alternative-unknown", {"alternative": "4"}),
        ("alternative-unknown", {"alternative": "none"}),
        ("position-unknown", {"place": "MAIN-9/upper-half"}),
        ("choice-place-wrong", {"place": "ENGINE"}),
        ("choice-place-wrong", {"place": "MAIN-1"}),
        ("choice-place-wrong", {"choice": "head-joint", "alternative": "old", "place": "HEAD/gasket"}),
    ]:
        refused(code, record_choice, **(CHOICE | changes))
    assert done(record_choice, **CHOICE) == {
        "choice": "upper-half",
        "place": "MAIN-1/upper-half",
        "alternative": "2",
        "released": [],
    }


def test_what_the_engine_number_rules_out_is_no_candidate():
    job = book(findings=[("head-off", "ENGINE")])
    choice = {"job": "J1", "choice": "head-joint", "place": "ENGINE", "alternative": "old", "reason": "we have them"}
    error = refused("choice-not-candidate", record_choice, **choice)
    assert "below A4-020450" in error.message
    assert listed(job).scope.recorded == ()


def test_a_choice_releases_the_holds_of_the_candidates_that_were_not_chosen():
    shelve(dict.fromkeys(("A-401", "A-402", "A-403"), 1) | {"A-405": 1})
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    grades = {row["part"]: row["hold"] for row in body["held"]}
    assert all(row["on_approval"] for row in body["held"])
    place = next(row["positions"][0][0] for row in body["held"] if row["part"] == "A-402")
    done_ = done(record_choice, **(CHOICE | {"place": place}))
    assert done_["released"] == [grades["A-401"], grades["A-403"]]
    assert dict(HoldEnd.objects.values_list("hold__item__part__number", "how")) == {
        "A-401": "released",
        "A-403": "released",
    }
    assert Hold.objects.filter(end__isnull=True).count() == 2
    # The chosen one is held already: another hold brings candidates for the other mains only, and it is no extra.
    again = hold(job, steps=["P1/15"])
    assert held(again) == {"A-401": 1, "A-403": 1}
    assert {row["positions"][0][0] for row in again["held"]}.isdisjoint({place})


def test_picked_candidates_that_were_not_chosen_are_to_be_returned():
    shelve(dict.fromkeys(("A-401", "A-402", "A-403"), 5))
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    take(body)
    give(body, missing=["lower-half"])
    for number in range(1, 6):
        done(record_choice, **(CHOICE | {"place": f"MAIN-{number}/upper-half"}))
    assert {row["part"]: row["amount"] for row in to_return(job, TODAY)["lying"]} == {"A-401": 5, "A-403": 5}


def test_another_grade_than_the_candidates_is_asked_for_anew():
    shelve({"A-401": 1})
    job = book(findings=[("coolant-in-oil", "ENGINE")])
    hold(job, steps=["P1/15"])
    done(record_choice, **(CHOICE | {"alternative": "3"}))
    shelve({"A-403": 5})
    again = hold(job, steps=["P1/15"])
    rows = [(row["part"], row["on_approval"]) for row in again["held"] if row["positions"][0][0] == CHOICE["place"]]
    assert rows == [("A-403", False)]


def test_the_kind_that_stays_on_the_other_bank_asks_a_person():
    # Story S26 of the demo shop: the right bank still wears cork, the same kind on both banks.
    job = book("J1179", engine="H8-03412", operations=["P5"], findings=[("head-off", "BANK-LEFT")])
    assert [one for one in listed(job).conflicts if one.needs_person] == []
    done(find_in_engine, job="J1179", finds=[FindIn("ROCKER-COVER-RIGHT/gasket", "H-205")])
    assert [one.kind for one in listed(job).conflicts if one.needs_person] == ["not-alike"]
    done(record_findings, job="J1179", findings=[FindingIn("head-off", "BANK-RIGHT")])
    assert [one for one in listed(job).conflicts if one.needs_person] == []


def test_nothing_is_recorded_on_an_ended_job():
    book()
    Job.objects.update(state=Job.State.CLOSED)
    refused("job-ended", record_findings, job="J1", findings=[FindingIn("head-off")])
    refused("job-ended", record_choice, **CHOICE)
    refused("job-ended", add_operations, job="J1", operations=["P2"])
    assert person("clerk").username == "clerk"
