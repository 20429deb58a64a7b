"""Jobs out of a table, over HTTP: read, answered, booked."""

import base64

import pytest

from inventory.models import Owner
from kits.models import Job
from tests.factories.workshop import workshop

pytestmark = pytest.mark.django_db
HEAD = "Job number,Engine number,Operations,Site,Opened,Planned,Done on,Owner,Run hours\n"


@pytest.fixture
def maren(manager):
    workshop()
    return manager


def kept(client, text):
    content = base64.b64encode((HEAD + text).encode()).decode()
    return client.send("imports", {"kind": "jobs", "name": "jobs.csv", "content": content})


def test_a_table_of_jobs_is_read_answered_and_booked(maren):
    owner = Owner.objects.create(name="Harbour works")
    rows = f"J9,P2-0001,SETS+RINGS,TS,2025-01-13,,,{owner.pk},1200\nJ3,P2-0001,SETS,TS,2023-05-02,,2023-05-09,,900\nJ4,P2-1,SETS,TS,2025-01-13,,,,\n"
    number = kept(maren, rows).json()["import"]
    said = maren.send(f"imports/{number}/readings", {}).json()
    assert [said[name] for name in ("accepted", "questioned", "refused")] == [1, 1, 1]
    (asked,) = maren.read(f"imports/{number}/rows", verdict="questioned").json()["rows"]
    assert [(one["code"], one["proposal"]) for one in asked["questions"]] == [("no-day", "2025-01-13")]
    maren.send(f"imports/{number}/answers", {"as_proposed": ["no-day"]})
    answer = maren.send(f"imports/{number}/bookings", {})
    assert (answer.status_code, answer.json()["booked"]) == (201, {"jobs": 2, "of_the_past": 1})
    assert list(Job.objects.order_by("number").values_list("number", "state")) == [("J3", "closed"), ("J9", "booked")]
    assert maren.read("jobs/J3").json()["end"]["reason"].startswith("of the past, closed on 2023-05-09")


def test_owners_are_numbers_and_a_row_that_cannot_be_booked_is_named(maren):
    answer = kept(maren, "J9,P2-0001,SETS,TS,2025-02-03,2025-02-10,,Harbour works,\n")
    assert (answer.status_code, answer.json()["code"], "Harbour" in answer.content.decode()) == (
        422,
        "personal-data",
        False,
    )
    rows = "J9,P2-0001,SETS,TS,2025-01-13,2025-01-20,,,800\nJ8,P2-0001,SETS,TS,2025-01-12,2025-01-20,,,900\n"
    number = kept(maren, rows).json()["import"]
    maren.send(f"imports/{number}/readings", {})
    refused = maren.send(f"imports/{number}/bookings", {}).json()
    assert [(line["line"], line["code"]) for line in refused["lines"]] == [(2, "reading-asked")]
    assert not Job.objects.exists()
