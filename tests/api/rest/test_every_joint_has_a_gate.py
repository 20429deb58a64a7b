"""Joints of which no product sheet is on record, and joints that are closed by a film: the same questions before they are closed."""

from __future__ import annotations

import copy
from datetime import timedelta

import pytest
from django.utils import timezone

from kits.models import Fitting, Gate
from kits.queries.sealing import answered
from tests.factories.engines import JOINT, family_document, operation_documents

pytestmark = pytest.mark.django_db

GATES, BEADS, FITTINGS = "jobs/J-1/joints/SUMP/gates", "jobs/J-1/joints/SUMP/beads", "jobs/J-1/fittings"
#: 100 cm² at 0.05 mm: 0.5 mL.
FILM = {"area": "100 cm2", "thickness": "0.05 mm"}


@pytest.fixture
def no_sheet(rebuild):
    """At the bench, one tube open there, nothing entered of the product."""
    return opened(rebuild)


def opened(rebuild):
    rebuild.at_bench()
    opening = {"place": "bench J-1", "tube": "T-1"}
    rebuild.did(rebuild.technician, f"items/{rebuild.item('SEALANT')}/openings", opening)
    return rebuild


def tube(rebuild, amount=7069):
    """The sealant as it would be fitted."""
    item = rebuild.item("SEALANT", "lot=SEALANT/1|tube=T-1")
    return {"fittings": [{"position": "SUMP/bead", "item": item, "amount": amount}]}


def line_code(answer):
    """Status and the code of its first line."""
    return answer.status_code, answer.json()["lines"][0]["code"]


def noes(rebuild, **more):
    """Question → why, of a gate that stays shut."""
    answer = rebuild.technician.send(GATES, rebuild.gate_body(**more))
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-shut")
    return {no["question"]: no["why"] for no in answer.json()["values"]["noes"]}


def joint_of(rebuild, **facts):
    """The family with its sump joint stated otherwise."""
    document = family_document() | {"revision": 2}
    document["facts"]["joints"] = [JOINT | facts]
    rebuild.did(rebuild.manager, "engine-families", {"document": document})


def with_film(rebuild):
    """The sump is closed by a film of the maker's product on machined faces."""
    joint_of(rebuild, faces="machined")
    changed = copy.deepcopy(operation_documents()["T1"]) | {"revision": 2}
    for line in changed["lines"]:
        if line["part"] == "SEALANT":
            del line["bead"]
            line |= {"how": "film", "film": FILM}
    rebuild.did(rebuild.manager, "procedures", {"document": changed})
    return opened(rebuild)


def test_without_a_sheet_a_bead_is_not_fitted_before_its_gate_and_its_laying(no_sheet):
    assert line_code(no_sheet.technician.send(FITTINGS, tube(no_sheet))) == (422, "gate-missing")
    assert noes(no_sheet, dowels_in=False, bolts=11) == {
        "dowels": "the dowels are not in",
        "bolts": "11 bolts are counted, 12 close the joint",
    }
    no_sheet.gate()
    assert line_code(no_sheet.technician.send(FITTINGS, tube(no_sheet))) == (422, "gate-missing")
    laid = no_sheet.did(no_sheet.technician, BEADS, no_sheet.bead_body())
    assert (laid["allowed_ms"], laid["over"], laid["fill_from"]) == (None, False, None)
    no_sheet.did(no_sheet.technician, FITTINGS, {"fittings": laid["fit"]})
    assert Fitting.objects.filter(spot__name="SUMP/bead").count() == 1


def test_of_another_product_without_a_sheet_nobody_knows_how_it_cures(rebuild):
    joint_of(rebuild, product="RTV-9")
    opened(rebuild)
    unknown = "how SEALANT cures is not known, no product sheet of it is on record; the maker names RTV-9"
    assert noes(rebuild) == {"sealant": unknown}
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    assert joint["unsuitable"] == unknown


def test_a_bead_on_machined_faces_is_refused_without_a_sheet_too(rebuild):
    joint_of(rebuild, faces="machined")
    opened(rebuild)
    assert noes(rebuild)["sealant"].startswith("a bead is listed on machined; close machined faces leave no room")


def test_a_film_has_the_same_questions_and_no_clock(rebuild):
    with_film(rebuild)
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    assert (joint["laid_ul"], joint["times"], joint["unsuitable"]) == (500, "not a bead", "")
    assert line_code(rebuild.technician.send(FITTINGS, tube(rebuild, 500))) == (422, "gate-missing")
    assert noes(rebuild, faces_clean_dry=False) == {"faces": "the faces are not clean and dry"}
    gate = rebuild.gate().said["gate"]
    assert (gate["closing"], gate["fill_after_s"]) == (None, None)
    rebuild.did(rebuild.technician, FITTINGS, tube(rebuild, 500))
    # One gate, one film: it is cleaned off and made again only through another.
    assert line_code(rebuild.technician.send(FITTINGS, tube(rebuild, 500))) == (422, "gate-missing")
    assert rebuild.did(rebuild.technician, GATES, rebuild.gate_body())["joint"] == "SUMP"


def test_a_gate_of_a_film_lapses(rebuild):
    with_film(rebuild)
    body = rebuild.gate_body(occurred_at=(timezone.now() - timedelta(minutes=61)).isoformat())
    rebuild.did(rebuild.technician, GATES, body)
    assert line_code(rebuild.technician.send(FITTINGS, tube(rebuild, 500))) == (422, "gate-missing")
    gate = Gate.objects.get()
    lapses = gate.act.occurred_at + timedelta(minutes=60)
    assert answered(gate.job, lapses, 60) == {"SUMP"}
    assert answered(gate.job, lapses + timedelta(microseconds=1), 60) == set()
    assert answered(gate.job, gate.act.occurred_at - timedelta(microseconds=1), 60) == set()
