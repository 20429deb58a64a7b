"""Plugs, dowels and oil jets counted out and back on a job of the demo shop."""

import pytest

from kits.models import WashedCount
from kits.queries.washed_out import record
from kits.services.finish import cancel_job, close_job, mark_not_needed
from kits.services.washed_out import count_washed
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, person
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

#: The family's list of the demo shop's light van engine (invented demo shop).
ALL = {"core plug": 5, "oil gallery plug": 4, "dowel, head": 2, "dowel, rear carrier": 2}
BOLT = "MAIN-1/bolt-1"


def nothing_else_open():
    """A job whose one line gets nothing, so that only what was washed keeps it open."""
    job = book(findings=[("main-bolt-rejected", BOLT)])
    done(mark_not_needed, job="J1", positions={BOLT: "bolt is good"})
    return job


def closing(code=""):
    arguments = {"actor": person("fitter"), "job": "J1", "checker": person("checker", "act_check")}
    return refused(code, close_job, **arguments).values["open"] if code else done(close_job, **arguments)


def test_a_job_is_closed_when_everything_is_back():
    nothing_else_open()
    done(count_washed, job="J1", counts={"core plug": 5}, back=False)
    assert {row["name"] for row in closing("job-not-done")} == ALL.keys() - {"core plug"} | {"core plug"}
    done(count_washed, job="J1", counts=dict(list(ALL.items())[1:]), back=False)
    done(count_washed, job="J1", counts=ALL | {"core plug": 4}, back=True)
    assert closing("job-not-done") == [
        {
            "what": "plugs, dowels, jets",
            "name": "core plug",
            "missing": 1,
            "why": "core plug: 5 out, 4 back, 1 missing",
        }
    ]
    last = done(count_washed, actor=person("lio"), job="J1", counts={"core plug": 1}, back=True)
    assert [row["missing"] for row in last["washed_out"]] == [0, 0, 0, 0]
    assert closing() == {"job": "J1", "fitted": 0}
    refused("job-ended", count_washed, job="J1", counts={"core plug": 1}, back=True)


def test_a_job_that_counts_nothing_out_is_closed_as_before():
    job = nothing_else_open()
    assert closing() == {"job": "J1", "fitted": 0}
    assert [(row["counted"], row["missing"]) for row in record(job)["washed_out"]] == [(False, 0)] * 4


def test_refusals_leave_nothing():
    nothing_else_open()
    refused("nothing-given", count_washed, job="J1", counts={}, back=False)
    error = refused(
        "washed-out-unknown", count_washed, job="J1", counts={"core plugs": 1, "dowel, head": 1}, back=False
    )
    assert error.errors[0][1].values["near"] == ["core plug"]
    refused("more-out-than-listed", count_washed, job="J1", counts={"core plug": 6}, back=False)
    refused("more-back-than-out", count_washed, job="J1", counts={"core plug": 1}, back=True)
    refused("amount-negative", count_washed, job="J1", counts={"core plug": -1}, back=False)
    refused("reason-missing", count_washed, job="J1", counts={"core plug": 1}, back=False, recount=True, reason=" ")
    assert WashedCount.objects.count() == 0


def test_a_recount_says_why_and_who_counted_stays_on_record():
    job = nothing_else_open()
    done(count_washed, actor=person("fitter"), job="J1", counts={"core plug": 5}, back=False)
    done(
        count_washed,
        actor=person("checker"),
        job="J1",
        counts={"core plug": 4},
        back=False,
        recount=True,
        reason="one is welded in",
    )
    said = record(job)
    assert said["washed_out"][0] == {
        "name": "core plug", "listed": 5, "counted": True, "out": 4, "back": 0, "missing": 4
    }  # fmt: skip
    assert [(row["by"], row["count"], row["recount"], row["reason"]) for row in said["counts"]] == [
        ("fitter", 5, False, ""),
        ("checker", 4, True, "one is welded in"),
    ]


def test_the_same_key_counts_once():
    nothing_else_open()
    once, who = stamp(), person("fitter")
    first = count_washed(actor=who, stamp=once, job="J1", counts={"core plug": 3}, back=False)
    again = count_washed(actor=who, stamp=once, job="J1", counts={"core plug": 3}, back=False)
    assert (again.replayed, again.body) == (True, first.body)
    assert WashedCount.objects.count() == 1
    refused("key-reused", count_washed, actor=who, stamp=once, job="J1", counts={"core plug": 2}, back=False)


def test_what_is_out_of_a_cancelled_engine_is_signed_for():
    nothing_else_open()
    done(count_washed, job="J1", counts={"core plug": 5, "dowel, head": 2}, back=False)
    done(count_washed, job="J1", counts={"dowel, head": 2}, back=True)
    error = refused("not-signed", cancel_job, job="J1", reason="sold")
    assert error.values == {"items": [], "washed_out": {"core plug": 5}}
    assert done(cancel_job, job="J1", reason="sold", signed_by="R. Alder")["washed_out"] == {"core plug": 5}
