"""Which steps can begin, from the books: nothing while it is only held, everything once it lies at the bench."""

from datetime import date

import pytest

from kits.queries.scope import job_by_number
from kits.queries.startable import startable_of
from kits.services.dates import send_outside
from tests.factories.acts import done
from tests.factories.rebuilds import at_bench, book, shelve

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def steps(number: str = "J1") -> list[tuple[str, bool]]:
    answer = startable_of(job_by_number(number))
    return [(f"{row['procedure']}/{row['step']}", row["can_start"]) for row in answer["steps"]]


def test_what_is_only_on_a_shelf_is_not_here():
    shelve({"A-208": 1, "A-209": 1, "A-212": 1, "A-901": 1, "G-701": 3, "G-706": 20, "G-710": 3})
    job = book(operations=["P3"], findings=[("carrier-off", "ENGINE"), ("cover-off", "ENGINE")])
    before = startable_of(job_by_number("J1"))
    assert (before["startable"], {row["can_start"] for row in before["steps"]}) == (0, {False})
    sump = next(row for row in before["steps"] if row["step"] == 30)
    assert "a bead cannot wait: the joint is not begun on part of its things" in sump["why"]
    at_bench(job)
    after = startable_of(job_by_number("J1"))
    assert steps() == [("P3/10", True), ("P3/20", True), ("P3/30", True), ("P3/40", True)]
    assert after["startable"] == 4


def test_a_piece_at_an_outside_machinist_holds_its_step_up_and_what_waits_for_it():
    shelve({"A-212": 1, "A-901": 1, "G-701": 2, "G-706": 20, "G-710": 1})
    job = book(operations=["P3"])
    at_bench(job)
    done(
        send_outside, job="J1", machinist="the grinder", piece="sump", due_on=date(2025, 2, 20), needed_by_step="P3/30"
    )
    found = {row["step"]: row for row in startable_of(job_by_number("J1"))["steps"]}
    assert found[30]["why"] == [
        "a piece is out until 2025-02-20",
        "a bead cannot wait: the joint is not begun on part of its things",
    ]
    assert (found[40]["can_start"], found[40]["waits_for"]) == (False, ["P3/30"])


def test_a_step_waits_for_the_later_of_its_own_piece_and_the_one_that_all_need():
    # The start of a step waits for all of it: start = latest of parts, predecessors, due back.
    book(operations=["P3"])
    sent = {"job": "J1", "machinist": "the grinder"}
    done(send_outside, **sent, piece="block", due_on=date(2025, 3, 1))
    done(send_outside, **sent, piece="sump", due_on=date(2025, 2, 20), needed_by_step="P3/30")
    found = {row["step"]: row["why"] for row in startable_of(job_by_number("J1"))["steps"]}
    assert "a piece is out until 2025-03-01" in found[30]
