"""A seat that its maker limits by itself: no liner passes, or is laid out, on one that is cupped or uneven."""

from copy import deepcopy

import pytest

from kits.queries.proposals import proposal_of
from kits.services.families import enter_family
from kits.services.fit import FitIn, fit
from kits.services.protrusions import judge_protrusion
from kits.services.readings import ReadingIn, record_readings, withdraw_reading
from kits.services.sizes import SizeIn, record_sizes
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, gauge, read, scales
from tests.factories.rebuilds import TODAY, book, give, hold, person, shelve_sets, take
from tests.fixtures.shop_files import family_document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]
HOURS = ("12", "3", "6", "9")
CLEAN = {"clean": True}
#: As TM 5-6115-593-34 prints them (public domain, read on a mirror); the gauge's allowance of 10 um leaves 25.56 um of the cupping.
PRINTED = {"depth_spread": "0.001 in", "cupping_most": "0.0014 in"}


@pytest.fixture
def job():
    """A Rowan-6 job for one bore, its liner 75 um high there, the set at the bench; its family limits the seat."""
    document = deepcopy(family_document("Rowan-6"))
    document["revision"] += 1
    document["facts"]["seat"] = PRINTED
    done(enter_family, document=document)
    gauge("G-1")
    shelve_sets("R-101", "S-1")
    job = book("J1", engine="R6-7309", operations=["P4"], findings=[("cylinder-chosen", "CYL-1")])
    liner = [ReadingIn("flange-thickness", "9.035 mm", "G-1", point=hour, set="S-1", **DRY) for hour in HOURS]
    read("J1", *liner, *depths(8_960, 8_960, 8_960, 8_960))
    body = hold(job, steps=["P4/10"])
    take(body)
    give(body)
    return job, next(row["item"] for row in body["held"] if row["serial"] == "S-1")


def depths(*values_um):
    return [
        ReadingIn("counterbore-depth", f"{um} um", "G-1", point=hour, place="CYL-1", **DRY)
        for hour, um in zip(HOURS, values_um, strict=True)
    ]


def cupping(*values, hours=HOURS, **more):
    rows = [
        ReadingIn("seat-cupping", one, "G-1", point=at, place="CYL-1", **CLEAN | more)
        for at, one in zip(hours, values, strict=True)
    ]
    return [row["id"] for row in read("J1", *rows)["readings"]]


def judged():
    body = done(judge_protrusion, job="J1", position="CYL-1/set", set="S-1")
    return body["verdict"], body["why"]


def test_a_cupped_seat_fails_whatever_the_height(job):
    job, item = job
    assert judged() == ("doubtful", ["seat: its cupping was not read"])
    ids = cupping("0.0010 in", "0.0010 in", "0.0010 in", "0.0010 in")
    assert judged() == ("pass", [])
    for one in ids:
        done(withdraw_reading, job="J1", reading_id=one, reason="another bore")
    cupping("0.0010 in", "0.0020 in", "0.0010 in", "0.0010 in")
    assert judged() == ("fail", ["seat: it is cupped by 50.8 µm, at most 35.56 µm"])
    no = refused(
        "verdict-fails", fit, job="J1", fittings=[FitIn("CYL-1/set", item)], checker=person("checker", "act_check")
    )
    assert "it is cupped by 50.8 µm" in no.errors[0][1].message
    found = proposal_of(job, TODAY)
    assert found["outcome"] == "not enough readings"
    assert (
        "CYL-1: seat: it is cupped by 50.8 µm, at most 35.56 µm: recut the seat and read it again" in found["missing"]
    )
    # recut, what was read of it before says nothing any more
    done(record_sizes, job="J1", sizes=[SizeIn("counterbore", "CYL-1/set", value="0.05 mm", gauge="G-1")])
    read("J1", *depths(8_960, 8_960, 8_960, 8_960))
    assert judged() == ("doubtful", ["seat: its cupping was not read"])
    cupping("0 in", "0.0005 in", "0 in", "0 in")
    assert judged() == ("pass", [])


def test_the_points_are_clock_hours_and_a_seat_that_nobody_called_clean_does_not_pass(job):
    row = ReadingIn("seat-cupping", "0 in", "G-1", point="top", place="CYL-1")
    error = refused("reading-unusable", record_readings, job="J1", readings=[row])
    assert error.errors[0][1].values["field"] == "point"
    cupping("0 in", "0 in", "0 in", "0 in", clean=None)
    assert judged() == ("doubtful", ["seat: its cupping: nobody said whether it was clean"])


def test_a_layout_on_a_seat_that_was_not_read_for_cupping_is_doubtful(job):
    job, _ = job
    rows = [
        ReadingIn("protrusion", "0.070 mm", "G-1", point=hour, place=f"CYL-{at}", clamp_load="60 N·m", **DRY)
        for hour in HOURS
        for at in (2, 3, 4, 5, 6)
    ]
    scales("W-1")
    weights = [ReadingIn("weight", "1638 g", "W-1", place=f"CYL-{at}", point="with pin") for at in (2, 3, 4, 5, 6)]
    weights.append(ReadingIn("weight", "1640 g", "W-1", set="S-1", point="with pin"))
    read("J1", *rows, *weights)
    found = proposal_of(job, TODAY)
    assert "seat of CYL-1: its cupping was not read" in str(found["why"])
