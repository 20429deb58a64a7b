"""Hours of extra work inside the owner's word, over HTTP: silence, a word, the limit, a new word, and what was wrong."""

import pytest

pytestmark = pytest.mark.django_db

PATH = "jobs/J-1/extra-hours"
NOON = "2025-01-16T12:00:00Z"


@pytest.fixture
def job(rebuild):
    """J-1 with a noise that was found beyond the booked scope; the owner was not asked yet."""
    rebuild.booked()
    found = {"findings": [{"code": "noise"}], "extra_work": True, "occurred_at": NOON}
    rebuild.said["finding"] = rebuild.did(rebuild.technician, "jobs/J-1/findings", found)["findings"][0]["id"]
    return rebuild


def entry(job, time, **more):
    who = job.technician.person.username
    return {
        "finding": job.said["finding"],
        "person": who,
        "day": "2025-01-16",
        "time": time,
        "occurred_at": NOON,
    } | more


def says(job, hours, approved=True, **more):
    word = {"findings": [job.said["finding"]], "approved": approved, "given_by": "owner", "how": "telephone"}
    return job.did(job.manager, "jobs/J-1/approvals", word | ({"limit_hours": hours} if hours else {}) | more)[
        "approval"
    ]


def read(job):
    answer = job.manager.read("jobs/J-1/approvals").json()
    return answer["hours"], [(row["typed"], row["time_s"], row["reversed"]) for row in answer["worked"]]


def refused(job, time, **more):
    answer = job.technician.send(PATH, entry(job, time, **more))
    return answer.status_code, answer.json()["code"]


def awaited(job):
    rows = job.manager.read("jobs/J-1/reminders", on="2025-03-01").json()["reminders"]
    return [row["number"] for row in rows if row["kind"] == "owner's word awaited"]


def test_silence_lets_nothing_in_and_stays_on_the_open_list(job):
    assert refused(job, "1 min") == (422, "owner-not-asked")
    assert awaited(job) == [job.said["finding"]]
    assert read(job) == ([], [])
    says(job, "", approved=False)
    assert (refused(job, "1 min"), awaited(job)) == ((422, "owner-not-asked"), [])


def test_on_the_limit_passes_and_above_it_a_new_word_is_needed(job):
    first = says(job, "2 h", limit_coins=50_000)
    made = job.did(job.technician, PATH, entry(job, "1.5 h"))
    assert (made["time_s"], made["hours"]) == (
        5400,
        {"approval": first, "limit_s": 7200, "used_s": 5400, "left_s": 1800},
    )
    assert refused(job, "1801 s") == (422, "hours-over-limit")
    job.did(job.technician, PATH, entry(job, "30 min"))
    assert refused(job, "1 s") == (422, "hours-over-limit")
    assert read(job)[0] == [{"approval": first, "limit_s": 7200, "used_s": 7200, "left_s": 0}]
    # The newest word counts, for what was worked before it too.
    second = says(job, "3 h")
    assert read(job)[0] == [{"approval": second, "limit_s": 10_800, "used_s": 7200, "left_s": 3600}]
    assert refused(job, "3601 s") == (422, "hours-over-limit")
    job.did(job.technician, PATH, entry(job, "1 h", day="2025-01-15"))
    assert [row["limit_s"] for row in job.manager.read("jobs/J-1/approvals").json()["approvals"]] == [7200, 10_800]
    # Without hours in it a word does not limit them.
    third = says(job, "")
    job.did(job.technician, PATH, entry(job, "8 h", day="2025-01-15"))
    assert read(job)[0] == [{"approval": third, "limit_s": None, "used_s": 39_600, "left_s": None}]


def test_an_entry_is_reversed_and_stays_to_be_read(job):
    says(job, "1 h")
    made = job.did(job.technician, PATH, entry(job, "1 h"))["entry"]
    assert refused(job, "1 s") == (422, "hours-over-limit")
    done = job.did(job.technician, f"{PATH}/{made}/reversals", {"reason": "it was the other job"})
    assert done == {"entry": made, "time_s": 3600}
    assert read(job)[0][0]["left_s"] == 3600
    job.did(job.technician, PATH, entry(job, "20 min"))
    assert read(job)[1] == [("1 h", 3600, "it was the other job"), ("20 min", 1200, None)]
    again = job.technician.send(f"{PATH}/{made}/reversals", {"reason": "again"})
    assert (again.status_code, again.json()["code"]) == (409, "withdrawn-already")
    lost = job.technician.send(f"{PATH}/999/reversals", {"reason": "again"})
    assert (lost.status_code, lost.json()["code"]) == (404, "not-found")


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"time": "0 h"}, 422, "amount-not-positive"),
        ({"time": "25 h"}, 422, "amount-too-large"),
        ({"time": "two hours"}, 422, "quantity-unreadable"),
        ({"time": 60}, 400, "fields-wrong"),
        ({"day": "2025-01-14"}, 422, "dates-turned"),
        ({"day": "2025-01-17"}, 422, "dates-turned"),
        ({"person": "nobody"}, 404, "not-found"),
        ({"finding": 999_999}, 404, "not-found"),
    ],
)
def test_what_cannot_be_is_refused_by_name(job, more, status, code):
    says(job, "10 h")
    assert refused(job, **({"time": "1 h"} | more)) == (status, code)
    assert read(job)[1] == []


def test_a_limit_that_cannot_be_read_is_refused(job):
    word = {"findings": [job.said["finding"]], "approved": True, "given_by": "owner", "how": "telephone"}
    for text, code in (("ten", "quantity-unreadable"), ("200000 h", "amount-too-large"), ("-1 h", "quantity-negative")):
        answer = job.manager.send("jobs/J-1/approvals", word | {"limit_hours": text})
        assert (answer.status_code, answer.json()["code"]) == (422, code)


def test_what_was_booked_or_withdrawn_is_no_extra_work(job):
    booked = job.manager.read("jobs/J-1").json()["findings"][0]["id"]
    assert refused(job, "1 h", finding=booked) == (422, "not-extra-work")
    says(job, "10 h")
    job.did(job.technician, f"jobs/J-1/findings/{job.said['finding']}/withdrawals", {"reason": "the belt"})
    assert refused(job, "1 h") == (409, "withdrawn-already")


def test_who_may_and_keys(job):
    for path, body in ((PATH, entry(job, "1 h")), (f"{PATH}/1/reversals", {"reason": "wrong"})):
        assert job.storekeeper.send(path, body).json()["code"] == "not-allowed"
        assert job.manager.send(path, body, key="").json()["code"] == "key-missing"
