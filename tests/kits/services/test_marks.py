"""Sets that were marked for a bore go back without their marks, or the job stays open."""

import pytest

from inventory.models import Balance, Item, Person
from kits.models import JobChoice
from kits.queries.marks import bores_of, marked_sets
from kits.services.finish import cancel_job, close_job
from kits.services.fit import set_bores
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.marks import clean_marks
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, give, hold, lying_at, person, put_in, shelve_sets, take
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

CHOSEN = [("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")]
BORES = {"CYL-1/set": "S-2", "CYL-2/set": "S-1"}


def marked_at_bench():
    """Two sets at the bench, each marked for a bore; nothing else is on the shelves."""
    shelve_sets("A-101", "S-1", "S-2", "S-3")
    job = book(findings=CHOSEN)
    take_sets(job)
    done(set_bores, job="J1", bores=BORES, reason="gauged")
    return job


def take_sets(job):
    """Hold what the shelves have, pick it and hand it over."""
    body = hold(job)
    take(body)
    give(body, missing=sorted({row["part"] for row in body["shorts"]}))
    return body


def item_of(serial):
    return Item.objects.get(serial__number=serial, member="").pk


def back(*serials, **more):
    returns = [ReturnIn(item_of(serial), 1, bag_sealed=True, **more) for serial in serials]
    return {"job": "J1", "returns": returns}


def test_a_marked_set_goes_to_no_shelf_until_its_mark_is_cleaned():
    job = marked_at_bench()
    error = refused("mark-not-cleaned", return_unused, **back("S-1", "S-2"))
    assert [number for number, _ in error.errors] == [1, 2]
    body = done(clean_marks, actor=person("fitter"), job="J1", serials=["S-1"], reason="the bore is kept")
    assert body == {"job": "J1", "cleaned": ["S-1"], "still_marked": ["S-2"]}
    assert bores_of(job) == {"CYL-1/set": "S-2"}
    done(return_unused, **back("S-1"))
    refused("mark-not-cleaned", return_unused, **back("S-2"))
    assert lying_at(job)["A-101"] == 1
    row = JobChoice.objects.get(place="", choice=JobChoice.BORE)
    assert (row.alternative, row.reason, Person.objects.get(pk=row.act.actor_id).username) == (
        "S-1", "the bore is kept", "fitter",
    )  # fmt: skip


def test_a_cancelled_job_leaves_no_marked_set_behind():
    shelve_sets("A-101", "S-1", "S-2")
    job = book(findings=CHOSEN)
    hold(job)
    done(set_bores, job="J1", bores=BORES, reason="gauged")
    error = refused("mark-not-cleaned", cancel_job, job="J1", reason="sold")
    assert (error.values, job.state) == ({"sets": ["S-1", "S-2"]}, "booked")
    done(clean_marks, job="J1", serials=["S-2", "S-1"], reason="the job is given up")
    assert len(done(cancel_job, job="J1", reason="sold")["released"]) == 2
    assert (Balance.objects.filter(held__gt=0).count(), lying_at(job)) == (0, {})
    assert sorted(Balance.objects.filter(place__kind="shelf", amount=1).values_list("item__serial__number", flat=True)) == [
        "S-1", "S-2",
    ]  # fmt: skip


def test_a_set_that_is_in_the_engine_keeps_its_mark_and_one_left_over_keeps_the_job_open():
    job = marked_at_bench()
    put_in(job, ("CYL-1/set", item_of("S-2")))
    done(set_bores, job="J1", bores={"CYL-2/set": "S-3"}, reason="gauged again")
    # S-1 was marked, and another took its bore; into quarantine it goes as it is, and the job stays open for it.
    done(return_unused, **back("S-1", override_to="quarantine", override_reason="scratched"), actor=manager())
    arguments = {"actor": person("fitter"), "job": "J1", "checker": person("checker", "act_check")}
    left = refused("job-not-done", close_job, **arguments).values["open"]
    assert [(row["serial"], row["place"][:2]) for row in left if row["what"] == "mark not cleaned"] == [
        ("S-1", "TB"), ("S-3", "TB"),
    ]  # fmt: skip
    done(clean_marks, job="J1", serials=["S-1", "S-3"], reason="not fitted")
    left = refused("job-not-done", close_job, **arguments).values["open"]
    assert "mark not cleaned" not in {row["what"] for row in left}


def manager():
    return person("manager", "act_overrule_return")


def test_what_was_scrapped_needs_no_cleaning():
    job = marked_at_bench()
    assert [(one.serial, one.with_job) for one in marked_sets(job)] == [("S-1", True), ("S-2", True)]
    done(
        scrap_for_job,
        job="J1",
        item_id=item_of("S-1"),
        amount=1,
        reason="dropped",
        who_pays="shop",
        no_photo="none taken",
    )
    assert [one.serial for one in marked_sets(job)] == ["S-2"]


def test_refusals_and_replay():
    job = marked_at_bench()
    refused("nothing-given", clean_marks, job="J1", serials=[], reason="not fitted")
    refused("reason-missing", clean_marks, job="J1", serials=["S-1"], reason=" ")
    error = refused("not-marked", clean_marks, job="J1", serials=["S-1", "S-3", "S-9"], reason="not fitted")
    assert [(number, one.values) for number, one in error.errors] == [
        (2, {"marked": ["S-1", "S-2"]}), (3, {"marked": ["S-1", "S-2"]}),
    ]  # fmt: skip
    assert bores_of(job) == BORES
    once, who = stamp(), person("fitter")
    first = clean_marks(actor=who, stamp=once, job="J1", serials=["S-1"], reason="not fitted")
    again = clean_marks(actor=who, stamp=once, job="J1", serials=["S-1"], reason="not fitted")
    assert (again.replayed, again.body) == (True, first.body)
    refused("not-marked", clean_marks, job="J1", serials=["S-1"], reason="not fitted")
