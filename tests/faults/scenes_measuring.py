"""A stage for each act of measuring."""

from __future__ import annotations

from typing import Any

from kits.services.gauges import CalibrationIn, StudyIn, enter_gauge, record_calibration, study_gauge, withdraw_gauge
from kits.services.readings import ReadingIn, record_readings, withdraw_reading
from kits.services.sizes import SizeIn, record_sizes, withdraw_size
from tests.factories import measuring
from tests.factories.stores import PersonFactory, stamp
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_jobs import job


@scene(enter_gauge)
def a_new_gauge() -> dict[str, Any]:
    return {"gauge": measuring.gauge_in(fresh("G-"))}


@scene(record_calibration)
def held_against_a_master() -> dict[str, Any]:
    calibration = CalibrationIn(measuring.DONE, measuring.DUE, "M-1", "the laboratory", uncertainty="2 um")
    return {"gauge": measuring.gauge(fresh("G-")), "calibration": calibration}


@scene(withdraw_gauge)
def a_lost_gauge() -> dict[str, Any]:
    return {"gauge": measuring.gauge(fresh("G-")), "reason": "lost"}


@scene(study_gauge)
def two_people_two_parts() -> dict[str, Any]:
    rows = [StudyIn(p, o, n, f"{n} um") for p in ("1", "2") for o in ("a", "b") for n in (1, 2)]
    return {"gauge": measuring.gauge(fresh("G-")), "readings": rows, "tolerance": "10 um"}


def two_readings() -> dict[str, Any]:
    """A job, and what is read on it."""
    number = measuring.gauge(fresh("G-"))
    readings = [ReadingIn("end-float", value, number, place="ENGINE") for value in ("0.10 mm", "0.12 mm")]
    return {"job": job("SETS").number, "readings": readings}


@scene(record_readings)
def a_batch_with_a_repeat() -> dict[str, Any]:
    return two_readings()


@scene(withdraw_reading)
def a_wrong_reading() -> dict[str, Any]:
    given = two_readings()
    made = record_readings(actor=PersonFactory(), stamp=stamp(), **given)
    return {"job": given["job"], "reading_id": made.body["readings"][0]["id"], "reason": "zero was off"}


@scene(record_sizes)
def a_seat_recut() -> dict[str, Any]:
    return {"job": job().number, "sizes": [SizeIn("seat", "CYL-1", "0.10 mm", measuring.gauge(fresh("G-")))]}


@scene(withdraw_size)
def a_recut_on_record() -> dict[str, Any]:
    given = a_seat_recut()
    made = record_sizes(actor=PersonFactory(), stamp=stamp(), **given).body["sizes"]
    return {"job": given["job"], "size_id": made[0]["id"], "reason": "another cylinder"}
