"""The planned day of fitting passed and nobody moved it: stock is judged on the day of the act, never on a day that is over.

The job was planned for 20 January 2025; the demo shop's margin is 14 days. The days of use by are set here, the sums are by hand.
"""

from datetime import date

import pytest

from inventory.models import HoldEnd, Lot, Part, Short
from kits.models import JobHold
from kits.queries.extra_work import approvals_record
from kits.queries.open_lines import open_lines
from kits.services.dates import move_fit_date, recheck_job
from kits.services.extras import ask_for_more
from kits.services.finish import close_job
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, record_approval, record_findings
from kits.services.pick_kit import Scan, pick
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, hold, later, person, shelve, shelve_lot, take
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]
ONE_STEP = ["P1/10"]
#: Noon of 15 January and 16 days: the planned day is eleven days over.
LATE = later(16)  # 31 January 2025


def lot(code, until, count=2):
    shelve_lot("A-111", count, code, cure="1Q22")
    Part.objects.get(number="A-111").lots.filter(code=code).update(expires_on=until)


def lots(body):
    return [row["lot"] for row in body["held"] if row["part"] == "A-111"]


def test_a_check_after_the_planned_day_replaces_what_ran_out_since():
    lot("SOON", date(2025, 2, 10))
    lot("LONG", date(2026, 1, 1))
    assert lots(hold(book(findings=TWO), steps=ONE_STEP)) == ["SOON"]
    # 27 January and 14 days is 10 February: the last day that leaves the margin.
    assert done(recheck_job, job="J1", stamp=stamp(later(12)))["kept"] == 1
    checked = done(recheck_job, job="J1", stamp=stamp(later(13)))
    assert [(row["from_lot"], row["to_lot"], row["why"]) for row in checked["replaced"]] == [
        ("SOON", "LONG", "usable through 2025-02-10, not on 2025-01-28 with 14 days left")
    ]
    assert HoldEnd.objects.get().how == "made impossible"


def test_a_check_after_the_planned_day_replaces_by_nothing_that_is_too_old_as_well():
    lot("SOON", date(2025, 2, 10))
    lot("TOO", date(2025, 2, 13))
    hold(book(findings=TWO), steps=ONE_STEP)
    checked = done(recheck_job, job="J1", stamp=stamp(LATE))
    assert (checked["kept"], checked["replaced"]) == (0, [])
    assert [(row["part"], row["amount"]) for row in checked["shorts"]] == [("A-111", 2)]
    assert (Short.objects.get().amount, JobHold.objects.filter(hold__end__isnull=True).count()) == (2, 0)


def test_what_lies_on_the_cart_is_too_old_once_its_own_day_is_over():
    lot("SOON", date(2025, 2, 10))
    take(hold(book(findings=TWO), steps=ONE_STEP))
    assert done(recheck_job, job="J1", stamp=stamp(later(26)))["too_old"] == []  # 10 February itself
    checked = done(recheck_job, job="J1", stamp=stamp(later(27)))
    assert [(row["part"], row["lot"], row["place"]) for row in checked["too_old"]] == [("A-111", "SOON", "cart J1")]


def test_what_expired_since_the_planned_day_is_not_picked():
    lot("SOON", date(2025, 2, 10))
    body = hold(book(findings=TWO), steps=ONE_STEP)
    scans = [Scan(body["held"][0]["hold"], "SOON")]
    error = refused("expired", pick, pick_list=body["pick_list"], scans=scans, stamp=stamp(later(27)))
    assert "fitting is on 2025-02-11 at the earliest" in str(error)
    # On its last day it is good still.
    assert done(pick, pick_list=body["pick_list"], scans=scans, stamp=stamp(later(26)))["left"] == 0


def test_a_hold_after_the_planned_day_is_judged_on_the_day_of_the_act():
    lot("SOON", date(2025, 2, 10))
    lot("LONG", date(2026, 1, 1))
    book(findings=TWO)
    body = done(hold_kit, job="J1", steps=ONE_STEP, stamp=stamp(LATE))
    assert lots(body) == ["LONG"]
    # Promised for the day that is planned: that one nobody moved.
    assert {row.hold.needed_on for row in JobHold.objects.select_related("hold")} == {date(2025, 1, 20)}


def test_a_hold_after_the_planned_day_is_short_where_all_is_too_old():
    lot("SOON", date(2025, 2, 10))
    book(findings=TWO)
    body = done(hold_kit, job="J1", steps=ONE_STEP, stamp=stamp(LATE))
    assert (lots(body), [row["amount"] for row in body["shorts"] if row["part"] == "A-111"]) == ([], [2])


def test_one_more_after_the_planned_day_too():
    lot("SOON", date(2025, 2, 10))
    book(findings=TWO)
    asked = {"job": "J1", "part": "A-111", "amount": "1 EA", "reason": "damaged in fitting"}
    body = done(ask_for_more, **asked, stamp=stamp(LATE))
    assert (body["held"], body["short"]) == ([], 1)
    assert done(ask_for_more, **asked, stamp=stamp(later(12)))["short"] == 0


def test_poured_material_after_the_planned_day_too():
    shelve_lot("G-701", 1, "SOON", printed_on=date(2025, 2, 10))
    shelve_lot("G-701", 1, "LONG", printed_on=date(2026, 2, 10))
    book(findings=[("sump-off", "ENGINE")])
    body = done(hold_kit, job="J1", steps=["P1/40"], stamp=stamp(LATE))
    assert [row["lot"] for row in body["held"] if row["part"] == "G-701"] == ["LONG"]


def test_a_day_moved_within_the_past_is_judged_on_the_day_of_the_act():
    lot("SOON", date(2025, 2, 10))
    lot("LONG", date(2026, 1, 1))
    hold(book(findings=TWO), steps=ONE_STEP)
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 1, 22), reason="wrongly typed", stamp=stamp(LATE))
    assert [row["to_lot"] for row in moved["replaced"]] == ["LONG"]


#: 27 January and the margin is the last day of the old gasket; from the 28th on the list goes over to the new one and its bolts.
GOOD, OVER = date(2025, 1, 27), date(2025, 1, 28)


def old_joint(**more):
    """A job on an engine below the change: gasket and bolts of the old kind are used up while they are good; the new kind is there too."""
    shelve({"A-201": 1, "A-501": 10, "A-203": 1, "A-502": 10})
    Lot.objects.filter(part__number="A-201").update(expires_on=date(2025, 2, 10))
    return book(engine="A4-020443", **more)


def asked_at_the_gasket(lines):
    return [row["part"] for row in lines if row["what"] == "not fitted" and row["position"] == "HEAD/gasket"]


def test_open_lines_ask_for_what_is_good_on_the_day_asked_about():
    job = old_joint(findings=[("head-off", "ENGINE")])
    assert asked_at_the_gasket(open_lines(job, GOOD)) == ["A-201"]
    assert asked_at_the_gasket(open_lines(job, OVER)) == ["A-203"]
    # Before the planned day nothing has passed: it is judged on the planned day.
    assert asked_at_the_gasket(open_lines(job, date(2025, 1, 1))) == ["A-201"]


def test_closing_goes_by_its_own_day():
    old_joint(findings=[("head-off", "ENGINE")])
    for days, part in ((12, "A-201"), (13, "A-203")):
        close = {"actor": person("fitter"), "job": "J1", "checker": person("checker", "act_check")}
        error = refused("job-not-done", close_job, **close, stamp=stamp(later(days)))
        assert asked_at_the_gasket(error.values["open"]) == [part]


def test_extra_work_costs_what_is_good_on_the_day_asked_about():
    job = old_joint()
    found = done(record_findings, job="J1", findings=[FindingIn("head-off", "ENGINE")], extra_work=True)["findings"]
    for number, coins in (("A-201", 2700), ("A-501", 100), ("A-203", 3100), ("A-502", 200)):
        Part.objects.filter(number=number).update(price_coins=coins)
    word = {"findings": [found[0]["id"]], "approved": True, "given_by": "owner", "how": "telephone"}
    done(record_approval, job="J1", **word, limit_coins=9_000)
    used = [approvals_record(job, day)["used_coins"] for day in (GOOD, OVER)]
    # One gasket and ten bolts: 2,700 + 10 * 100 of the old kind, 3,100 + 10 * 200 of the new one.
    assert used[1] - used[0] == (3_100 + 10 * 200) - (2_700 + 10 * 100)
