"""Which steps can begin, from the books: nothing while it is only held, everything once it lies at the bench."""

from collections.abc import Collection
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, Part, Supplier, SupplierPart
from kits.models import Job
from kits.queries.scope import job_by_number
from kits.queries.startable import startable_of
from kits.services.outside import back_from_outside
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done
from tests.factories.outside import AT, CAMSHAFT, out_to_bench, rowan, sent
from tests.factories.rebuilds import at_bench, book, later, listed, shelve, shelve_lot
from tests.factories.stores import NOON, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


def steps(number: str = "J1") -> list[tuple[str, bool]]:
    answer = startable_of(job_by_number(number), TODAY)
    return [(f"{row['procedure']}/{row['step']}", row["can_start"]) for row in answer["steps"]]


def test_what_is_only_on_a_shelf_is_not_here():
    shelve({"A-208": 1, "A-209": 1, "A-212": 1, "A-901": 1, "G-701": 3, "G-706": 20, "G-710": 3})
    job = book(operations=["P3"], findings=[("carrier-off", "ENGINE"), ("cover-off", "ENGINE")])
    before = startable_of(job_by_number("J1"), TODAY)
    assert (before["startable"], {row["can_start"] for row in before["steps"]}) == (0, {False})
    sump = next(row for row in before["steps"] if row["step"] == 30)
    assert "a bead cannot wait: the joint is not begun on part of its things" in sump["why"]
    at_bench(job)
    after = startable_of(job_by_number("J1"), TODAY)
    assert steps() == [("P3/10", True), ("P3/20", True), ("P3/30", True), ("P3/40", True)]
    assert after["startable"] == 4


TODAY = NOON.date()


def read(on: date = TODAY, number: str = "J1") -> dict[str, dict[str, Any]]:
    """Step → how it stands, as seen on a day."""
    return {f"{row['procedure']}/{row['step']}": row for row in startable_of(job_by_number(number), on)["steps"]}


def shelve_all(job: Job, but: Collection[str] = ()) -> None:
    """Plenty of everything on the job's list on the shelves, but of these parts."""
    shelve(dict.fromkeys({line.part for line in listed(job).lines} - set(but), 60))


def hand_over(on: date) -> tuple[date | None, str]:
    found = startable_of(job_by_number("J1"), on)["hand_over"]
    return found["earliest"], found["why"]


def days(on: date = TODAY) -> dict[str, date | None]:
    return {name: row["start_on"] for name, row in read(on).items()}


def test_a_piece_outside_holds_the_steps_of_its_place_up_and_what_waits_for_them():
    job = rowan(findings=[("head-off", "ENGINE"), ("crank-out", "ENGINE")])
    shelve_all(job)
    item = out_to_bench(job)
    before = days()
    body = sent(job, date(2025, 2, 20), item)
    found = read()
    where = Item.objects.get(pk=item).called
    assert found["P4/18"]["why"] == [f"{where} is out until 2025-02-20"]
    assert (found["P4/18"]["start_on"], found["P4/18"]["because"]) == (
        date(2025, 2, 20), [f"{where} at GRINDER: due 2025-02-20"],
    )  # fmt: skip
    # The head waits for the camshaft, the pushrods' step asks for nothing on this job; the crank needs no camshaft.
    assert (found["P4/30"]["start_on"], found["P4/30"]["because"]) == (date(2025, 2, 20), ["after P4/18"])
    assert found["P4/30"]["waits_for"][0].startswith("P4/1")
    assert found["P4/15"]["start_on"] == before["P4/15"]
    assert "P4/35" not in found
    assert hand_over(TODAY) == (date(2025, 2, 20), "")
    # On its day it is due, a day later it is overdue, loudly: every step that needs it and the hand-over are re-dated by the read.
    assert days(date(2025, 2, 20))["P4/18"] == date(2025, 2, 20)
    assert read(date(2025, 2, 20))["P4/18"]["overdue"] == []
    late = date(2025, 2, 25)
    found = read(late)
    assert found["P4/18"]["because"] == [f"{where} at GRINDER: due 2025-02-20, overdue, not before 2025-02-25"]
    assert [name for name, row in found.items() if row["overdue"]] == ["P4/18", "P4/30", "P4/50"]
    assert hand_over(late) == (late, f"{where} at GRINDER was due 2025-02-20: not before {late}")
    done(back_from_outside, job="J1", outside_work=body["outside_work"], stamp=stamp(later(41)))
    assert days() == before
    assert read(late)["P4/30"]["overdue"] == []


def test_steps_that_a_person_named_need_it_and_no_others():
    rowan(findings=[("head-off", "ENGINE"), ("crank-out", "ENGINE")])
    sent(job_by_number("J1"), date(2025, 2, 20), needed_by=["P4/48"])
    found = read()
    assert [name for name, row in found.items() if any("is out until" in why for why in row["why"])] == ["P4/48"]
    assert "P4/18" not in found


def test_of_a_piece_whose_place_is_lost_every_step_waits():
    job = rowan(findings=[("head-off", "ENGINE"), ("crank-out", "ENGINE")])
    item = done(find_in_engine, job="J1", finds=[FindIn(AT, CAMSHAFT)])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn("", item=item)])
    sent(job, date(2025, 2, 20), item)
    found = read()
    assert {row["why"][-1] for row in found.values() if not row["why"][-1].startswith("a bead")} >= {
        f"{Item.objects.get(pk=item).called} is out until 2025-02-20"
    }
    assert all(row["start_on"] is None or row["start_on"] >= date(2025, 2, 20) for row in found.values())


def test_what_is_short_is_here_when_a_supplier_brings_it_and_what_nobody_sells_has_no_day():
    shelve({"A-111": 1})
    job = book(
        operations=["P1"],
        findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2"), ("main-bolt-rejected", "MAIN-1/bolt-1")],
    )
    shelve_all(job, but=["A-111", "A-504"])
    SupplierPart.objects.filter(part__number__in=["A-111", "A-504"]).delete()
    for name, number, lead in (("Saltby", "A-111", 12), ("Linmoor", "A-111", 30), ("Saltby", "A-504", None)):
        SupplierPart.objects.create(
            supplier=Supplier.objects.get(code=name),
            part=Part.objects.get(number=number),
            lead_days=lead,
            pack=lead or 1,
        )
    found = read()
    assert found["P1/10"]["start_on"] == date(2025, 1, 27)
    assert found["P1/10"]["because"] == ["1 A-111 bought on 2025-01-15: here 2025-01-27"]
    assert (found["P1/15"]["start_on"], found["P1/15"]["because"]) == (
        None,
        ["1 A-504 bought on 2025-01-15: no day is known"],
    )
    assert hand_over(TODAY) == (None, "P1/15: no day is known")
    # One more on the shelf, and it is here today; bought a day later, it is here a day later.
    assert days(TODAY + timedelta(days=1))["P1/10"] == date(2025, 1, 28)
    shelve_lot("A-111", 1, "MORE", cure="1Q22")
    assert (days()["P1/10"], read()["P1/10"]["because"]) == (TODAY, [])


def test_the_number_of_queries_does_not_grow_with_what_is_out():
    job = rowan(findings=[("head-off", "ENGINE")])
    counts = []
    for number in range(1, 4):
        sent(job, date(2025, 2, 20), out_to_bench(job, f"PUSHROD-0{number}/pushrod", "R-603"))
        with CaptureQueriesContext(connection) as seen:
            startable_of(job_by_number("J1"), TODAY)
        counts.append(len(seen))
    assert counts[0] == counts[2]
