"""A stage for each act of measuring."""

from __future__ import annotations

from typing import Any

from inventory.models import Part, Serial
from kits.models import Job
from kits.services.accept import accept_result
from kits.services.accept_layout import BoreIn, accept_layout, withdraw_layout
from kits.services.build import DutyIn, name_checkers
from kits.services.fit import FitIn, fit
from kits.services.gauges import CalibrationIn, StudyIn, enter_gauge, record_calibration, study_gauge, withdraw_gauge
from kits.services.judge import judge_readings
from kits.services.match_set import match_set
from kits.services.photo_checks import PhotoIn, record_photo_checks
from kits.services.protrusions import judge_protrusion
from kits.services.readings import ReadingIn, record_readings, withdraw_reading
from kits.services.sizes import SizeIn, record_sizes, withdraw_size
from kits.services.washed_out import hot_wash
from tests.factories import measuring, workshop
from tests.factories.matching import left_of_two, read_both
from tests.factories.stores import PersonFactory, shelf, site, stamp, stock
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_jobs import at_bench, job


@scene(hot_wash)
def block_out_of_the_wash() -> dict[str, Any]:
    return {"job": job().number, "pieces": ["block", "liner"]}


def a_half_fitted() -> tuple[Job, int]:
    """A job whose cover has its first part, which is looked at before the second goes on; the item of the second."""
    it = job("RISING")
    for number in workshop.MANY:
        stock(Part.objects.get(number=number), 1, lot=fresh("L"), place=shelf("R1"))
    workshop.handed_over_for(it.number)
    first, second = (at_bench(it, number) for number in workshop.MANY[:2])
    fit(actor=PersonFactory(), stamp=stamp(), job=it.number, fittings=[FitIn("COVER/part-1", first)])
    return it, second


@scene(record_photo_checks)
def a_half_with_its_groove_up() -> dict[str, Any]:
    it, _ = a_half_fitted()
    looks = [
        PhotoIn("groove up", "COVER/part-1", "photos/1.jpg"),
        PhotoIn("groove up", "COVER/part-1", "2", False, "down"),
    ]
    ina = workshop.checker(fresh("ina"))
    name_checkers(actor=PersonFactory(), stamp=stamp(), site=site().code, checkers=[DutyIn(ina, (), True)])
    return {"actor": ina, "job": it.number, "looks": looks}


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


def projected() -> dict[str, Any]:
    """A job with a cover to be chosen, and the projections of both pistons read."""
    number, it = measuring.gauge(fresh("G-")), job("KINDS")
    lines = [
        ReadingIn("piston-projection", "0.4 mm", number, place=place, point=point, clamped=True)
        for place in ("CYL-1", "CYL-2")
        for point in ("front", "rear")
    ]
    record_readings(actor=PersonFactory(), stamp=stamp(), job=it.number, readings=lines)
    return {"job": it.number}


@scene(judge_readings)
def which_gasket() -> dict[str, Any]:
    return projected() | {"kind": "gasket grade"}


@scene(accept_result)
def that_gasket() -> dict[str, Any]:
    given = projected()
    made = judge_readings(actor=PersonFactory(), stamp=stamp(), kind="gasket grade", **given)
    return given | {"result_id": made.body["result"], "reason": "read twice"}


@scene(record_readings)
def a_batch_with_a_repeat() -> dict[str, Any]:
    return two_readings()


@scene(withdraw_reading)
def a_wrong_reading() -> dict[str, Any]:
    given = two_readings()
    made = record_readings(actor=PersonFactory(), stamp=stamp(), **given)
    return {"job": given["job"], "reading_id": made.body["readings"][0]["id"], "reason": "zero was off"}


def two_gauged() -> dict[str, Any]:
    """A job for two bores, its two sets and the bores read."""
    number = job("SETS", cylinders=2).number
    serials = list(Serial.objects.filter(part__number="SET").order_by("-pk").values_list("number", flat=True)[:2])
    measuring.two_bores(number, *serials, gauge_number=measuring.gauge(fresh("G-")))
    return {"job": number, "bores": [BoreIn(f"CYL-{at}/set", one) for at, one in enumerate(serials, 1)]}


@scene(judge_protrusion)
def a_set_in_a_bore() -> dict[str, Any]:
    given = two_gauged()
    return {"job": given["job"], "position": "CYL-1/set", "set": given["bores"][0].serial}


@scene(accept_layout)
def a_layout_of_two() -> dict[str, Any]:
    return two_gauged()


@scene(withdraw_layout)
def a_layout_taken_back() -> dict[str, Any]:
    given = two_gauged()
    made = accept_layout(actor=PersonFactory(), stamp=stamp(), **given)
    return {"job": given["job"], "layout": made.body["layout"], "reason": "gauged again"}


@scene(match_set)
def what_two_broken_sets_left() -> dict[str, Any]:
    number, gauge = job("SETS", cylinders=2).number, measuring.gauge(fresh("G-"))
    serials = list(Serial.objects.filter(part__number="SET").order_by("-pk").values_list("number", flat=True)[:2])
    them = left_of_two("SET", *serials)
    read_both(number, them, gauge=gauge)
    signer = workshop.checker(fresh("edda"))
    name_checkers(actor=PersonFactory(), stamp=stamp(), site=site().code, checkers=[DutyIn(signer, (), True)])
    return {"job": number, "part": "SET", "serial": fresh("N-"), "signed_by": signer, **them}


@scene(record_sizes)
def a_seat_recut() -> dict[str, Any]:
    return {"job": job().number, "sizes": [SizeIn("seat", "CYL-1", "0.10 mm", measuring.gauge(fresh("G-")))]}


@scene(withdraw_size)
def a_recut_on_record() -> dict[str, Any]:
    given = a_seat_recut()
    made = record_sizes(actor=PersonFactory(), stamp=stamp(), **given).body["sizes"]
    return {"job": given["job"], "size_id": made[0]["id"], "reason": "another cylinder"}
