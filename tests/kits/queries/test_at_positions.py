"""What sits where in a job's engine, what came out, and what at its bench is old."""

import pytest

from kits.queries.at_positions import came_out, fresh_at_bench, kept_on_bench, old_at_bench, on_bench, solid_at
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done
from tests.factories.rebuilds import at_bench, book, item_at, put_in, shelve

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

ONE, TWO = "CYL-1/base-ring", "CYL-2/base-ring"


def test_old_and_new_of_one_lot_are_told_apart_by_what_happened():
    shelve({"A-111": 3, "G-708": 1})
    job = book(findings=[("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")])
    body = at_bench(job, steps=["P1/10"])
    item = item_at(body, ONE)
    assert (fresh_at_bench(job, [item]), old_at_bench(job)) == ({item: 2}, {})
    put_in(job, (ONE, item))
    assert fresh_at_bench(job, [item]) == {item: 1}
    done(remove, job="J1", removals=[RemoveIn(ONE)])
    assert (fresh_at_bench(job, [item]), old_at_bench(job)) == ({item: 1}, {item: 1})
    assert came_out(job) == {item: (ONE,)}
    # What is scrapped is the old one, what goes to the shelf the new one.
    done(scrap_for_job, job="J1", item_id=item, amount=1, reason="was in", who_pays="job")
    assert (fresh_at_bench(job, [item]), old_at_bench(job)) == ({item: 1}, {})
    done(return_unused, job="J1", returns=[ReturnIn(item, 1, bag_sealed=True)])
    assert (fresh_at_bench(job, [item]), old_at_bench(job, [item])) == ({}, {})


def test_what_sits_and_what_lies_with_its_position():
    job = book()
    finds = [FindIn("CYL-1/set", "A-101", serial="S-1"), FindIn("HEAD/gasket", "A-203")]
    found = {row["position"]: row["item"] for row in done(find_in_engine, job="J1", finds=finds)["found"]}
    sits = solid_at(job, ["CYL-1/set", "HEAD/gasket", "SUMP/bead"])
    assert [(one.position, one.part, one.serial, one.amount) for one in sits] == [
        ("CYL-1/set", "A-101", "S-1", 1),
        ("HEAD/gasket", "A-203", "", 1),
    ]
    done(remove, job="J1", removals=[RemoveIn("CYL-1/set"), RemoveIn("HEAD/gasket")])
    assert {one.item_id: one.position for one in on_bench(job)} == {item: place for place, item in found.items()}
    assert [(one.serial, one.position) for one in kept_on_bench(job)] == [("S-1", "CYL-1/set")]
