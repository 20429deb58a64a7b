"""A parts line that the benches call wrong again and again comes up for review, over HTTP."""

import copy

import pytest

from kits.models import LineDoubt
from tests.factories.engines import operation_documents

pytestmark = pytest.mark.django_db

WRONG = {"part": "RING", "amount": 1, "reason": "wrong on list", "positions": ["CYL-1/ring"]}
CLOSE = "procedures/T1/line-reviews"


def jobs(rebuild, *numbers):
    for at, number in enumerate(numbers):
        rebuild.booked(number=number, engine=f"T4-0030{at}")


def ask(rebuild, job, **more):
    return rebuild.did(rebuild.technician, f"jobs/{job}/extras", WRONG | more)


def reviews(rebuild):
    return [(row["line"], row["part"], row["asked"]) for row in rebuild.manager.read("line-reviews").json()]


def test_the_third_time_the_line_is_up_for_review_with_jobs_days_and_people(rebuild):
    jobs(rebuild, "J-1", "J-2", "J-3")
    ask(rebuild, "J-1", occurred_at="2025-01-16T10:00:00Z")
    ask(rebuild, "J-2", occurred_at="2025-01-17T10:00:00Z", positions=[])
    ask(rebuild, "J-3", reason="dropped")
    # Twice is not yet often, and what was dropped says nothing of the list: three is (the shop's own rule).
    assert reviews(rebuild) == []
    third = ask(rebuild, "J-3", part="LIFTER", occurred_at="2025-01-18T10:00:00Z")
    assert third["held"][0]["amount"] == 1
    (row,) = rebuild.manager.read("line-reviews").json()
    assert rebuild.manager.read(CLOSE).json() == {"to_review": [row], "closed": []}
    extras = row.pop("extras")
    assert row == {
        "procedure": "T1",
        "name": "liners",
        "line": "T1-ring",
        "part": "RING",
        "positions": ["CYL-1/ring", "CYL-2/ring", "CYL-3/ring", "CYL-4/ring"],
        "asked": 3,
        "since": "2025-01-16T10:00:00Z",
    }
    who = rebuild.technician.person.username
    assert [(one["job"], one["on"], one["by"], one["part"], one["amount"], one["revision"]) for one in extras] == [
        ("J-1", "2025-01-16", who, "RING", 1, 1),
        ("J-2", "2025-01-17", who, "RING", 1, 1),
        ("J-3", "2025-01-18", who, "LIFTER", 1, 1),
    ]


def test_one_that_is_taken_back_does_not_count(rebuild):
    jobs(rebuild, "J-1")
    made = [ask(rebuild, "J-1") for _ in range(3)]
    assert reviews(rebuild) == [("T1-ring", "RING", 3)]
    hold = made[1]["held"][0]["hold"]
    rebuild.did(rebuild.manager, f"holds/{hold}/releases", {"reason": "asked for by mistake"})
    assert reviews(rebuild) == []
    ask(rebuild, "J-1")
    assert reviews(rebuild) == [("T1-ring", "RING", 3)]
    # That the job was cancelled does not make the list right.
    rebuild.did(rebuild.manager, "jobs/J-1/cancellations", {"reason": "the owner sold it", "signed_by": "R. Alder"})
    assert reviews(rebuild) == [("T1-ring", "RING", 3)]


def test_a_word_closes_it_and_counting_begins_anew(rebuild):
    jobs(rebuild, "J-1", "J-2")
    for job in ("J-1", "J-1", "J-2"):
        ask(rebuild, job)
    refused = rebuild.technician.send(CLOSE, {"line": "T1-ring", "word": "so"})
    assert refused.json()["code"] == "not-allowed"
    for said, code in (
        ({"line": "T1-ring", "word": " "}, "fields-wrong"),
        ({"line": "T1-rod", "word": "so"}, "review-not-open"),
        ({"part": "RING", "word": "so"}, "review-not-open"),
        ({"word": "so"}, "review-not-open"),
        ({"part": "NOBODY", "word": "so"}, "not-found"),
        ({"line": "T1-ring", "word": "so", "mended_in": 1}, "not-mended"),
        ({"line": "T1-ring", "word": "so", "mended_in": 2}, "not-found"),
    ):
        answer = rebuild.manager.send(CLOSE, said)
        assert answer.json()["code"] == code, answer.content
    assert rebuild.manager.send("procedures/T9/line-reviews", {"line": "T1-ring", "word": "so"}).status_code == 404
    assert reviews(rebuild) == [("T1-ring", "RING", 3)]
    document = copy.deepcopy(operation_documents()["T1"])
    rebuild.did(rebuild.manager, "procedures", {"document": document | {"revision": 2}})
    word = {"line": "T1-ring", "mended_in": 2, "word": "two rings a bore from now on"}
    body = rebuild.did(rebuild.manager, CLOSE, word)
    assert [one["job"] for one in body["answered"]] == ["J-1", "J-1", "J-2"]
    assert (body["line"], body["mended_in"]) == ("T1-ring", 2)
    (closed,) = rebuild.manager.read(CLOSE).json()["closed"]
    assert (closed["word"], closed["mended_in"], closed["by"]) == (
        word["word"],
        2,
        rebuild.manager.person.username,
    )
    assert rebuild.manager.send(CLOSE, word).json()["code"] == "review-not-open"
    ask(rebuild, "J-1")
    ask(rebuild, "J-2")
    assert reviews(rebuild) == []
    ask(rebuild, "J-2")
    assert reviews(rebuild) == [("T1-ring", "RING", 3)]
    rebuild.did(rebuild.manager, CLOSE, {"line": "T1-ring", "word": "the list is right: the bench drops them"})
    assert [row["mended_in"] for row in rebuild.manager.read(CLOSE).json()["closed"]] == [None, 2]


def test_a_part_that_no_line_asks_for_is_reviewed_by_its_number(rebuild):
    jobs(rebuild, "J-1")
    for _ in range(3):
        ask(rebuild, "J-1", part="STEM-SEAL", positions=["VALVE-1/stem-seal"])
    assert reviews(rebuild) == [("", "STEM-SEAL", 3)]
    (row,) = rebuild.manager.read("line-reviews").json()
    assert row["positions"] == ["VALVE-1/stem-seal"]
    rebuild.did(rebuild.manager, CLOSE, {"part": "STEM-SEAL", "word": "right: T2 brings it"})
    assert reviews(rebuild) == []


def test_the_list_takes_the_same_queries_for_one_line_and_for_three(rebuild, django_assert_num_queries):
    jobs(rebuild, "J-1")
    for part, position in (("RING", "CYL-1/ring"), ("ROD-BOLT", "ROD-1/bolt-1"), ("LIFTER", "")):
        for _ in range(3):
            ask(rebuild, "J-1", part=part, positions=[position] if position else [])
        with django_assert_num_queries(5):
            rebuild.manager.read("line-reviews")
    assert len(reviews(rebuild)) == 3
    assert LineDoubt.objects.count() == 9
