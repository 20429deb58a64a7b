"""A procedure that fills nine litres where the book says 5.2: the list waits for a person's word, and so does one more."""

from copy import deepcopy
from datetime import UTC, datetime

import pytest

from tests.fixtures.shop_files import procedure_document
from tests.journeys.shop import Story

NOW = datetime(2025, 3, 1, 8, tzinfo=UTC)
JOB, FILL = "J1", "OIL/fill"


@pytest.fixture
def booked(story: Story) -> Story:
    """P3 in a new revision whose oil line says 9 L, booked on an Alder-4."""
    document = deepcopy(procedure_document("P3"))
    document["revision"] += 1
    (line,) = [one for one in document["lines"] if one["at"] == FILL]
    line["amount"] = "9 L"
    story.did(story.client("maren"), "procedures", {"document": document})
    for part, pieces in (("G-706", 30), ("A-901", 2)):
        story.shelve(part, pieces, NOW)
    body = {
        "number": JOB, "engine": "A4-020751", "site": "TB", "operations": ["P3"], "strip_on": "2025-03-03",
        "fit_on": "2025-03-20", "new_engine": True,
    }  # fmt: skip
    story.did(story.client("maren"), "jobs", body)
    return story


def hold(story: Story) -> tuple[int, dict[str, object]]:
    answer = story.client("jonah").send(f"jobs/{JOB}/holds", {})
    return answer.status_code, answer.json()


def says(story: Story, alternative: str, place: str = FILL) -> tuple[int, str]:
    body = {"choice": "", "place": place, "alternative": alternative, "reason": "a deep sump is fitted"}
    answer = story.client("jonah").send(f"jobs/{JOB}/choices", body)
    return answer.status_code, answer.json().get("code", "")


def test_the_list_waits_for_a_word_that_covers_the_fill(booked: Story) -> None:
    # Oil 5.2 L; a fill over 1.5 x book is asked about. Source: worked example of the demo shop (invented).
    (asked,) = [one for one in booked.list_of(JOB)["conflicts"] if one["kind"] == "fill-over-book"]
    assert asked["detail"].startswith("oil: 9 L at OIL/fill, the book says 5.2 L")
    assert (asked["position"], asked["parts"], asked["needs_person"]) == (FILL, ["G-706"], True)
    status, refused = hold(booked)
    assert (status, refused["code"]) == (422, "list-not-ready")
    assert 'confirm it by the choice "fill:9 L"' in str(refused["detail"])
    assert says(booked, "fill:much") == (422, "alternative-unknown")
    assert says(booked, "fill:9 kg") == (422, "alternative-unknown")
    assert says(booked, "fill:9 L", "SUMP/drain-washer") == (422, "choice-place-wrong")
    assert says(booked, "fill:8 L") == (201, "")
    assert hold(booked)[1]["code"] == "list-not-ready"
    assert says(booked, "fill:9 L") == (201, "")
    status, held = hold(booked)
    assert status == 201
    assert sum(row["amount"] for row in held["held"] if row["part"] == "G-706") == 9_000_000
    kept = booked.client("maren").read(f"jobs/{JOB}").json()["choices"]
    assert [(one["place"], one["alternative"], one["reason"]) for one in kept][-1] == (
        FILL,
        "fill:9 L",
        "a deep sump is fitted",
    )


def test_one_more_that_makes_it_too_much_is_asked_about_too(booked: Story) -> None:
    says(booked, "fill:9 L")
    hold(booked)
    more = {"part": "G-706", "amount": "1 L", "reason": "wrong on list"}
    jonah = booked.client("jonah")
    refused = jonah.send(f"jobs/{JOB}/extras", more)
    assert (refused.status_code, refused.json()["code"]) == (422, "fill-over-book")
    assert refused.json()["ways_out"] == ['Record the choice "fill:10 L" at OIL/fill, with the reason.']
    # For another place it is no fill.
    booked.did(jonah, f"jobs/{JOB}/extras", more | {"amount": "0.1 L", "positions": ["OIL/filter"]})
    assert says(booked, "fill:10 L") == (201, "")
    booked.did(jonah, f"jobs/{JOB}/extras", more)
    # What was asked for before counts.
    again = jonah.send(f"jobs/{JOB}/extras", more)
    assert (again.json()["code"], again.json()["values"]["total_ul"]) == ("fill-over-book", 11_000_000)


def test_the_book_itself_is_never_asked_about(story: Story) -> None:
    story.book("J1175", NOW, "2025-03-03", "2025-03-20")
    assert [one for one in story.list_of("J1175")["conflicts"] if one["kind"] == "fill-over-book"] == []
