"""A gauge that its next calibration finds wrong: what rests on it is judged again, and says neither yes nor no until then."""

from datetime import timedelta

import pytest

from kits.queries.open_lines import open_lines
from kits.queries.results import results_of
from kits.services.fit import FitIn, fit
from kits.services.protrusions import judge_protrusion
from tests.factories.acts import done, refused
from tests.factories.measuring import calibrated, gauge, read, round_bore, round_set
from tests.factories.rebuilds import TODAY, at_bench, book, item_at, person, put_in, shelve, shelve_sets
from tests.factories.stores import NOON, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]
AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
BEFORE = NOON - timedelta(days=2)
DAY = NOON.date()


@pytest.fixture
def bench():
    """A liner read and judged good two days before, at the bench with its head gasket: the job, the set, the gasket."""
    gauge("G-1")
    gauge("G-2")
    shelve_sets("A-101", "S-1")
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    shelve({"A-201": 1, "A-203": 1})
    body = at_bench(job, steps=["P1/10", "P1/50"])
    height(BEFORE)
    return job, body


def height(at, gauge_number="G-1"):
    rows = [
        *round_set("S-1", *[30] * 4, gauge=gauge_number, **AT20),
        *round_bore("CYL-1", *[-50] * 4, gauge=gauge_number, **AT20),
    ]
    read("J1", *rows, stamp=stamp(at=at))
    assert done(judge_protrusion, job="J1", position="CYL-1/set", set="S-1", stamp=stamp(at=at))["verdict"] == "pass"


def fits(item):
    checker = person("checker", "act_check")
    return refused("verdict-stale", fit, job="J1", fittings=[FitIn("CYL-1/set", item)], checker=checker).errors[0][1]


@pytest.mark.parametrize("days", [0, 1, 2])
def test_what_was_judged_by_it_is_judged_again(bench, days):
    job, body = bench
    calibrated("G-1", done_on=DAY - timedelta(days=days), passed=False)
    (result,) = results_of(job)
    assert result.stale
    wrong = f"the gauge of reading {result.readings[0]} was found wrong on {DAY - timedelta(days=days)}: read it again with another"
    assert result.why[0] == wrong
    assert wrong in fits(item_at(body, "CYL-1/set")).message
    again = done(judge_protrusion, job="J1", position="CYL-1/set", set="S-1")
    assert again["verdict"] == "doubtful"
    state = "failed its calibration" if days == 2 else "found wrong at its next calibration"
    assert f"gauge {state}" in again["why"]
    # it was judged with that on record: it stands, doubtful
    assert [one.stale for one in results_of(job)] == [True, False]
    height(NOON, "G-2")
    put_in(job, ("CYL-1/set", item_at(body, "CYL-1/set")))
    assert [row for row in open_lines(job, TODAY) if "height" in row["what"]] == []


def test_a_good_calibration_before_it_clears_what_was_read_until_then(bench):
    job, body = bench
    calibrated("G-1", done_on=DAY - timedelta(days=1))
    calibrated("G-1", done_on=DAY, passed=False)
    assert [one.stale for one in results_of(job)] == [False]
    put_in(job, ("CYL-1/set", item_at(body, "CYL-1/set")))


def test_a_liner_is_not_closed_over_by_it(bench):
    job, body = bench
    put_in(job, ("CYL-1/set", item_at(body, "CYL-1/set")))
    calibrated("G-1", done_on=DAY, passed=False)
    checker = person("checker", "act_check")
    line = [FitIn("HEAD/gasket", item_at(body, "HEAD/gasket"))]
    no = refused("verdict-stale", fit, job="J1", fittings=line, checker=checker)
    assert "was found wrong" in no.errors[0][1].message
