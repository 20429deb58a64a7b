"""`jobs` over HTTP: booked, listed, found again, and what is read of one."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act, Refusal
from kits.models import Job
from tests.api.rest.rebuilds import job_body

pytestmark = pytest.mark.django_db

RECORD = {
    "number": "J-1",
    "engine": "T4-00211",
    "family": "Testbed-4",
    "site": "TS",
    "state": "booked",
    "strip_on": "2025-01-15",
    "fit_on": "2025-01-20",
    "version": 1,
}


def test_a_job_is_booked_with_its_cart_and_bench_and_frozen_revisions(rebuild):
    answer = rebuild.manager.send("jobs", job_body(hours=1240.5, photo_ref="photo 1", complaint="smoke"))
    assert (answer.status_code, answer.json()) == (
        201,
        {
            "job": "J-1",
            "engine": "T4-00211",
            "family": "Testbed-4",
            "cart": "cart J-1",
            "bench": "bench J-1",
            "operations": [{"procedure": "T1", "revision": 1}],
            "number_ranges": [
                {
                    "numbers": "from T4-00150",
                    "part": "OLD-GASKET",
                    "fits": False,
                    "at": ["HEAD-LEFT/gasket", "HEAD-RIGHT/gasket"],
                    "procedures": ["T1"],
                }
            ],
            "near": [],
        },
    )
    read = rebuild.technician.read("jobs/J-1")
    assert read["ETag"] == '"1"'
    (finding,) = read.json()["findings"]
    assert read.json() == {
        **RECORD,
        "cart": "cart J-1",
        "bench": "bench J-1",
        "complaint": "smoke",
        "hours": "1240.5",
        "kilometres": None,
        "operations": [{"procedure": "T1", "name": "liners", "revision": 1}],
        "findings": [
            {
                "id": finding["id"],
                "code": "chosen",
                "place": "CYL-1",
                "extra_work": False,
                "state": "counts",
                "note": "",
            }
        ],
        "choices": [],
        "bores": [],
        "dates": [{"fit_on": "2025-01-20", "reason": ""}],
        "outside_work": [],
        "tools_on_loan": [],
        "end": None,
    }


def test_the_etag_changes_with_what_happens_to_the_job(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "noise"}]})
    assert rebuild.manager.read("jobs/J-1")["ETag"] == '"2"'


def test_a_booking_sent_again_books_once(rebuild):
    key = uuid.uuid4()
    first = rebuild.manager.send("jobs", job_body(), key=key)
    again = rebuild.manager.send("jobs", job_body(), key=key)
    assert (again.status_code, again.json(), again["Idempotent-Replayed"]) == (201, first.json(), "true")
    assert Job.objects.count() == 1


REFUSED = [
    ({"number": "J/1"}, 400, "fields-wrong"),
    ({"hours": "many"}, 400, "fields-wrong"),
    ({"wheels": 4}, 400, "fields-wrong"),
    ({"operations": []}, 422, "nothing-given"),
    ({"operations": ["T9"]}, 404, "not-found"),
    ({"site": "ELSEWHERE"}, 404, "not-found"),
    ({"owner": 999}, 404, "not-found"),
    ({"fit_on": "2025-01-14"}, 422, "dates-turned"),
    ({"engine": "T4-OO211"}, 422, "engine-number-unreadable"),
    ({"engine": "X9-00211"}, 422, "engine-number-unreadable"),
    ({"engine": "T4-00099"}, 422, "engine-number-too-low"),
    ({"new_engine": False}, 422, "engine-unknown"),
    ({"findings": [{"code": "rattle", "place": "CYL-1"}]}, 422, "finding-unknown"),
    ({"findings": [{"code": "chosen", "place": "ENGINE"}]}, 422, "finding-place-wrong"),
    ({"findings": [{"code": "chosen", "place": "CYL-9"}]}, 422, "finding-place-wrong"),
]


@pytest.mark.parametrize(("more", "status", "code"), REFUSED)
def test_a_booking_that_cannot_be_is_refused_by_name(rebuild, more, status, code):
    before = Act.objects.count()
    answer = rebuild.manager.send("jobs", job_body(**more))
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert (Job.objects.count(), Act.objects.count()) == (0, before)


@pytest.mark.parametrize(
    ("number", "status", "code"),
    [
        ("J\N{ZERO WIDTH SPACE}-1", 400, "fields-wrong"),
        ("\N{CYRILLIC CAPITAL LETTER JE}-1", 409, "job-exists"),
        (17, 400, "fields-wrong"),
    ],
)
def test_a_number_that_looks_like_another_jobs_is_refused(rebuild, number, status, code):
    rebuild.booked()
    answer = rebuild.manager.send("jobs", job_body(number=number, new_engine=False))
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert Job.objects.count() == 1


def test_a_state_that_is_none_is_refused_with_those_that_are(rebuild):
    answer = rebuild.manager.read("jobs", state="open")
    assert (answer.status_code, answer.json()["code"]) == (400, "fields-wrong")
    assert '"open" is none of: booked, closed, cancelled.' in answer.json()["detail"]


def test_what_nobody_does_to_a_job_is_said_to_be_no_method_of_it(rebuild):
    rebuild.booked()
    answer = rebuild.manager.generic("DELETE", "/api/v1/jobs/J-1")
    assert (answer.status_code, answer.json()["code"], answer["Allow"]) == (405, "method-not-allowed", "GET, HEAD")


def test_a_digit_too_many_is_near_what_was_meant(rebuild):
    """Read as a number it begins otherwise: one of the zeros before it is gone."""
    rebuild.booked()
    answer = rebuild.manager.send("jobs", job_body(number="J-2", engine="T4-002111", new_engine=False))
    assert answer.json()["values"] == {"engine": "T4-02111", "near": ["T4-00211"]}


def test_a_new_engine_is_booked_with_its_near_misses_said(rebuild):
    assert rebuild.booked().said["booked"]["near"] == []
    near = rebuild.did(rebuild.manager, "jobs", job_body(number="J-2", engine="T4-00121"))
    assert (near["engine"], near["near"]) == ("T4-00121", ["T4-00211"])
    again = rebuild.did(rebuild.manager, "jobs", job_body(number="J-3", engine="T4-00121"))
    assert again["near"] == []  # on record by now: nobody slipped


def test_an_unknown_engine_is_answered_with_its_near_misses(rebuild):
    rebuild.booked()
    answer = rebuild.manager.send("jobs", job_body(number="J-2", engine="T4-00221", new_engine=False))
    assert answer.json()["values"] == {"engine": "T4-00221", "near": ["T4-00211"]}
    assert Refusal.objects.get().code == "engine-unknown"
    assert any("(new_engine)" in way for way in answer.json()["ways_out"])


def test_a_number_is_booked_once(rebuild):
    rebuild.booked()
    answer = rebuild.manager.send("jobs", job_body())
    assert (answer.status_code, answer.json()["code"]) == (409, "job-exists")


def test_who_may_book_and_a_key_is_needed(rebuild):
    answer = rebuild.technician.send("jobs", job_body())
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
    answer = rebuild.manager.send("jobs", job_body(), key="")
    assert (answer.status_code, answer.json()["code"]) == (400, "key-missing")


def book_three(rebuild):
    rebuild.booked()
    rebuild.booked(number="J-2", engine="T4-00301", fit_on="2025-02-01")
    rebuild.booked(number="K-3", engine="T4-00300", fit_on="2025-03-01")


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ({}, ["J-1", "J-2", "K-3"]),
        ({"ordering": "-fit_on"}, ["K-3", "J-2", "J-1"]),
        ({"state": "closed"}, []),
        ({"state": "booked", "site": "TS", "family": "Testbed-4"}, ["J-1", "J-2", "K-3"]),
        ({"family": "Other"}, []),
        ({"engine": "T4-00301"}, ["J-2"]),
        ({"fit_on_from": "2025-01-21", "fit_on_to": "2025-02-01"}, ["J-2"]),
        ({"search": "K3"}, ["K-3"]),
        ({"search": "T4-0O211"}, ["J-1"]),
    ],
)
def test_jobs_are_listed_and_found(rebuild, query, numbers):
    book_three(rebuild)
    assert [row["number"] for row in rebuild.manager.rows("jobs", **query)] == numbers


def test_a_record_of_the_list(rebuild):
    assert rebuild.booked().manager.rows("jobs") == [RECORD]


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ({"state": "open"}, "fields-wrong"),
        ({"colour": "red"}, "parameter-unknown"),
        ({"fit_on_from": "soon"}, "fields-wrong"),
    ],
)
def test_a_filter_that_cannot_be_read_is_refused(rebuild, query, code):
    answer = rebuild.manager.read("jobs", **query)
    assert (answer.status_code, answer.json()["code"]) == (400, code)


@pytest.mark.parametrize("jobs", [1, 3])
def test_the_list_costs_two_queries_however_long(rebuild, jobs):
    """The token with its person, the rows of the page: no row costs one of its own."""
    book_three(rebuild) if jobs == 3 else rebuild.booked()
    with CaptureQueriesContext(connection) as queries:
        assert len(rebuild.manager.rows("jobs")) == jobs
    assert len(queries) == 2, [query["sql"] for query in queries]


@pytest.mark.parametrize(
    "path", ["", "/list", "/shorts", "/open-lines", "/startable", "/to-return", "/holds", "/pick-lists"]
)
def test_an_unknown_job_is_not_found_with_near_numbers(rebuild, path):
    answer = rebuild.booked().manager.read(f"jobs/J-l{path}")
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")
    assert answer.json()["values"] == {"job": "J-l", "near": ["J-1"]}


LINES = [
    ("RING", 1, "T1", 10),
    ("SET", 1, "T1", 10),
    ("ROD-BOLT", 2, "T1", 20),
    ("SHELL-STD", 1, "T1", 20),
    ("COVER-RUBBER", 1, "T1", 30),
    ("NEW-BOLT", 10, "T1", 30),
    ("NEW-GASKET", 1, "T1", 30),
    ("OIL", 4_000_000, "T1", 40),
    ("SEALANT", 7_069, "T1", 40),  # 1000 mm × π/4 × (3.0 mm)²: 7.069 mL
    ("WASHER", 1, "T1", 40),
]


def test_the_list_is_in_order_of_work_and_every_line_says_because(rebuild):
    body = rebuild.booked().technician.read("jobs/J-1/list").json()
    assert [(row["part"], row["amount"], row["procedure"], row["step"]) for row in body["lines"]] == LINES
    assert body["lines"][0]["because"] == [
        "T1 step 10 (T1-ring): cylinder chosen (CYL-1) → liner lifted (CYL-1): a chosen set is lifted"
    ]
    assert [row["part"] for row in body["lines"] if not row["because"]] == []
    assert (body["complete"], body["tools"]) == (True, [{"tool": "bead gun", "steps": ["T1/40"]}])
    assert "changes" not in body


def test_what_changed_since_a_pick_list_or_an_act(rebuild):
    rebuild.booked().held()
    booked = Act.objects.get(kind="book job").pk
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "CYL-2"}]})
    changes = rebuild.technician.read("jobs/J-1/list", since="1").json()["changes"]
    assert sorted((row["position"], row["parts"]) for row in changes["added"]) == [
        ("CYL-2/ring", ["RING"]),
        ("CYL-2/set", ["SET"]),
        ("ROD-2/bolt-1", ["ROD-BOLT"]),
        ("ROD-2/bolt-2", ["ROD-BOLT"]),
        ("ROD-2/shells", ["SHELL-STD"]),
    ]
    assert (changes["removed"], changes["changed"], changes["kept"]) == ([], [], 20)
    assert rebuild.technician.read("jobs/J-1/list", since=f"act:{booked}").json()["changes"] == changes


@pytest.mark.parametrize(
    ("query", "status", "code"),
    [
        ({"since": "yesterday"}, 400, "parameter-wrong"),
        ({"since": "7"}, 404, "not-found"),
        ({"since": "9" * 14}, 404, "not-found"),
        ({"waiting": "yes"}, 400, "parameter-wrong"),
        ({"until": "1"}, 400, "parameter-unknown"),
    ],
)
def test_a_list_asked_for_wrongly_is_refused(rebuild, query, status, code):
    answer = rebuild.booked().technician.read("jobs/J-1/list", **query)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_shorts_name_what_is_lacking_and_the_ways_out(rebuild):
    findings = [{"code": "chosen", "place": f"CYL-{n}"} for n in (1, 2, 3)]
    body = rebuild.booked(findings=findings).storekeeper.read("jobs/J-1/shorts").json()
    assert (body["complete"], [(row["part"], row["short"], row["free"]) for row in body["shorts"]]) == (
        False,
        [("SET", 1, 2)],
    )
    assert body["shorts"][0]["positions"] == ["CYL-1/set", "CYL-2/set", "CYL-3/set"]


def test_open_lines_name_everything_that_is_left(rebuild):
    body = rebuild.booked().technician.read("jobs/J-1/open-lines").json()
    assert body["job"] == "J-1"
    assert {row["what"] for row in body["open"]} == {"not fitted"}
    assert len(body["open"]) == 20


def test_what_was_held_for_a_withdrawn_finding_is_to_be_released(rebuild):
    job = rebuild.booked()
    assert job.technician.read("jobs/J-1/to-return").json() == {"job": "J-1", "lying": [], "held": []}
    found = job.did(job.technician, "jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "CYL-2"}]})
    job.held()
    before = job.technician.read("jobs/J-1/to-return").json()
    assert before == {"job": "J-1", "lying": [], "held": []}
    number = found["findings"][0]["id"]
    job.did(job.technician, f"jobs/J-1/findings/{number}/withdrawals", {"reason": "it was dirt"})
    after = job.technician.read("jobs/J-1/to-return").json()
    assert ("SET", 1) in [(row["part"], row["amount"]) for row in after["held"]]
    assert {row["hold"] for row in after["held"]} <= {row["hold"] for row in job.said["held"]["held"]}


def test_which_steps_can_begin_before_and_after_the_cart_came(rebuild):
    job = rebuild.booked()
    before = job.technician.read("jobs/J-1/startable").json()
    assert (before["startable"], {row["can_start"] for row in before["steps"]}) == (0, {False})
    job.held().picked().looked_at()
    job.did(
        job.storekeeper,
        f"pick-lists/{job.said['held']['pick_list']}/handovers",
        {"received_by": job.technician.person.username},
    )
    after = job.technician.read("jobs/J-1/startable").json()
    assert {row["can_start"] for row in after["steps"]} == {True}
    assert after["startable"] == len(after["steps"]) == len(before["steps"])
