"""The height of a liner judged at the bench, and what a verdict that fails stops."""

import pytest

from kits.queries.open_lines import open_lines
from kits.services.fit import FitIn, fit
from kits.services.protrusions import judge_protrusion
from kits.services.readings import ReadingIn, withdraw_reading
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, gauge, read
from tests.factories.rebuilds import at_bench, book, item_at, person, put_in, shelve, shelve_sets

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]
AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
ROUND = ("12", "3", "6", "9")


def heights(place, liner_um, serial="", points=ROUND, block_um=-50, job="J1"):
    """Liner and block of an Alder-4 bore, micrometres above 93 mm; ids of the liner's readings."""
    mine = {"set": serial} if serial else {"place": place}
    block = [
        ReadingIn("block-depth", f"{93_000 + block_um} um", "G-1", point=p, place=place, **DRY | AT20) for p in points
    ]
    liner = [ReadingIn("liner-height", f"{93_000 + liner_um} um", "G-1", point=p, **DRY | AT20 | mine) for p in points]
    return [row["id"] for row in read(job, *liner, *block)["readings"]][: len(points)]


def verdict(place, serial="", **more):
    return done(judge_protrusion, job=more.pop("job", "J1"), position=f"{place}/set", set=serial, **more)


def test_four_points_in_one_quarter_never_pass():
    gauge("G-1")
    book(findings=[("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")])
    heights("CYL-1", 30, points=("12", "1", "2", "3"))
    said = verdict("CYL-1")
    assert said["verdict"] == "doubtful"
    assert "do not stand round it: none between 3 and 12 o'clock" in " ".join(said["why"])
    heights("CYL-2", 30)
    assert verdict("CYL-2")["verdict"] == "pass"


@pytest.fixture
def bench():
    """A job for two bores with two sets, a head gasket and all else at the bench: the job, its hold, items by serial."""
    gauge("G-1")
    shelve_sets("A-101", "S-1", "S-2")
    job = book(findings=[("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")])
    shelve({"A-201": 1, "A-203": 1})
    body = at_bench(job, steps=["P1/10", "P1/50"])
    return job, body, {row["serial"]: row["item"] for row in body["held"] if row["serial"]}


def no(position, item):
    checker = person("checker", "act_check")
    return refused("verdict-fails", fit, job="J1", fittings=[FitIn(position, item)], checker=checker)


def open_heights(job):
    return [row["position"] for row in open_lines(job) if row["what"] == "height of a liner fails"]


def test_a_set_whose_height_fails_goes_into_that_bore_only_when_it_is_judged_anew(bench):
    job, _, items = bench
    # 0.150 mm over the block, at most 0.120 mm by the demo shop's table
    heights("CYL-1", 100, "S-1")
    assert verdict("CYL-1", "S-1")["verdict"] == "fail"
    said = no("CYL-1/set", items["S-1"])
    assert "S-1 into CYL-1/set: the protrusion of CYL-1/set fails by result" in said.message
    # another set that is good there says nothing of this one
    heights("CYL-1", 30, "S-2")
    assert verdict("CYL-1", "S-2")["verdict"] == "pass"
    no("CYL-1/set", items["S-1"])
    assert open_heights(job) == []
    put_in(job, ("CYL-1/set", items["S-2"]))
    # the same set in the next bore: nothing was judged of it there
    put_in(job, ("CYL-2/set", items["S-1"]))
    assert open_heights(job) == []


def test_a_liner_that_was_gauged_and_fails_is_not_closed_over(bench):
    job, body, items = bench
    gasket = item_at(body, "HEAD/gasket")
    put_in(job, ("CYL-1/set", items["S-1"]), ("CYL-2/set", items["S-2"]))
    ids = heights("CYL-2", 100, "S-2")
    assert verdict("CYL-2", "S-2")["verdict"] == "fail"
    assert open_heights(job) == ["CYL-2"]
    assert "HEAD/gasket closes over CYL-2: the height of its liner fails by result" in no("HEAD/gasket", gasket).message
    # a reading was wrong: withdrawn, read again, judged again
    for one in ids:
        done(withdraw_reading, job="J1", reading_id=one, reason="gauge stood on a burr")
    assert open_heights(job) == []
    heights("CYL-2", 30, "S-2")
    assert verdict("CYL-2", "S-2")["verdict"] == "pass"
    put_in(job, ("HEAD/gasket", gasket))
    # judged once more after the head is on, and it fails: the job does not close over it
    heights("CYL-1", 100)
    assert verdict("CYL-1")["verdict"] == "fail"
    assert open_heights(job) == ["CYL-1"]
    heights("CYL-1", 30, "S-1")
    verdict("CYL-1", "S-1")
    assert open_heights(job) == []
