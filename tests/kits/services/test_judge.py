"""Readings of a job judged by the service: which readings count, what is kept, when it goes stale."""

import pytest

from kits.models import MeasuredResult, ResultReading
from kits.queries.readings import readings_of
from kits.queries.results import result_now, results_of
from kits.queries.scope import job_by_number
from kits.services.fit import set_bores
from kits.services.judge import judge_readings
from kits.services.readings import ReadingIn, withdraw_reading
from tests.factories.acts import done, refused
from tests.factories.measuring import PAST, gauge, read
from tests.factories.rebuilds import book, shelve_sets
from tests.factories.stores import PersonFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
POINTS = ("top/along", "top/across", "bottom/along", "bottom/across")


@pytest.fixture
def job():
    gauge("G-1")
    gauge("G-OLD", due=PAST)
    return book()


def cylinder(place="CYL-1", bore="86.015 mm", piston="85.905 mm", with_gauge="G-1", **more):
    """The readings of one clearance: a bore in two planes and directions, a piston at its stated height; their ids."""
    lines = [ReadingIn("bore-diameter", bore, with_gauge, place=place, point=point, **AT20 | more) for point in POINTS]
    lines.append(ReadingIn("piston-diameter", piston, with_gauge, place=place, point="14 mm", **AT20 | more))
    return [one["id"] for one in read("J1", *lines)["readings"]]


def rings(place, **more):
    sizes = (("top", "0.35 mm"), ("second", "0.40 mm"), ("oil", "0.40 mm"))
    return read("J1", *(ReadingIn("ring-gap", gap, "G-1", place=place, point=ring, **more) for ring, gap in sizes))


def judge(kind="piston clearance", **more):
    return done(judge_readings, job="J1", kind=kind, **more)


def no(code, kind="piston clearance", **more):
    return refused(code, judge_readings, job="J1", kind=kind, **more)


def test_a_clearance_is_kept_with_its_rule_and_readings_and_goes_stale(job):
    # Worked example of the demo shop: 86.015 - 85.905 = 0.110 mm. Both by one gauge of u = 3 µm: U = 2·√18 = 8.486 µm.
    ids = cylinder()
    cylinder("CYL-2")
    body = judge(place="CYL-1/set")
    row = result_now(job_by_number("J1"), "piston clearance", "CYL-1")
    assert (body["result"], body["subject"], body["verdict"]) == (row.id, "CYL-1", "pass")
    assert body["document"] == row.document
    assert (row.readings, row.document["allowance_nm"], row.document["factor"]) == (tuple(ids), 8486, 2)
    assert [(one["gauge"], one["correction_nm"]) for one in row.document["readings"]] == [("G-1", 0)] * 5
    gone = done(withdraw_reading, job="J1", reading_id=ids[2], reason="zero was off")
    assert gone["stale"] == [{"result": row.id, "kind": "piston clearance", "subject": "CYL-1"}]
    assert [one.why for one in results_of(job)] == [(f"reading {ids[2]} was withdrawn: zero was off",)]
    # What was withdrawn is not computed with: a place of the bore is missing.
    no("bore-readings-short", place="CYL-1")
    assert judge(place="CYL-2")["verdict"] == "pass"


def test_a_gauge_out_of_date_cannot_support_a_pass_until_it_is_read_again(job):
    cylinder(with_gauge="G-OLD")
    body = judge(place="CYL-1")
    assert (body["verdict"], body["document"]["why"]) == ("doubtful", ["gauge out of date"])
    ids = cylinder(bore="86.013 mm")
    body = judge(place="CYL-1")
    assert (body["verdict"], body["document"]["least_nm"]) == ("pass", 108_000)
    assert list(ResultReading.objects.filter(result=body["result"]).values_list("reading", flat=True)) == ids
    assert [one.replaced_by for one in results_of(job)] == [body["result"], None]


def test_without_temperatures_a_piston_is_doubtful_and_a_warm_one_is_corrected(job):
    cylinder(part_temperature="", gauge_temperature="")
    body = judge(place="CYL-1")
    assert (body["verdict"], body["document"]["why"]) == (
        "doubtful",
        ["piston: the temperature of part or gauge is missing"],
    )
    # 31 °C, gauge too: liner 11 - 11.5 and piston 21 - 11.5 parts per million. 86.015 · (1 + 0.5e-6 · 11) and
    # 85.905 · (1 - 9.5e-6 · 11), by hand: +0.000473 and -0.008977 mm.
    cylinder("CYL-3", part_temperature="31 °C", gauge_temperature="31 °C")
    body = judge(place="CYL-3")
    assert [one["correction_nm"] for one in body["document"]["readings"]] == [473, 473, 473, 473, -8977]
    assert (body["verdict"], body["document"]["least_nm"]) == ("doubtful", 110_000 + 473 + 8977)


def test_two_sets_at_one_bore_are_told_apart(job):
    shelve_sets("A-101", "S-1", "S-2")
    ids = [cylinder(set=serial) for serial in ("S-1", "S-2")]
    assert no("reading-unusable", place="CYL-1").values["sets"] == ["S-1", "S-2"]
    body = judge(place="CYL-1", set="S-2")
    assert (body["subject"], body["verdict"]) == ("CYL-1", "pass")
    assert list(ResultReading.objects.filter(result=body["result"]).values_list("reading", flat=True)) == ids[1]
    assert judge(set="S-1")["subject"] == "S-1"
    no("not-found", set="S-9")


def test_a_ring_gap_counts_in_its_own_bore(job):
    shelve_sets("A-101", "S-1")
    rings("CYL-1", set="S-1")
    assert judge("ring gap", set="S-1")["subject"] == "S-1"
    done(set_bores, job="J1", bores={"CYL-2/set": "S-1"}, reason="layout")
    no("ring-other-bore", "ring gap", set="S-1")
    no("ring-other-bore", "ring gap", set="S-1", place="CYL-2")
    no("readings-missing", "ring gap", place="CYL-2")
    rings("CYL-3")
    assert judge("ring gap", place="CYL-3")["document"]["rings"][0]["gap"] == "0.350 mm"


def test_repeats_that_disagree_and_what_is_no_kind_or_place(job):
    cylinder()
    cylinder(bore="86.050 mm")
    for code, asked in (
        ("readings-disagree", {"place": "CYL-1"}),
        ("readings-missing", {"place": "CYL-4"}),
        ("reading-unusable", {"kind": "colour", "place": "CYL-1"}),
        ("reading-unusable", {}),
        ("reading-unusable", {"place": "MAIN-1"}),
        ("position-unknown", {"place": "CYL-9"}),
        ("not-found", {"kind": "bearing halves", "bearing": "rods"}),
        ("readings-missing", {"kind": "bearing halves"}),
        ("no-limit", {"kind": "gasket grade"}),
        ("readings-missing", {"kind": "thrust washers", "fitted": ["A-409"]}),
    ):
        no(code, **asked)
    assert MeasuredResult.objects.count() == 0


def test_the_same_key_gives_the_same_result(job):
    cylinder()
    mark, somebody = stamp(), PersonFactory()
    first = judge(place="CYL-1", stamp=mark, actor=somebody)
    assert judge(place="CYL-1", stamp=mark, actor=somebody) == first
    assert MeasuredResult.objects.count() == 1
    assert len(readings_of(job=job)) == 5
