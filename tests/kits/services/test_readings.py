"""Readings on jobs of the demo shop's families: kept as typed, asked about, repeated, withdrawn."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Refusal, Serial
from kits.models import Reading, ReadingWithdrawal
from kits.queries.readings import readings_of
from kits.queries.scope import job_by_number
from kits.services.finish import cancel_job
from kits.services.gauges import CalibrationIn, record_calibration, withdraw_gauge
from kits.services.readings import MOST_LINES, ReadingIn, record_readings, withdraw_reading
from tests.factories.acts import done, refused
from tests.factories.measuring import DRY, PAST, calibrated, gauge, ledge, read, scales
from tests.factories.rebuilds import book, later, shelve_sets
from tests.factories.stores import NOON, PersonFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]


@pytest.fixture(autouse=True)
def tools():
    """Two gauges in date, one that is not, and scales."""
    gauge("G-1")
    gauge("G-2", uncertainty="0.004 mm")
    gauge("G-OLD", due=PAST)
    scales()


def count():
    return Reading.objects.count()


def test_a_reading_is_kept_as_typed_and_as_understood():
    book()
    given = ledge("3.6626 in", part_temperature="31 °C", gauge_temperature="68 °F")
    body = read("J1", given)
    assert body["repeats"] == []
    said = body["readings"][0]
    # 3.6626 in = 93.030 04 mm by the international inch
    assert {name: said[name] for name in ("what", "place", "point", "repeat", "value", "base", "shown", "gauge", "marks")} == {
        "what": "liner-height", "place": "CYL-1", "point": "12", "repeat": 1, "value": 93_030_040, "base": "nanometre",
        "shown": "3.6626 in", "gauge": "G-1", "marks": [],
    }  # fmt: skip
    row = readings_of(job=job_by_number("J1"))[0]
    assert (row.typed, row.part_mk, row.gauge_mk, row.uncertainty, row.expansion_ppm) == (
        "3.6626 in", 304_150, 293_150, 3_000, "11.5",
    )  # fmt: skip
    assert (row.clean, row.clamped, row.clamp_load, row.without_rubber, row.confirmed) == (
        True,
        True,
        "",
        True,
        False,
    )
    assert (row.computed_with, row.withdrawn, row.at) == (True, "", NOON)
    stored = Reading.objects.get()
    assert (stored.unit, stored.exact, stored.part_typed, stored.gauge_typed) == ("INH", True, "31 °C", "68 °F")


def test_the_two_slips_of_the_demo_shop_are_asked_about_with_what_was_meant():
    # worked example of the demo shop: 9.30 typed for 93.0; 3.66 in typed into a field of millimetres (92.964 mm)
    book()
    error = refused(
        "reading-implausible", record_readings, job="J1", readings=[ledge("9.30 mm"), ledge(), ledge("3.66 mm")]
    )
    assert [number for number, _ in error.errors] == [1, 3]
    likely = {
        one.values["typed"]: [(offer["meant"], offer["mm"]) for offer in one.values["likely"]]
        for _, one in error.errors
    }
    assert likely == {"9.30 mm": [("93.0 mm", "93.000 mm")], "3.66 mm": [("3.66 in", "92.964 mm")]}
    first = error.errors[0][1]
    assert (first.values["low"], first.values["high"], first.values["place"]) == ("91.149 mm", "94.911 mm", "CYL-1")
    assert first.ways_out == (
        'If "93.0 mm" was meant (decimal point), send it as "meant".',
        "If it is right, send it confirmed with a reason.",
    )
    assert count() == 0
    assert Refusal.objects.get(code="reading-implausible").values["lines"][0]["values"]["typed"] == "9.30 mm"
    # taken as it was meant: both are kept
    read("J1", ledge("3.66 mm", meant="3.66 in"))
    row = readings_of(job=job_by_number("J1"))[0]
    assert (row.typed, row.meant, row.value, row.reason) == ("3.66 mm", "3.66 in", 92_964_000, "")


def test_a_value_outside_its_band_is_taken_when_a_person_confirms_it_with_a_reason():
    book()
    refused("reason-missing", record_readings, job="J1", readings=[ledge("89 mm", confirmed=True, reason=" ")])
    read("J1", ledge("89 mm", confirmed=True, reason="liner of a later make"))
    row = readings_of(job=job_by_number("J1"))[0]
    assert (row.value, row.confirmed, row.reason) == (89_000_000, True, "liner of a later make")
    # inside the band there was nothing to confirm
    read("J1", ledge(confirmed=True, reason="sure"))
    assert [one.confirmed for one in readings_of(job=job_by_number("J1"))] == [True, False]


def test_the_ends_of_the_band_are_inside_and_one_nanometre_beyond_is_not():
    book()
    for value in ("91149000 nm", "94911000 nm"):
        read("J1", ledge(value))
    for value in ("91148999 nm", "94911001 nm"):
        refused("reading-implausible", record_readings, job="J1", readings=[ledge(value)])
    assert count() == 2


def test_what_a_slip_was_meant_to_be_is_one_that_was_offered_or_has_its_reason():
    book()
    refused("reason-missing", record_readings, job="J1", readings=[ledge("39.0 mm", meant="93.0 mm")])
    read("J1", ledge("39.0 mm", meant="93.0 mm", reason="digits turned round"))
    refused("reading-implausible", record_readings, job="J1", readings=[ledge("9.30 mm", meant="0.93 mm", reason="so")])
    assert [(one.typed, one.meant) for one in readings_of(job=job_by_number("J1"))] == [("39.0 mm", "93.0 mm")]


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"what": "colour"}, "reading-unusable"),
        ({"place": ""}, "reading-unusable"),
        ({"place": "CYL-9"}, "position-unknown"),
        ({"point": "13"}, "reading-unusable"),
        ({"point": "top/across"}, "reading-unusable"),
        ({"what": "protrusion", "value": "0.06 mm", "clamped": False, "clamp_load": "4 bolts"}, "reading-unusable"),
        # A flange is read by itself; what lay on the scales is said.
        ({"what": "flange-thickness", "value": "9.03 mm", "clamp_load": "4 bolts"}, "reading-unusable"),
        ({"what": "weight", "value": "416 g", "gauge": "W-1", "point": ""}, "reading-unusable"),
        ({"what": "weight", "value": "416 g", "gauge": "W-1", "point": "pin"}, "reading-unusable"),
        ({"gauge": "G-9"}, "not-found"),
        ({"gauge": "W-1"}, "gauge-wrong"),
        ({"set": "S-404"}, "not-found"),
        ({"item": 999_999}, "not-found"),
        ({"value": "93.03"}, "quantity-unreadable"),
        ({"value": "NaN mm"}, "quantity-unreadable"),
        ({"value": "-93.03 mm"}, "quantity-negative"),
        ({"value": "93,03 mm"}, "quantity-unreadable"),
        ({"value": "93 g"}, "quantity-wrong-dimension"),
        ({"part_temperature": "31"}, "quantity-unreadable"),
        ({"part_temperature": "31 mm"}, "quantity-wrong-dimension"),
        ({"part_temperature": "310 °C"}, "reading-implausible"),
        ({"gauge_temperature": "-300 °C"}, "quantity-negative"),
    ],
)
def test_what_is_no_reading_is_refused_and_its_line_is_named(given, code):
    book()
    good = {"what": "liner-height", "value": "93.035 mm", "gauge": "G-1", "place": "CYL-1", "point": "12"} | DRY
    error = refused(code, record_readings, job="J1", readings=[ledge(), ReadingIn(**(good | given))])
    assert [number for number, _ in error.errors] == [2]
    assert count() == 0


def test_nothing_too_much_and_an_ended_job():
    book()
    refused("nothing-given", record_readings, job="J1", readings=[])
    refused("too-many-lines", record_readings, job="J1", readings=[ledge()] * (MOST_LINES + 1))
    refused("not-found", record_readings, job="J404", readings=[ledge()])
    done(cancel_job, job="J1", reason="sold")
    refused("job-ended", record_readings, job="J1", readings=[ledge()])
    assert count() == 0


def test_beyond_the_range_of_its_gauge_a_reading_is_asked_about():
    book()
    end = ReadingIn("end-float", "0.12 mm", "G-1", place="ENGINE")
    long = ReadingIn("shim-thickness", "151 mm", "G-1", place="CYL-1")
    error = refused("reading-implausible", record_readings, job="J1", readings=[end, long])
    assert "range of gauge G-1" in error.errors[0][1].message
    low = ReadingIn("protrusion", "-0.020 mm", "G-1", place="CYL-1", point="3", **DRY)
    assert [one["value"] for one in read("J1", end, low)["readings"]] == [120_000, -20_000]


def test_a_gauge_out_of_date_and_rubber_rings_are_recorded_and_marked():
    book()
    body = read(
        "J1",
        ledge(gauge="G-OLD"),
        ledge(point="3", without_rubber=False),
        ledge(point="6", without_rubber=None, clean=None),
        ReadingIn("bore-diameter", "86.015 mm", "G-OLD", place="CYL-2", point="top/across"),
    )
    assert [(one["gauge_state"], one["marks"], one["computed_with"]) for one in body["readings"]] == [
        ("out of date", ["gauge out of date"], True),
        ("in date", ["rubber rings were on"], False),
        ("in date", ["nobody said whether rubber rings were on", "nobody said whether it was clean"], True),
        ("out of date", ["gauge out of date"], True),
    ]


def test_liners_that_the_maker_wants_clamped_say_so():
    book("J2", engine="R6-7309", operations=["P4"])
    given = {"place": "CYL-1", "point": "12"} | DRY
    body = read(
        "J2",
        ReadingIn("protrusion", "0.060 mm", "G-1", **given, clamp_load="4 bolts 60 N·m"),
        ReadingIn("protrusion", "0.060 mm", "G-1", **(given | {"clamped": False})),
        # Flange and counterbore are read by themselves: nothing is asked of a clamp.
        ReadingIn("flange-thickness", "9.030 mm", "G-1", **(given | {"clamped": None})),
        ReadingIn("counterbore-depth", "9.015 mm", "G-1", **(given | {"clamped": None})),
    )
    assert [one["marks"] for one in body["readings"]] == [[], ["not clamped"], [], []]
    assert [row.clamp_load for row in readings_of(job=job_by_number("J2"))] == ["4 bolts 60 N·m", "", "", ""]


def test_a_calibration_that_comes_in_later_marks_nothing_that_was_read_before():
    book()
    read("J1", ledge(gauge="G-OLD"))
    job = job_by_number("J1")
    after = CalibrationIn(date(2025, 1, 16), date(2026, 1, 15), "M-1", "the laboratory")
    done(record_calibration, gauge="G-OLD", calibration=after, stamp=stamp(later(1)))
    assert readings_of(job=job)[0].gauge_state == "out of date"
    # the certificate of a calibration done before the reading arrives: the reading was in date after all
    calibrated("G-OLD", date(2026, 1, 12), done_on=date(2025, 1, 13))
    assert readings_of(job=job)[0].gauge_state == "in date"


def test_repeats_that_differ_by_more_than_the_allowance_ask_for_a_third_and_the_median_counts():
    book()
    # u = 3 µm: U = 6 µm. Exactly 6 µm apart agree, 7 µm do not.
    body = read(
        "J1", ledge("93.030 mm"), ledge("93.036 mm"), ledge("93.030 mm", point="3"), ledge("93.037 mm", point="3")
    )
    assert [one["repeat"] for one in body["readings"]] == [1, 2, 1, 2]
    assert [(one["point"], one["value"], one["spread"], one["allowance"], one["how"]) for one in body["repeats"]] == [
        ("12", 93_033_000, 6_000, 6_000, "mean of two"),
        ("3", None, 7_000, 6_000, "measure again"),
    ]
    third = read("J1", ledge("93.036 mm", point="3"))
    assert (third["readings"][0]["repeat"], third["repeats"][0]["value"], third["repeats"][0]["how"]) == (
        3, 93_036_000, "median of 3",
    )  # fmt: skip
    # what was read with rings on is no repeat to compute with
    rings = read("J1", ledge("93.060 mm", without_rubber=False))
    assert (rings["readings"][0]["repeat"], rings["repeats"][0]["count"]) == (3, 2)
    assert count() == 6


def test_a_set_is_measured_by_its_serial_whatever_the_job():
    book()
    book("J2", engine="A4-020544")
    shelve_sets("A-101", "S-1", "S-2")
    body = read("J1", ledge(place="", set="S-1"), ledge(place="", set="S-2"))
    assert [(one["set"], one["place"]) for one in body["readings"]] == [("S-1", ""), ("S-2", "")]
    read("J2", ledge("93.036 mm", place="", set="S-1"))
    serial = Serial.objects.get(number="S-1")
    assert [(one.job, one.repeat, one.value) for one in readings_of(serials=[serial])] == [
        ("J1", 1, 93_035_000),
        ("J2", 1, 93_036_000),
    ]
    assert [one.set for one in readings_of(job=job_by_number("J1"), what="liner-height")] == ["S-1", "S-2"]
    assert readings_of(job=job_by_number("J1"), what=["block-depth", "weight"]) == ()
    with pytest.raises(ValueError, match="of a job"):
        readings_of()


def test_one_serial_of_two_parts_is_asked_about():
    book()
    shelve_sets("A-101", "S-1")
    shelve_sets("R-101", "S-1")
    error = refused("serial-ambiguous", record_readings, job="J1", readings=[ledge(place="", set="S-1")])
    assert error.errors[0][1].values["parts"] == ["A-101", "R-101"]
    read("J1", ledge(place="", set="S-1", part="A-101"))
    assert Reading.objects.get().serial.part.number == "A-101"


def test_weights_go_on_the_scales():
    book()
    shelve_sets("A-101", "S-1")
    body = read("J1", ReadingIn("weight", "416 g", "W-1", set="S-1", point="with pin"))
    assert [(one["value"], one["base"], one["shown"]) for one in body["readings"]] == [
        (416_000, "milligram", "416.0 g")
    ]


def test_a_withdrawn_reading_stays_with_its_reason_and_counts_no_more():
    book()
    first, second = [one["id"] for one in read("J1", ledge("93.030 mm"), ledge("93.036 mm"))["readings"]]
    refused("reason-missing", withdraw_reading, job="J1", reading_id=first, reason="")
    refused("not-found", withdraw_reading, job="J1", reading_id=first + 1000, reason="zero was off")
    book("J2", engine="A4-020544")
    refused("not-found", withdraw_reading, job="J2", reading_id=first, reason="zero was off")
    body = done(withdraw_reading, job="J1", reading_id=first, reason="zero was off")
    assert body == {"reading": first, "reason": "zero was off", "stale": []}
    refused("withdrawn-already", withdraw_reading, job="J1", reading_id=first, reason="again")
    job = job_by_number("J1")
    assert [one.id for one in readings_of(job=job)] == [second]
    assert [(one.withdrawn, one.computed_with) for one in readings_of(job=job, with_withdrawn=True)] == [
        ("zero was off", False),
        ("", True),
    ]
    # its number is not given out again
    again = read("J1", ledge("93.035 mm"))
    assert (again["readings"][0]["repeat"], again["repeats"][0]["count"]) == (3, 2)
    done(cancel_job, job="J1", reason="sold")
    done(withdraw_reading, job="J1", reading_id=second, reason="wrong bore")
    assert ReadingWithdrawal.objects.count() == 2


def test_a_gauge_that_was_withdrawn_since_leaves_earlier_readings_as_they_were():
    book()
    read("J1", ledge())
    tomorrow = stamp(NOON + timedelta(days=1))
    done(withdraw_gauge, gauge="G-1", reason="dropped", stamp=tomorrow)
    read("J1", ledge("93.036 mm"), stamp=stamp(later(1)))
    assert [one.gauge_state for one in readings_of(job=job_by_number("J1"))] == ["in date", "withdrawn"]


def test_the_job_has_changed_and_the_same_key_records_once():
    job = book()
    mark, actor = stamp(), PersonFactory()
    first = record_readings(actor=actor, stamp=mark, job="J1", readings=[ledge()])
    again = record_readings(actor=actor, stamp=mark, job="J1", readings=[ledge()])
    assert (again.replayed, again.body, count()) == (True, first.body, 1)
    assert job_by_number("J1").version == job.version + 1


def test_reading_takes_the_same_queries_for_one_and_for_many():
    book()
    job = job_by_number("J1")
    counts = []
    for points in (["12"], ["3", "6"]):
        read("J1", *(ledge(point=point, gauge=number) for point in points for number in ("G-1", "G-2")))
        with CaptureQueriesContext(connection) as caught:
            rows = readings_of(job=job)
        counts.append((len(rows), len(caught)))
    assert counts == [(2, 2), (6, 2)]
