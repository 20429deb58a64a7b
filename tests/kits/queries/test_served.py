"""Which positions of a job are served: held, picked, fitted, and what lies there to no purpose."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kits.queries.served import fitted, lying_new, promises_of, served, stand_ins_of
from kits.services.left_over import scrap_for_job
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done
from tests.factories.rebuilds import at_bench, book, give, hold, item_at, listed, put_in, shelve, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

ONE, TWO = ("CYL-1/base-ring", 1), ("CYL-2/base-ring", 1)
LIFTED = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def rings_of(job):
    return {key[0]: amount for (key, part), amount in served(listed(job)).amounts.items() if part == "A-111"}


def test_held_then_picked_then_fitted_then_scrapped():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=LIFTED)
    assert rings_of(job) == {}
    body = hold(job, steps=["P1/10"])
    assert rings_of(job) == {ONE[0]: 1, TWO[0]: 1}
    take(body)
    assert [(one.open, one.picked) for one in promises_of(job) if one.wanted == "A-111"] == [(False, 2)]
    assert rings_of(job) == {ONE[0]: 1, TWO[0]: 1}
    give(body)
    item = item_at(body, ONE[0])
    put_in(job, (TWO[0], item))
    done(scrap_for_job, job="J1", item_id=item, amount=1, reason="cut", who_pays="job")
    assert rings_of(job) == {TWO[0]: 1}
    assert [(one.key, one.part, one.amount) for one in fitted(job)] == [(TWO, "A-111", 1)]


def test_old_parts_at_the_bench_are_nothing_new():
    shelve({"A-111": 2, "G-708": 1})
    job = book(findings=LIFTED)
    done(find_in_engine, job="J1", finds=[FindIn(ONE[0], "A-111", lot="A-111/1")])
    done(remove, job="J1", removals=[RemoveIn(ONE[0])])
    assert lying_new(job) == []
    at_bench(job, steps=["P1/10"])
    assert [(one.part, one.amount) for one in lying_new(job) if one.part == "A-111"] == [("A-111", 2)]


def test_candidates_are_lines_of_their_own_and_stand_in_for_nothing():
    job = book(findings=[("crank-out", "ENGINE")])
    thrust = [line.part for line in listed(job).candidates if line.keys == (("CRANK/thrust-washers", 1),)]
    assert sorted(thrust) == ["A-409", "A-410"]
    shelve({"A-409": 1})
    hold(job, steps=["P1/15"])
    assert stand_ins_of(promises_of(job)) == {"A-409": {"A-409"}}


def test_as_many_queries_for_much_at_the_bench_as_for_little():
    counts = []
    for number, engine, findings in (("J1", "A4-020543", LIFTED[:1]), ("J2", "A4-020544", LIFTED)):
        shelve({"A-111": 2, "G-708": 1, "A-503": 4, "G-709": 2, "G-705": 1})
        job = book(number, engine=engine, findings=findings)
        body = at_bench(job, steps=["P1/10", "P1/30"])
        put_in(job, (ONE[0], item_at(body, ONE[0])))
        its = listed(job)
        with CaptureQueriesContext(connection) as captured:
            served(its)
        counts.append(len(captured))
    assert counts == [5, 5]
