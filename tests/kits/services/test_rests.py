"""A joint that is added to a job is closed from the rest of the tube that the job has; another comes only where that is not enough."""

from datetime import date

import pytest

from inventory.models import Balance
from kits.models import JobHold
from kits.queries.scope import job_by_number
from kits.queries.shorts import shorts_of
from kits.queries.to_return import to_return
from kits.services.dates import move_fit_date
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, record_findings
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from tests.factories.acts import done, refused
from tests.factories.rebuilds import TODAY, book, give, hold, item_at, opened, shelve, shelve_lot, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

#: Beads of the demo shop's Alder-4: rear carrier 1.32 mL, timing cover 4.04, sump 10.46; with waste and priming 3.02, 6.15 and 13.53.
ADDED = [FindingIn("carrier-off", "ENGINE"), FindingIn("cover-off", "ENGINE")]
CARRIER, COVER, SUMP = "REAR-CARRIER/bead", "TIMING-COVER/bead", "SUMP/bead"
EVERYTHING = {"A-209": 1, "A-208": 1, "G-710": 3, "A-212": 1, "A-901": 1, "G-706": 6}


def tubes(body):
    """The sealant of a hold's outcome: what it is held for, tube by tube."""
    return [[share[0] for share in row["positions"]] for row in body["held"] if row["part"] == "G-701"]


def lacking(job):
    return {row["part"]: row["positions"] for row in shorts_of(job_by_number(job), TODAY)["shorts"]}


def with_a_sump(shelved=3):
    """A job whose sump is to be closed, its tube held, and more on the shelf; then two joints more are found."""
    shelve(EVERYTHING | {"G-701": shelved})
    job = book(operations=["P3"])
    body = hold(job)
    assert tubes(body) == [[SUMP]]
    return job, body


@pytest.mark.parametrize("how", ["held", "picked", "opened"])
def test_two_joints_more_are_closed_from_the_rest_of_the_tube(how):
    job, body = with_a_sump()
    if how != "held":
        take(body)
    if how == "opened":
        give(body)
        opened(job, item_at(body, SUMP), "T-1")
    done(record_findings, job="J1", findings=ADDED)
    assert tubes(hold(job)) == []
    refused("nothing-to-hold", hold_kit, job="J1")
    assert lacking("J1") == {}
    said = to_return(job_by_number("J1"), TODAY)
    assert [row["part"] for row in [*said["lying"], *said["held"]]] == []


def test_a_rest_that_closes_one_of_two_joints_brings_one_tube_for_the_other():
    job, body = with_a_sump()
    take(body)
    give(body)
    tube = opened(job, item_at(body, SUMP), "T-1")
    content = Balance.objects.get(item=tube, place=job.bench).amount
    # 22.8 mL: 18.0 usable, 4.47 beyond the sump: the carrier wants 3.62, the cover 7.38.
    done(scrap_for_job, job="J1", item_id=tube, amount=content - 22_800, reason="laid on a plate", who_pays="shop")
    done(record_findings, job="J1", findings=ADDED)
    assert tubes(hold(job)) == [[COVER]]
    refused("nothing-to-hold", hold_kit, job="J1")


def test_the_rest_that_is_missing_is_named_as_one_tube_and_no_more():
    job, body = with_a_sump(shelved=1)
    take(body)
    give(body)
    tube = opened(job, item_at(body, SUMP), "T-1")
    content = Balance.objects.get(item=tube, place=job.bench).amount
    done(scrap_for_job, job="J1", item_id=tube, amount=content - 22_800, reason="laid on a plate", who_pays="shop")
    done(record_findings, job="J1", findings=ADDED)
    said = hold(job)
    assert [(one["part"], one["amount"], one["positions"]) for one in said["shorts"]] == [("G-701", 1, [COVER])]
    assert lacking("J1") == {"G-701": [COVER]}


def test_brought_back_the_tube_serves_no_joint_any_more():
    job, body = with_a_sump()
    take(body)
    done(record_findings, job="J1", findings=ADDED)
    hold(job)
    tube = item_at(body, SUMP)
    done(return_unused, job="J1", returns=[ReturnIn(tube, 1, origin="cart", bag_sealed=True)])
    assert tubes(hold(job)) == [[CARRIER, COVER, SUMP]]


def test_an_opened_tube_that_will_be_too_old_is_replaced_for_the_joints_of_its_rest_too():
    shelve(EVERYTHING | {"G-701": 1})
    donor = book("J0", engine="A4-020999", operations=["P3"])
    body = hold(donor)
    take(body)
    give(body)
    tube = opened(donor, item_at(body, SUMP), "T-1")
    content = Balance.objects.get(item=tube, place=donor.bench).amount
    done(return_unused, job="J0", returns=[ReturnIn(tube, content)])
    shelve_lot("G-701", 2, "NEW", printed_on=date(2026, 2, 10))
    job = book(operations=["P3"], fit_on=date(2025, 1, 17))
    assert [row["tube"] for row in hold(job)["held"] if row["part"] == "G-701"] == ["T-1"]
    done(record_findings, job="J1", findings=ADDED)
    hold(job)
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 6, 1), reason="crank late")
    assert [(one["to_lot"], one["amount"]) for one in moved["replaced"] if one["part"] == "G-701"] == [("NEW", 1)]
    new = JobHold.objects.get(job__number="J1", hold__end__isnull=True, hold__item__part__number="G-701")
    assert [share[0] for share in new.positions] == [CARRIER, COVER, SUMP]
