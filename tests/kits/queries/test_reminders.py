"""Reminders of jobs of the demo shop's catalogue."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item
from inventory.services.old_units import send_back
from kits.models import ToolLoan
from kits.queries.reminders import reminders_on
from kits.services.finish import cancel_job, mark_not_needed
from kits.services.jobs import FindingIn, record_approval, record_choice, record_findings, withdraw_finding
from kits.services.left_over import ReturnIn, return_unused
from kits.services.outside import back_from_outside
from kits.services.washed_out import count_washed
from tests.factories.acts import done
from tests.factories.cores import brought, maker, paid
from tests.factories.outside import out_to_bench, sent
from tests.factories.rebuilds import book, hold, shelve, take
from tests.factories.stores import NOON, PersonFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

BOLT, PLACE = "MAIN-1/bolt-1", "CRANK/thrust-washers"
TODAY = NOON.date()


def on(day, job=None):
    return [(row["job"], row["kind"], row["what"], row["days"]) for row in reminders_on(day, job)]


def after(days):
    return TODAY + timedelta(days=days)


def test_a_candidate_that_was_not_chosen_is_back_in_a_day():
    shelve({"A-409": 1, "A-410": 1})
    job = book(findings=[("crank-out", "ENGINE")])
    body = hold(job, steps=["P1/15"])
    take(body)
    # Nothing was chosen yet: both are where they should be.
    assert on(after(0), job) == []
    done(record_choice, job="J1", choice="thrust-washers", place=PLACE, alternative="standard", reason="0.12 mm")
    assert on(after(0), job) == []
    late = on(after(1), job)
    assert late == [("J1", "candidate not back", f"1 A-410 at {job.cart.code}", 1)]
    assert on(after(3)) == [(*late[0][:3], 3)]
    other = next(row["item"] for row in body["held"] if row["part"] == "A-410")
    done(return_unused, job="J1", returns=[ReturnIn(other, 1, origin="cart", bag_sealed=True)])
    # Candidates = chosen + returned: nothing is asked for any more.
    assert on(after(3)) == []


def test_everything_else_that_is_late():
    shelve({"A-504": 4})
    job = book(findings=[("main-bolt-rejected", BOLT)])
    hold(job, until=after(2))
    due = job.fit_on - timedelta(days=1)
    out = sent(job, due, out_to_bench(job, "MAIN-2/bolt-1", "A-504"), actor=PersonFactory(username="sender"))
    ToolLoan.objects.create(job=job, act=job.booked_by, site=job.site, tool="bead gun")
    done(count_washed, job="J1", counts={"core plug": 5, "dowel, head": 2}, back=False)
    done(count_washed, job="J1", counts={"core plug": 4, "dowel, head": 2}, back=True)
    found = done(
        record_findings, job="J1", findings=[FindingIn("main-bolt-rejected", "MAIN-2/bolt-1")], extra_work=True
    )
    owner = ("J1", "owner's word awaited", "main-bolt-rejected at MAIN-2/bolt-1")
    assert on(after(2)) == [(*owner, 3)]
    assert on(after(3)) == [(*owner, 4), ("J1", "hold lapsed", f"A-504, held until {after(2)}", 1)]
    done(
        record_approval, job="J1", findings=[found["findings"][0]["id"]], approved=False, given_by="owner", how="letter"
    )
    days = (job.fit_on - TODAY).days
    assert [row[1] for row in on(job.fit_on)] == ["hold lapsed", "outside work past its day", "plugs, dowels, jets out"]
    late = job.fit_on + timedelta(days=1)
    bolt = Item.objects.get(pk=out["item"]).called
    overdue = f"{bolt} at GRINDER, due {due}: what needs it, and the hand-over, not before {late}"
    assert on(late) == [
        ("J1", "hold lapsed", f"A-504, held until {after(2)}", days - 1),
        ("J1", "outside work past its day", overdue, 2),
        ("J1", "plugs, dowels, jets out", "core plug: 1 out", 2),
        ("J1", "tool not back", "bead gun", 1),
    ]
    # Who sent it is told by name; of what is late on the bench everybody is.
    told = {row["kind"]: row["told"] for row in reminders_on(late)}
    assert (told["outside work past its day"], told["tool not back"]) == ("sender", "")
    done(back_from_outside, job="J1", outside_work=out["outside_work"])
    assert "outside work past its day" not in [row[1] for row in on(late)]
    other = book("J2", findings=[("main-bolt-rejected", BOLT)], engine="A4-020544")
    assert on(date(2030, 1, 1), other) == []


def test_a_finding_that_was_withdrawn_waits_for_nobody_and_neither_does_a_job_that_ended():
    job = book(findings=[("main-bolt-rejected", BOLT)])
    waiting = [FindingIn("main-bolt-rejected", place) for place in ("MAIN-2/bolt-1", "MAIN-2/bolt-2")]
    first, second = done(record_findings, job="J1", findings=waiting, extra_work=True)["findings"]
    done(withdraw_finding, job="J1", finding_id=first["id"], reason="mixed up")
    assert [row["number"] for row in reminders_on(after(1), job)] == [second["id"]]
    done(mark_not_needed, job="J1", positions={BOLT: "good"})
    done(cancel_job, job="J1", reason="sold")
    assert on(after(1)) == []


@pytest.mark.parametrize("count", [1, 3])
def test_the_number_of_queries_does_not_grow_with_the_jobs(count):
    for at in range(count):
        job = book(f"J{at}", engine=f"A4-02060{at}", findings=[("main-bolt-rejected", BOLT)])
        done(record_findings, job=job.number, findings=[FindingIn("crank-out")], extra_work=True)
        sent(job, after(1), out_to_bench(job, "MAIN-2/bolt-1", "A-504"))
        done(count_washed, job=job.number, counts={"core plug": 5}, back=False)
    with CaptureQueriesContext(connection) as seen:
        assert len(on(date(2030, 1, 1))) == 3 * count
    # one each for late lines of orders, credits that are awaited, deposits and what is in the van, where there are none
    assert len(seen) == 17  # one of them for clashes, two for notices with engine numbers


def test_a_deposit_is_reminded_of_from_a_week_before_its_limit_until_the_old_unit_is_gone():
    job = book()
    unit = brought(tag="T-1", job=job.number)
    ours = paid(unit=unit)
    other = paid(6_000, due_on=after(20))
    limit = after(30)  # the maker's terms for the pump
    said = f"{maker().code} keeps 45.00 for PUMP, tag T-1: to be sent back by {limit}; the old unit was not sent back"
    untied = f"{maker().code} keeps 60.00 for PUMP: to be sent back by {after(20)}; no old unit is tagged for it"
    assert on(after(12)) == []
    assert on(after(13)) == [("", "deposit at risk", untied, 1)]
    assert on(after(22), job) == []
    assert on(after(23), job) == [("J1", "deposit at risk", said, 1)]
    assert [(row["number"], row["days"]) for row in reminders_on(after(31))] == [(other, 19), (ours, 9)]
    done(send_back, supplier=maker().code, units=[unit], note="R-1", stamp=stamp(NOON + timedelta(days=3)))
    assert on(after(31)) == [("", "deposit at risk", untied, 19)]
