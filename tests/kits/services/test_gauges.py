"""The register of gauges: entered, calibrated, studied, withdrawn; nothing of it is changed."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kits.models import Calibration, Gauge, GaugeStudy, GaugeWithdrawal
from kits.queries.gauges import full_record, gauge, gauges, gauges_by_number, record, standing_on
from kits.services.gauges import (
    CalibrationIn,
    StudyIn,
    enter_gauge,
    record_calibration,
    study_gauge,
    withdraw_gauge,
)
from tests.factories.acts import done, refused
from tests.factories.measuring import DONE, DUE, calibrated, gauge_in
from tests.factories.measuring import gauge as registered
from tests.factories.stores import NOON, PersonFactory, stamp
from tests.kits.domain.test_gauge_study import ROWS

pytestmark = pytest.mark.django_db

TODAY = NOON.date()


def test_a_gauge_is_entered_once_and_is_not_in_date_before_its_calibration():
    assert done(enter_gauge, gauge=gauge_in()) == {"gauge": "G-1", "state": "never calibrated"}
    row = Gauge.objects.get()
    assert (row.low, row.high, row.resolution, row.uncertainty) == (0, 150_000_000, 1_000, 3_000)
    assert row.typed == {"low": "0 mm", "high": "150 mm", "resolution": "0.001 mm", "uncertainty": "0.003 mm"}
    assert standing_on(gauge("G-1"), TODAY).state == "never calibrated"
    refused("gauge-known", enter_gauge, gauge=gauge_in())
    assert Gauge.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"number": " "}, "nothing-given"),
        ({"name": ""}, "nothing-given"),
        ({"kind": ""}, "nothing-given"),
        ({"measures": "colour"}, "gauge-unusable"),
        ({"high": "0 mm"}, "gauge-unusable"),
        ({"expansion_ppm": "warm"}, "gauge-unusable"),
        ({"high": "150"}, "quantity-unreadable"),
        ({"site": "nowhere"}, "not-found"),
    ],
)
def test_what_is_no_gauge(given, code):
    number = given.get("number", "G-1")
    refused(code, enter_gauge, gauge=gauge_in(number, **{k: v for k, v in given.items() if k != "number"}))
    assert Gauge.objects.count() == 0


def test_the_newest_calibration_up_to_a_day_counts():
    registered(due=None)
    body = done(
        record_calibration,
        gauge="G-1",
        calibration=CalibrationIn(DONE, DUE, "M-1", "the laboratory", certificate="C 17", uncertainty="2.5 um"),
    )
    assert body == {
        "gauge": "G-1", "calibration": Calibration.objects.get().pk, "done_on": "2024-07-01", "next_due": "2025-06-30", "passed": True,
    }  # fmt: skip
    calibrated("G-1", done_on=date(2025, 1, 10), due=date(2026, 1, 9), passed=False)
    row = gauge("G-1")
    states = {day: standing_on(row, day) for day in (date(2024, 6, 30), DONE, date(2025, 1, 9), TODAY)}
    assert [(one.state, one.uncertainty) for one in states.values()] == [
        ("never calibrated", 3_000),
        ("found wrong at its next calibration", 2_500),
        ("found wrong at its next calibration", 2_500),
        ("failed its calibration", 3_000),
    ]
    assert [one["passed"] for one in full_record(row, TODAY)["calibrations"]] == [False, True]


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"done_on": date(2025, 1, 16)}, "from-the-future"),
        ({"next_due": date(2024, 6, 30)}, "dates-turned"),
        ({"master": " "}, "nothing-given"),
        ({"done_by": ""}, "nothing-given"),
        ({"uncertainty": "0 mm"}, "gauge-unusable"),
        ({"uncertainty": "2 g"}, "quantity-wrong-dimension"),
    ],
)
def test_what_is_no_calibration(given, code):
    registered(due=None)
    good = {"done_on": DONE, "next_due": DUE, "master": "M-1", "done_by": "the laboratory"}
    refused(code, record_calibration, gauge="G-1", calibration=CalibrationIn(**(good | given)))
    assert Calibration.objects.count() == 0


def test_a_lost_gauge_stays_on_the_register_and_takes_nothing_more():
    registered()
    refused("reason-missing", withdraw_gauge, gauge="G-1", reason=" ")
    assert done(withdraw_gauge, gauge="G-1", reason="dropped") == {"gauge": "G-1", "reason": "dropped"}
    row = gauge("G-1")
    assert [standing_on(row, day).state for day in (date(2025, 1, 14), TODAY)] == ["in date", "withdrawn"]
    again = CalibrationIn(DONE, DUE, "M-1", "the laboratory")
    for error in (
        refused("gauge-withdrawn", withdraw_gauge, gauge="G-1", reason="lost"),
        refused("gauge-withdrawn", record_calibration, gauge="G-1", calibration=again),
        refused("gauge-withdrawn", study_gauge, gauge="G-1", readings=[StudyIn("1", "a", 1, "1 mm")]),
    ):
        assert error.message == "Gauge G-1 was withdrawn: dropped"
    assert (GaugeWithdrawal.objects.count(), Calibration.objects.count()) == (1, 1)


def test_an_unknown_gauge_is_named_with_near_ones():
    registered("G-101")
    error = refused("not-found", withdraw_gauge, gauge="G-1O1", reason="lost")
    assert error.values == {"gauge": "G-1O1", "near": ["G-101"]}


def study_rows():
    """The study of Houf & Berman (1988) with its values as micrometres."""
    return [StudyIn(row.part, row.operator, row.repeat, f"{row.value} um") for row in ROWS]


def test_a_study_is_kept_with_its_readings_and_the_newest_is_shown():
    registered()
    body = done(study_gauge, gauge="G-1", readings=study_rows(), tolerance="0.04 mm")
    # Houf & Berman 1988: 18.97 % of the study, 20.15 % of the tolerance at six sigma, 7 categories, variance of the gauge 1.8037
    said = {
        name: body[name] for name in ("percent_of_study", "percent_of_tolerance", "categories", "verdict", "below_zero")
    }
    assert said == {
        "percent_of_study": "18.97", "percent_of_tolerance": "20.15", "categories": 7, "verdict": "marginal", "below_zero": [],
    }  # fmt: skip
    assert (body["base"], body["parts"]) == ("nanometre", 10)
    assert round((float(body["sigmas"]["gauge"]) / 1000) ** 2, 4) == 1.8037
    assert body["variances"]["repeatability"] == "4600000/9"  # 46/90 square micrometres
    later = done(study_gauge, gauge="G-1", readings=study_rows()[:18])
    shown = full_record(gauge("G-1"), TODAY)["study"]
    assert (shown["id"], shown["percent_of_tolerance"], len(shown["readings"])) == (later["study"], None, 18)
    assert shown["readings"][0] == {"part": "1", "operator": "1", "repeat": 1, "value": "37 um"}
    assert GaugeStudy.objects.count() == 2


def test_a_study_that_lacks_readings_or_has_what_cannot_be_read_is_not_kept():
    registered()
    error = refused("study-unbalanced", study_gauge, gauge="G-1", readings=study_rows()[:-1])
    assert error.values["missing"] == [["10", "3", 3]]
    rows = study_rows()
    rows[4] = StudyIn("1", "2", 2, "41")
    rows[6] = StudyIn("1", "3", 1, "NaN mm")
    error = refused("quantity-unreadable", study_gauge, gauge="G-1", readings=rows)
    assert [number for number, _ in error.errors] == [5, 7]
    refused("study-unusable", study_gauge, gauge="G-1", readings=[])
    refused("study-unusable", study_gauge, gauge="G-1", readings=study_rows(), tolerance="0 mm")
    assert GaugeStudy.objects.count() == 0


def test_the_same_key_enters_one_gauge():
    mark, actor = stamp(), PersonFactory()
    first = enter_gauge(actor=actor, stamp=mark, gauge=gauge_in())
    again = enter_gauge(actor=actor, stamp=mark, gauge=gauge_in())
    assert (first.replayed, again.replayed, again.body) == (False, True, first.body)


def test_reading_the_register_takes_the_same_queries_for_one_and_for_three():
    counts = []
    for number in ("G-1", "G-2", "G-3"):
        registered(number)
        with CaptureQueriesContext(
            connection,
        ) as caught:
            rows = [record(row, TODAY) for row in gauges()]
        counts.append((len(rows), len(caught)))
    assert counts == [(1, 2), (2, 2), (3, 2)]
    assert sorted(gauges_by_number(["G-3", "G-9"])) == ["G-3"]
