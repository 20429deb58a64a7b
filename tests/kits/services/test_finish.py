"""Closing and cancelling a job, what gets nothing, tools counted back."""

import pytest

from inventory.models import Balance, HoldEnd
from kits.models import Job, JobEnd, NotNeeded, ToolLoan
from kits.services.build import PistonIn, record_piston_checks
from kits.services.finish import cancel_job, close_job, mark_not_needed, tools_back
from kits.services.jobs import FindingIn, record_choice, record_findings
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.outside import back_from_outside
from kits.services.strip import FindIn, InspectIn, RemoveIn, find_in_engine, inspect, remove
from tests.factories.acts import done, gone, refused
from tests.factories.measuring import gauge, heights_judged
from tests.factories.moves import take_back
from tests.factories.outside import out_to_bench, sent
from tests.factories.rebuilds import (
    at_bench,
    book,
    give,
    hold,
    item_at,
    later,
    listed,
    lying_at,
    person,
    put_all_in,
    put_in,
    shelve,
    shelve_sets,
    take,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
BOLTS = [("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")]
FIRST, SECOND = "MAIN-1/bolt-1", "MAIN-1/bolt-2"


def two_bolts():
    """A job of two main cap bolts, both at the bench."""
    shelve({"A-504": 4})
    job = book(findings=BOLTS)
    return job, at_bench(job)


def close(job, code=""):
    """Close the job; its outcome, or the open lines by what they are."""
    arguments = {"actor": person("fitter"), "job": job.number, "checker": person("checker", "act_check")}
    if not code:
        return done(close_job, **arguments)
    error = refused(code, close_job, **arguments)
    return sorted({(line["what"], line.get("position", "")) for line in error.values["open"]})


def test_a_job_is_closed_by_two_when_everything_is_in():
    job, body = two_bolts()
    item = item_at(body, FIRST)
    assert close(job, "job-not-done") == [("not fitted", FIRST), ("not fitted", SECOND), ("still at the bench", "")]
    put_in(job, (FIRST, item), (SECOND, item))
    fitter = person("fitter")
    refused("same-person", close_job, actor=fitter, job="J1", checker=fitter)
    refused("may-not-check", close_job, actor=fitter, job="J1", checker=person("apprentice"))
    assert close(job) == {"job": "J1", "fitted": 2}
    end = JobEnd.objects.get()
    assert (end.cancelled, end.checker.username, Job.objects.get().state) == (False, "checker", "closed")
    refused("job-ended", close_job, actor=fitter, job="J1", checker=person("checker", "act_check"))


def test_a_whole_job_from_the_bench_to_its_end():
    shelve_sets("A-101", "S-1")
    shelve(
        {
            "A-104": 2, "A-111": 1, "A-203": 1, "A-204": 1, "A-205": 1, "A-212": 1, "A-502": 10, "A-503": 2, "A-901": 1,
            "G-701": 1, "G-705": 1, "G-706": 6, "G-707": 4, "G-708": 1, "G-709": 1, "G-710": 1,
        }
    )  # fmt: skip
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    body = at_bench(job)
    assert body["shorts"] == []
    assert heights_judged("J1", {"CYL-1": "S-1"}, gauge=gauge(), base_um=92_950, **AT20) == ["pass"]
    put_all_in(job, body)
    left = close(job, "job-not-done")
    assert {what for what, _ in left} == {
        "still at the bench",
        "tool not counted back",
        "piston not checked",
    }
    looked_at(job)
    rest = Balance.objects.filter(place=job.bench, amount__gt=0, item__tube__isnull=False)
    returns = [ReturnIn(row.item_id, row.amount) for row in rest]
    assert {row.item.part.number for row in rest} >= {"G-701"}
    done(return_unused, job="J1", returns=returns)
    tools = list(ToolLoan.objects.filter(job=job).values_list("tool", flat=True))
    done(tools_back, job="J1", tools=tools)
    assert close(job)["fitted"] == sum(len(line.keys) for line in listed(job).lines)


def looked_at(job):
    """The second person looks at the piston."""
    items = listed(job).scope.family.build.piston_items
    check = {"actor": person("checker", "act_check"), "checks": [PistonIn("CYL-1/set", items)]}
    done(record_piston_checks, job="J1", **check)


def test_every_loose_end_is_named():
    shelve({"A-504": 4})
    job = book(findings=BOLTS)
    hold(job)
    out = sent(job, job.fit_on, out_to_bench(job, "MAIN-2/bolt-1", "A-504"))
    ToolLoan.objects.create(job=job, act=job.booked_by, site=job.site, tool="bolt length gauge")
    assert [what for what, _ in close(job, "job-not-done")] == [
        "not fitted",
        "not fitted",
        "still held",
        "still outside",
        "taken out, nothing is back",
        "tool not counted back",
    ]
    done(back_from_outside, job="J1", outside_work=out["outside_work"])
    assert "still outside" not in {what for what, _ in close(job, "job-not-done")}


def test_what_was_fitted_and_taken_out_again_is_not_fitted():
    job, body = two_bolts()
    item = item_at(body, FIRST)
    put_in(job, (FIRST, item), (SECOND, item))
    done(remove, job="J1", removals=[RemoveIn(SECOND, to="scrap")])
    assert close(job, "job-not-done") == [("not fitted", SECOND)]
    # And the next hold brings another.
    assert [row["positions"] for row in hold(job)["held"]] == [[[SECOND, 1, 1]]]


def test_a_fitting_taken_back_is_not_fitted():
    job, body = two_bolts()
    item = item_at(body, FIRST)
    put_in(job, (FIRST, item))
    act = put_in(job, (SECOND, item))
    take_back(act, later(1))
    assert close(job, "job-not-done") == [("not fitted", SECOND), ("still at the bench", "")]


def test_a_part_that_the_list_does_not_ask_for_any_more_keeps_the_job_open():
    place = "CRANK/thrust-washers"
    shelve({"A-409": 1, "A-410": 1})
    job = book(findings=[("main-bolt-rejected", FIRST)])
    done(record_findings, job="J1", findings=[FindingIn("crank-out")])
    body = hold(job, steps=["P1/15"])
    take(body)
    rows = {row["part"]: row["item"] for row in body["held"]}
    assert {"A-409", "A-410"} <= rows.keys()
    done(
        record_choice,
        job="J1",
        choice="thrust-washers",
        place=place,
        alternative="standard",
        reason="end float 0.12 mm",
    )
    give(body, missing=["upper-half", "lower-half", *sorted({row["part"] for row in body["shorts"]})])
    put_in(job, (place, rows["A-409"]))
    assert ("another part is fitted", place) not in close(job, "job-not-done")
    done(record_choice, job="J1", choice="thrust-washers", place=place, alternative="+0.10", reason="measured again")
    assert ("another part is fitted", place) in close(job, "job-not-done")


def test_an_open_choice_keeps_the_job_open():
    job = book(findings=[("crank-out", "ENGINE")])
    assert ("open choice", "CRANK/thrust-washers") in close(job, "job-not-done")


def test_a_reused_part_must_be_back():
    position = "PUSHROD-01/pushrod"
    job = book(engine="R6-7309", operations=["P4"], findings=[("pushrod-rejected", "VALVE-01")])
    item = done(find_in_engine, job="J1", finds=[FindIn(position, "R-603")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn(position)])
    done(inspect, job="J1", inspections=[InspectIn(position, "run-out 0.3 mm", "0.1 mm", True, item)])
    assert close(job, "job-not-done") == [("reused part is not back", position), ("still at the bench", "")]
    put_in(job, (position, item))
    assert close(job) == {"job": "J1", "fitted": 1}


def test_what_gets_nothing_says_why():
    job = book(findings=BOLTS)
    refused("reason-missing", mark_not_needed, job="J1", positions={})
    refused("reason-missing", mark_not_needed, job="J1", positions={FIRST: " "})
    refused("position-unknown", mark_not_needed, job="J1", positions={"MAIN-9/bolt-1": "none"})
    done(mark_not_needed, job="J1", positions={FIRST: "bolt is good", SECOND: "bolt is good"})
    assert NotNeeded.objects.count() == 2
    assert close(job) == {"job": "J1", "fitted": 0}


def test_tools_are_counted_back_by_name():
    job = book(findings=BOLTS)
    for tool in ("angle gauge", "bead gun"):
        ToolLoan.objects.create(job=job, act=job.booked_by, site=job.site, tool=tool)
    error = refused("not-on-loan", tools_back, job="J1", tools=["bead gun", "hub puller"])
    assert error.values["tools"] == ["hub puller"]
    assert done(tools_back, job="J1", tools=["bead gun"]) == {"back": ["bead gun"], "still_out": ["angle gauge"]}
    refused("not-on-loan", tools_back, job="J1", tools=["bead gun"])


def test_a_cancelled_job_gives_up_its_holds():
    shelve({"A-504": 4})
    job = book(findings=BOLTS)
    body = hold(job)
    refused("reason-missing", cancel_job, job="J1", reason="")
    holds = [row["hold"] for row in body["held"]]
    assert done(cancel_job, job="J1", reason="sold") == {"released": holds, "given_back": [], "washed_out": {}}
    assert HoldEnd.objects.get().why == "job J1 was cancelled"
    assert (Job.objects.get().state, JobEnd.objects.get().reason) == ("cancelled", "sold")
    refused("job-ended", cancel_job, job="J1", reason="sold")


def test_a_cancelled_job_leaves_nothing_behind_and_gives_the_owner_what_is_his():
    job, body = two_bolts()
    mine = done(find_in_engine, job="J1", finds=[FindIn(FIRST, "A-504"), FindIn(SECOND, "A-504", whose="shop")])
    done(remove, job="J1", removals=[RemoveIn(FIRST), RemoveIn(SECOND)])
    error = refused("job-not-empty", cancel_job, job="J1", reason="sold")
    shop_bolt = mine["found"][1]["item"]
    assert {row["item"] for row in error.values["things"]} == {item_at(body, FIRST), shop_bolt}
    done(return_unused, job="J1", returns=[ReturnIn(item_at(body, FIRST), 2, bag_sealed=True)])
    done(scrap_for_job, job="J1", item_id=shop_bolt, amount=1, reason="stretched", who_pays="shop")
    refused("not-signed", cancel_job, job="J1", reason="sold")
    back = done(cancel_job, job="J1", reason="sold", signed_by="R. Alder")
    assert back["given_back"] == [{"part": "A-504", "item": mine["found"][0]["item"], "amount": 1, "from": "bench J1"}]
    assert lying_at(job) == {}
    assert [part for part, _, _ in gone("owner")] == ["A-504"]


def test_tools_on_loan_keep_a_job_from_being_cancelled():
    job = book(findings=BOLTS)
    ToolLoan.objects.create(job=job, act=job.booked_by, site=job.site, tool="bead gun")
    error = refused("job-not-empty", cancel_job, job="J1", reason="sold")
    assert error.values["tools"] == ["bead gun"]
    done(tools_back, job="J1", tools=["bead gun"])
    done(cancel_job, job="J1", reason="sold")
    assert Job.objects.get().state == "cancelled"
