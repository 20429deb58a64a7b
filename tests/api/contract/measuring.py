"""One good request for each operation of gauges, readings, sizes, layouts and verdicts, on the job of the small shop."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from inventory.models import Person
from inventory.services.run import run
from kits.queries.scope import job_by_number
from kits.services.families import enter_family
from kits.services.gauges import StudyIn, study_gauge
from kits.services.judge import judge_readings
from kits.services.readings import ReadingIn
from kits.services.results import record_result
from tests.api.contract.rebuilds import JOB, Make, brought_to, on_engine
from tests.api.contract.shops import Good
from tests.api.rest.clients import ShopClient
from tests.factories.engines import family_document
from tests.factories.measuring import gauge, round_bore, round_set
from tests.factories.measuring import read as read_on
from tests.factories.stores import stamp

_GAUGE = {
    "number": "G-1", "name": "depth gauge", "kind": "depth gauge", "measures": "length", "low": "0 mm", "high": "150 mm",
    "resolution": "0.001 mm", "uncertainty": "0.003 mm", "site": "TS", "expansion_ppm": "11.5",
}  # fmt: skip
_READING = {"what": "ring-gap", "value": "0.35 mm", "gauge": "G-1", "place": "CYL-1"}
_STUDY = [
    {"part": part, "operator": operator, "repeat": repeat, "value": f"{repeat} um"}
    for part in ("1", "2")
    for operator in ("a", "b")
    for repeat in (1, 2)
]


def on_gauge(body: Any = None) -> Make:
    """A request on a gauge that is on the register, calibrated and studied."""

    def make(actor: Person) -> Good:
        gauge("G-1")
        study_gauge(actor=actor, stamp=stamp(), gauge="G-1", readings=[StudyIn(**one) for one in _STUDY])
        return Good({"number": "G-1"}, body=body)

    return make


_SIZE = {"size": "seat", "place": "CYL-2", "value": "0.10 mm", "gauge": "G-1"}


def _size_made(actor: Person) -> Good:
    brought_to("booked")
    gauge("G-1")
    return Good(JOB, body={"sizes": [_SIZE]})


def _size_withdrawn(actor: Person) -> Good:
    its = brought_to("booked")
    gauge("G-1")
    made = its.did(its.technician, "jobs/J-1/sizes", {"sizes": [_SIZE]})["sizes"][0]
    return Good(JOB | {"one": made["id"]}, body={"reason": "another cylinder"})


def _readings(actor: Person) -> int:
    """A reading on the job J-1, and a result that rests on it; the reading's id."""
    brought_to("booked")
    gauge("G-1")
    body = read_on("J-1", ReadingIn(**_READING))
    row = job_by_number("J-1")

    def work(act: Any) -> dict[str, Any]:
        return {"result": record_result(act, row, "ring gap", "CYL-1", {"rule": "by eye"}, [reading]).pk}

    reading = int(body["readings"][0]["id"])
    run("judge", work, actor=actor, stamp=stamp(), request={})
    return reading


def _reading_list(actor: Person) -> Good:
    _readings(actor)
    return Good(JOB)


def _reading_made(actor: Person) -> Good:
    _readings(actor)
    return Good(JOB, body={"readings": [_READING]})


def _reading_withdrawn(actor: Person) -> Good:
    return Good(JOB | {"one": _readings(actor)}, body={"reason": "zero was off"})


def _gauged(actor: Person) -> list[dict[str, Any]]:
    """J-1 with its bores and a set read; the bores of a layout."""
    its = brought_to("booked")
    gauge("G-1")
    bores = [one for place in ("CYL-1", "CYL-2") for one in round_bore(place, 15, 15, 15, 15)]
    over = [replace(one, what="protrusion", value="85 um") for one in round_bore("CYL-2", 0, 0, 0, 0)]
    read_on("J-1", *bores, *over, *round_set("S-2", 100, 100, 100, 100))
    assert its.technician.read("jobs/J-1/layout").json()["outcome"] == "certain"
    return [{"position": "CYL-1/set", "serial": "S-2"}]


def _layout(body: bool = False) -> Make:
    """A request on J-1 with everything read."""

    def make(actor: Person) -> Good:
        bores = _gauged(actor)
        return Good(JOB, body={"bores": bores} if body else None)

    return make


def _protrusion(actor: Person) -> Good:
    _gauged(actor)
    return Good(JOB, body={"position": "CYL-1/set", "set": "S-2"})


def _layout_back(actor: Person) -> Good:
    bores = _gauged(actor)
    made = ShopClient(actor).send("jobs/J-1/layout-acceptances", {"bores": bores}).json()
    return Good(JOB | {"layout": made["layout"]}, body={"reason": "gauged again"})


def _spares(actor: Person) -> Good:
    _gauged(actor)
    return Good(JOB, {"position": "CYL-1/set"})


def _projected(actor: Person) -> Good:
    """The pistons of one bank are read, with the liners clamped."""
    brought_to("booked")
    gauge("G-1")
    lines = [
        ReadingIn("piston-projection", "0.4 mm", "G-1", place=place, point=point, clamped=True)
        for place in ("CYL-1", "CYL-2")
        for point in ("front", "rear")
    ]
    read_on("J-1", *lines)
    return Good(JOB, body={"kind": "gasket grade", "place": "BANK-LEFT"})


def _judged(actor: Person) -> Good:
    """A gasket is chosen from the readings."""
    asked = _projected(actor).body
    made = judge_readings(actor=actor, stamp=stamp(), job="J-1", **asked)
    return Good(JOB | {"one": made.body["result"]}, body={"reason": "read twice"})


def _of_family(**query: Any) -> Make:
    """A request on the small family, whose newest revision says what new parts and pistons are."""

    def make(actor: Person) -> Good:
        brought_to("booked")
        document = family_document()
        document["revision"] += 1
        document["facts"] |= {
            "liner_height": {"what": "shoulder to top", "low": "93.00 mm", "high": "93.05 mm"},
            "block_depth": {"what": "deck to ledge", "low": "92.93 mm", "high": "92.97 mm"},
            "weight_spread": "4 g",
            "weight_with": "pin",
        }
        enter_family(actor=actor, stamp=stamp(), document=document)
        return Good({"code": "Testbed-4"}, query)

    return make


GOOD_MEASURING: dict[str, Make] = {
    "fits_read": lambda actor: Good(query={"hole": "H7", "shaft": "g6", "nominal": "50 mm"}),
    "stacks_read": lambda actor: Good(
        query={"add": "flange: 9.03 mm +- 0.01 mm", "take": "seat: 9.0 mm", "high": "0.1 mm"}
    ),
    "engine_families_height_stack_read": _of_family(),
    "engine_families_weight_groups_read": _of_family(site="TS", rest="415 g; 416 g"),
    "gauges_list": on_gauge(),
    "gauges_read": on_gauge(),
    "gauges_create": lambda actor: Good(body=_GAUGE),
    "gauges_calibrations_create": on_gauge(
        {"done_on": "2025-01-10", "next_due": "2026-01-09", "master": "M-1", "done_by": "the laboratory"}
    ),
    "gauges_withdrawals_create": on_gauge({"reason": "dropped"}),
    "gauges_studies_create": on_gauge({"readings": _STUDY, "tolerance": "10 um"}),
    "jobs_sizes_create": _size_made,
    "jobs_sizes_withdraw": _size_withdrawn,
    "engines_sizes_read": on_engine(),
    "jobs_readings_list": _reading_list,
    "jobs_readings_create": _reading_made,
    "jobs_readings_withdraw": _reading_withdrawn,
    "jobs_results_list": _reading_list,
    "jobs_protrusions_create": _protrusion,
    "jobs_layout_read": _layout(),
    "jobs_layout_acceptances_list": _layout(),
    "jobs_layout_acceptances_create": _layout(body=True),
    "jobs_layout_acceptances_withdraw": _layout_back,
    "jobs_set_replacements_read": _spares,
    "jobs_results_accept": _judged,
    "jobs_verdicts_create": _projected,
}
