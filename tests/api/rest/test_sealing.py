"""Product sheets, gates and beads over HTTP."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from inventory.models import Balance, Part
from kits.models import Bead, Gate
from tests.api.rest.rebuilds import SHEET
from tests.factories.engines import JOINT, family_document, operation_documents

pytestmark = pytest.mark.django_db

GATES, BEADS, FITTINGS = "jobs/J-1/joints/SUMP/gates", "jobs/J-1/joints/SUMP/beads", "jobs/J-1/fittings"


def test_a_sheet_is_entered_read_and_signed(rebuild):
    rebuild.booked()
    empty = rebuild.technician.read("parts/SEALANT/sheets").json()
    assert empty == {"part": "SEALANT", "sheets": []}
    first = rebuild.did(rebuild.manager, "parts/SEALANT/sheets", SHEET)
    assert (first["revision"], first["density_mg_per_ml"], first["warnings"]) == (1, 1320, [])
    # 0 °C is 273.15 K by definition (SI brochure)
    assert first["entries"][0] == {
        "temperature_mk": 296_150, "humidity_permille": 500, "window_s": 600, "fill_after_s": 7200, "run_after_s": 43_200,
    }  # fmt: skip
    second = rebuild.did(rebuild.manager, "parts/SEALANT/sheets", SHEET | {"density": "1.30 g/mL", "entries": []})
    assert (second["revision"], len(second["warnings"])) == (2, 1)
    who = rebuild.technician.person.username
    signed = rebuild.did(rebuild.technician, "parts/SEALANT/sheets/readings", {})
    assert signed == {"part": "SEALANT", "revision": 2, "person": who}
    again = rebuild.technician.send("parts/SEALANT/sheets/readings", {})
    assert (again.status_code, again.json()["code"]) == (422, "nothing-changed")
    kept = rebuild.technician.read("parts/SEALANT/sheets").json()["sheets"]
    assert [(row["revision"], [reader["person"] for reader in row["read_by"]]) for row in kept] == [(2, [who]), (1, [])]


@pytest.mark.parametrize(
    ("part", "more", "status", "code"),
    [
        ("NOTHING", {}, 404, "not-found"),
        ("WASHER", {}, 422, "part-unusable"),
        ("SEALANT", {"edition": " "}, 400, "fields-wrong"),
        ("SEALANT", {"cures_by": "magic"}, 400, "fields-wrong"),
        ("SEALANT", {"density": "heavy"}, 422, "sheet-unusable"),
        ("SEALANT", {"entries": [SHEET["entries"][0]] * 2}, 422, "sheet-unusable"),
        ("SEALANT", {"entries": [SHEET["entries"][0] | {"humidity": "120 %"}]}, 422, "bay-unreadable"),
    ],
)
def test_a_sheet_that_cannot_be_used(rebuild, part, more, status, code):
    rebuild.booked()
    answer = rebuild.manager.send(f"parts/{part}/sheets", SHEET | more)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert rebuild.manager.read("parts/SEALANT/sheets").json()["sheets"] == []


def test_without_a_sheet_no_number_is_given_and_none_is_signed(rebuild):
    rebuild.at_bench()
    unsigned = rebuild.technician.send("parts/SEALANT/sheets/readings", {})
    assert (unsigned.status_code, unsigned.json()["code"]) == (404, "not-found")
    (joint,) = rebuild.technician.read("jobs/J-1/joints", temperature="23 °C", humidity="50 %").json()["joints"]
    assert (joint["times"], joint["closing"], joint["fill_after_s"], joint["sheet"]) == ("no sheet", None, None, None)
    assert joint["warnings"] == ["no product sheet of SEALANT is on record: window and waits are not known"]
    # bead of 1000 × 3.0 mm: 7.069 mL by geometry; 1.15 × 7.069 + 1.5 = 9.629 mL; × 1.2 = 11.555 mL
    assert (joint["laid_ul"], joint["drawn_ul"], joint["wanted_ul"]) == (7069, 9629, 11_555)


def test_the_joint_in_this_bay(rebuild):
    rebuild.with_joint()
    (joint,) = rebuild.technician.read("jobs/J-1/joints", temperature="23 °C", humidity="50 %").json()["joints"]
    # 1000 mm at 20 mm/s, 45 s, 12 × 7 s = 179 s; 4 s a bolt 143 s; half of ten minutes
    assert joint["closing"] == {
        "window_s": 600, "allowed_ms": 300_000, "needed_ms": 179_000, "with_helper_ms": 143_000, "in_time": True,
        "in_time_with_helper": True,
    }  # fmt: skip
    assert joint["times"] == f"sheet revision 1: {SHEET['edition']}"
    assert (joint["fill_after_s"], joint["run_after_s"], joint["warnings"]) == (7200, 43_200, [])
    (hot,) = rebuild.technician.read("jobs/J-1/joints", temperature="31 °C", humidity="50 %").json()["joints"]
    assert (hot["times"], hot["closing"]["window_s"], hot["closing"]["in_time"]) == ("outside the sheet", None, False)
    half = rebuild.technician.read("jobs/J-1/joints", temperature="23 °C")
    assert (half.status_code, half.json()["code"]) == (400, "parameter-wrong")


def test_from_the_gate_to_the_engine(rebuild):
    rebuild.with_joint()
    tube = rebuild.item("SEALANT", "lot=SEALANT/1|tube=T-1")
    bead_first = {"fittings": [{"position": "SUMP/bead", "item": tube, "amount": 7069}]}
    early = rebuild.technician.send(FITTINGS, bead_first)
    assert (early.status_code, early.json()["code"]) == (422, "gate-missing")
    no_gate = rebuild.technician.send(BEADS, rebuild.bead_body())
    assert (no_gate.status_code, no_gate.json()["code"]) == (422, "gate-missing")
    rebuild.gate()
    gate = rebuild.said["gate"]
    assert (gate["make"], gate["laid_ul"], gate["planned_ul"], gate["sheet"]) == (1, 7069, 9629, 1)
    assert gate["warnings"] == [
        f"{rebuild.technician.person} has not signed the product sheet as read: {SHEET['edition']}"
    ]
    key, body = uuid.uuid4(), rebuild.bead_body()
    laid = rebuild.did(rebuild.technician, BEADS, body, key=key)
    # (117.1 - 108.1) g / 1.32 g/mL = 6.818 mL: less than planned, so less is in the joint
    assert (laid["over"], laid["drawn_ul"], laid["difference_ul"], laid["say"]) == (
        False,
        6818,
        -2811,
        "in time: fit it",
    )
    assert laid["fit"] == [{"position": "SUMP/bead", "item": tube, "amount": 6818, "make": 1}]
    again = rebuild.technician.send(BEADS, body, key=key)
    assert (again.json(), again["Idempotent-Replayed"]) == (laid, "true")
    twice = rebuild.technician.send(BEADS, rebuild.bead_body())
    assert (twice.status_code, twice.json()["code"]) == (422, "gate-missing")
    rebuild.did(rebuild.technician, FITTINGS, {"fittings": laid["fit"]})
    # 80 mL less 6.818: what the scale says
    assert Balance.objects.get(item_id=tube, place__code="bench J-1").amount == 80_000 - 6818
    second = rebuild.technician.send(FITTINGS, {"fittings": laid["fit"]})
    assert second.json()["code"] == "gate-missing"
    assert (Gate.objects.count(), Bead.objects.count()) == (1, 1)


def test_a_tube_of_unknown_density_is_not_weighed_at_the_gate_nor_after_the_bead(rebuild):
    """Weight says what is in a tube only with its density; by volume nothing is weighed (the list's own amounts stay as they are)."""
    rebuild.with_joint()
    sealant = Part.objects.filter(number="SEALANT")
    sealant.update(density_mg_per_ml=None)
    sheet = rebuild.did(rebuild.manager, "parts/SEALANT/sheets", SHEET | {"density": ""})
    assert ["no tube can be weighed" in one for one in sheet["warnings"]] == [True]
    answer = rebuild.technician.send(GATES, rebuild.gate_body())
    said = answer.json()
    assert (answer.status_code, said["code"], said["values"]["part"]) == (422, "tube-content-unknown", "SEALANT")
    assert said["ways_out"] == ["Enter them with the part, from its product sheet, before the nozzle is cut."]
    (joint,) = rebuild.technician.read("jobs/J-1/joints", temperature="23 °C", humidity="50 %").json()["joints"]
    assert (joint["laid_ul"], joint["drawn_ul"]) == (7069, 9629)
    entered = rebuild.manager.send("parts/SEALANT", {"density_mg_per_ml": 1320}, method="PATCH", if_match='"1"')
    assert entered.status_code == 201
    rebuild.gate()
    sealant.update(density_mg_per_ml=None)
    answer = rebuild.technician.send(BEADS, rebuild.bead_body())
    assert (answer.status_code, answer.json()["code"], answer.json()["values"]["tube"]) == (
        422,
        "tube-content-unknown",
        "T-1",
    )
    assert Bead.objects.count() == 0


def test_a_gate_names_every_no(rebuild):
    rebuild.with_joint()
    wrong = rebuild.gate_body(
        faces_clean_dry=False, bolts=11, humidity="", tubes=[{"tube": "T-1", "weight": "20.0 g"}], dowels_in=False
    )
    answer = rebuild.technician.send(GATES, wrong)
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-shut")
    noes = [no["question"] for no in answer.json()["values"]["noes"]]
    assert noes == ["faces", "dowels", "bolts", "tube", "bay"]
    assert Gate.objects.count() == 0


def test_a_joint_that_is_none_and_one_that_the_list_leaves_alone(rebuild):
    rebuild.booked(operations=["T2"], findings=[])
    unknown = rebuild.technician.send("jobs/J-1/joints/LID/gates", rebuild.gate_body())
    assert (unknown.status_code, unknown.json()["code"]) == (422, "joint-unknown")
    unlisted = rebuild.technician.send(GATES, rebuild.gate_body())
    assert (unlisted.status_code, unlisted.json()["code"]) == (422, "not-on-list")
    assert rebuild.technician.read("jobs/J-1/joints").json() == {"job": "J-1", "joints": []}


def test_oil_before_the_sheets_time_is_signed_with_a_reason(rebuild):
    rebuild.with_joint().gate()
    rebuild.did(rebuild.technician, BEADS, rebuild.bead_body())
    oil = {"fittings": [{"position": "OIL/fill", "item": rebuild.item("OIL"), "amount": 4_000_000}]}
    early = rebuild.technician.send(FITTINGS, oil)
    assert (early.status_code, early.json()["code"]) == (422, "filled-early")
    alone = rebuild.technician.send(FITTINGS, oil | {"early_fill": "the boat sails tonight"})
    assert (alone.status_code, alone.json()["code"]) == (422, "not-signed")
    second = rebuild.inspector.person.username
    checked_only = rebuild.technician.send(FITTINGS, oil | {"checker": second})
    assert checked_only.json()["code"] == "filled-early"
    rebuild.did(rebuild.technician, FITTINGS, oil | {"checker": second, "early_fill": "the boat sails tonight"})


def test_a_start_before_the_sheets_time_is_signed_with_a_reason(rebuild):
    rebuild.with_joint().gate()
    bead = rebuild.bead_body()
    laid, path = rebuild.did(rebuild.technician, BEADS, bead), "jobs/J-1/first-runs"
    run = {"run_on": bead["ended_at"][:10], "values": []}
    second, me = rebuild.inspector.person.username, rebuild.technician.person.username
    signed = {"signed_by": second, "because": "the boat sails tonight"}
    for more, code in (
        ({}, "run-early"),
        ({"because": "the boat sails tonight"}, "run-early"),
        (signed | {"because": " "}, "reason-missing"),
        (signed | {"signed_by": rebuild.storekeeper.person.username}, "may-not-check"),
        (signed | {"signed_by": me}, "same-person"),
    ):
        answer = rebuild.technician.send(path, run | more)
        assert answer.json()["code"] == code, (more, answer.content)
    assert rebuild.technician.send(path, run).json()["values"] == {
        "joints": [{"joint": "SUMP", "run_from": laid["run_from"]}]
    }
    early = rebuild.did(rebuild.technician, path, run | signed)["early"]
    assert early == [{"joint": "SUMP", "run_from": laid["run_from"]}]
    kept = rebuild.technician.read("jobs/J-1/build-sheet").json()["first_run"]
    assert (kept["early"], kept["signed_by"], kept["because"]) == (early, second, "the boat sails tonight")


def test_how_far_a_bead_squeezes_out_is_said_before_it_is_laid(rebuild):
    document = family_document() | {"revision": 2}
    document["facts"]["joints"] = [JOINT | {"gap": "0.20 mm"}]
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    rebuild.booked()
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    # 3.0 mm squeezed to 0.20 mm becomes 35.3 mm wide: worked example of the demo shop
    assert joint["warnings"][0].startswith("squeezed to 0.20 mm the bead becomes 35.3 mm wide on a flange of 14.0 mm")


@pytest.mark.parametrize(("across", "laid_ul", "drawn_ul"), [("width", 3534, 5564), ("leg", 4500, 6675)])
def test_a_half_round_bead_and_a_fillet_are_drawn_by_their_own_shape(rebuild, across, laid_ul, drawn_ul):
    """A metre of 3 mm: π/8·9 = 3.534 mL, 9/2 = 4.5 mL (geometry); 1.15 × that and 1.5 mL of priming."""
    document = operation_documents()["T1"] | {"revision": 2}
    bead = {"length": "1000 mm", across: "3.0 mm"}
    document["lines"] = [one | ({"bead": bead} if one["how"] == "bead" else {}) for one in document["lines"]]
    rebuild.did(rebuild.manager, "procedures", {"document": document})
    rebuild.booked()
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    assert (joint["laid_ul"], joint["drawn_ul"]) == (laid_ul, drawn_ul)


def test_use_against_plan(rebuild):
    rebuild.with_joint().gate()
    laid = rebuild.did(rebuild.technician, BEADS, rebuild.bead_body(tubes=[{"tube": "T-1", "after": "104.1 g"}]))
    rebuild.did(rebuild.technician, FITTINGS, {"fittings": laid["fit"]})
    use = rebuild.manager.read("sealant-use", procedure="T1").json()
    (joint,) = use["joints"]
    # 13.0 g / 1.32 = 9.848 mL used of 9.629 planned; (9.848 - 1.5) / 7.069 - 1 = 0.181 lost
    assert (joint["joint"], joint["planned_ul"], joint["used_ul"], joint["used_to_planned"]) == (
        "SUMP",
        9629,
        9848,
        "1.023",
    )
    own = {"beads": 1, "mean": "0.181", "lowest": "0.181", "highest": "0.181", "say": "thin data: fewer than 5 beads"}
    assert (joint["own_waste"], use["own_waste"], use["book_waste"]) == (own, own, "0.150")
    assert (joint["too_fat"], joint["say"]) == (False, "")
    (tubes,) = use["tubes"]
    # two tubes of 80 mL bought: 7.069 in the joint, 2.779 scrapped, the rest in tubes
    assert tubes == {
        "part": "SEALANT", "bought_ul": 160_000, "counted_in_ul": 0, "in_joints_ul": 7069, "scrapped_ul": 2779,
        "in_tubes_ul": 150_152, "elsewhere_ul": 0, "adds_up": True,
    }  # fmt: skip
    assert rebuild.manager.read("sealant-use", procedure="T2").json()["joints"] == []
    assert rebuild.manager.read("sealant-use").json()["joints"] == [joint]
    unknown = rebuild.manager.read("sealant-use", procedure="T9")
    assert (unknown.status_code, unknown.json()["code"]) == (404, "not-found")


def test_times_of_a_bead_that_turn(rebuild):
    rebuild.with_joint().gate()
    good = rebuild.bead_body()
    began = datetime.fromisoformat(good["started_at"])
    for wrong, code in (
        ({"ended_at": began.isoformat()}, "dates-turned"),
        ({"started_at": (began - timedelta(hours=1)).isoformat()}, "dates-turned"),
        ({"ended_at": (began + timedelta(days=1)).isoformat()}, "from-the-future"),
        ({"tubes": [{"tube": "T-1", "after": "117.2 g"}]}, "amount-negative"),
        ({"tubes": [{"tube": "T-1", "after": "117.1 g"}]}, "amount-not-positive"),
        ({"tubes": [{"tube": "T-1", "after": "11.4 g"}]}, "weight-below-empty"),
        ({"tubes": []}, "nothing-given"),
        ({"tubes": [{"tube": "T-9", "after": "100 g"}]}, "not-found"),
        ({"helper": rebuild.technician.person.username}, "same-person"),
    ):
        answer = rebuild.technician.send(BEADS, good | wrong)
        assert answer.json()["code"] == code, wrong
    assert Bead.objects.count() == 0


def noes(rebuild, **more):
    answer = rebuild.technician.send(GATES, rebuild.gate_body(**more))
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-shut")
    return {no["question"]: no["why"] for no in answer.json()["values"]["noes"]}


def test_what_the_joint_needs_is_at_the_bench_by_the_books(rebuild):
    rebuild.with_joint()
    washer = rebuild.item("WASHER")
    scrapped = {"item": washer, "amount": 1, "reason": "bent", "who_pays": "shop"}
    rebuild.did(rebuild.technician, "jobs/J-1/scraps", scrapped)
    assert noes(rebuild) == {"parts": "not at the bench: 1 WASHER for SUMP/washer"}


def test_a_tube_that_may_not_be_used_shuts_the_gate(rebuild):
    rebuild.with_joint()
    tube = rebuild.item("SEALANT", "lot=SEALANT/1|tube=T-1")
    unknown = rebuild.technician.send(GATES, rebuild.gate_body(tubes=[{"tube": "T-8", "weight": "117.1 g"}]))
    assert (unknown.status_code, unknown.json()["code"]) == (404, "not-found")
    assert noes(rebuild, tubes=[]) == {"tube": "no tube of the product is named"}
    stop = rebuild.did(rebuild.inspector, f"items/{tube}/stops", {"reason": "lumps in it"})["stop"]
    assert noes(rebuild) == {"tube": "T-1 is stopped"}
    rebuild.did(rebuild.inspector, f"items/{tube}/frees", {"stop": stop, "reason": "looked at"})
    rebuild.gate()


def test_a_film_without_air_does_not_belong_on_pressed_steel(rebuild):
    rebuild.with_joint()
    sheet = {name: value for name, value in SHEET.items() if name != "entries"} | {"cures_by": "absence of air"}
    rebuild.did(rebuild.manager, "parts/SEALANT/sheets", sheet)
    assert noes(rebuild)["sealant"].startswith("SEALANT cures by absence of air; pressed steel flexes")
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    assert (joint["times"], joint["unsuitable"]) == ("no times on the sheet", noes(rebuild)["sealant"])


def test_where_sensors_ask_for_it_a_sealant_is_known_to_be_safe(rebuild):
    document = family_document() | {"revision": 2}
    document["facts"]["joints"] = [JOINT | {"sensor_safe": True}]
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    rebuild.with_joint()
    unknown = "SUMP asks for a sealant that harms no sensors, and of SEALANT that is not known"
    assert noes(rebuild) == {"sensors": unknown}
    (joint,) = rebuild.technician.read("jobs/J-1/joints").json()["joints"]
    assert joint["unsuitable"] == unknown
    tube = {"position": "SUMP/bead", "item": rebuild.item("SEALANT", "lot=SEALANT/1|tube=T-1"), "amount": 7069}
    past_the_gate = rebuild.technician.send(FITTINGS, {"fittings": [tube]})
    assert (past_the_gate.status_code, past_the_gate.json()["lines"][0]["code"]) == (422, "sealant-harms-sensors")
    rebuild.did(rebuild.manager, "parts/SEALANT/sheets", SHEET | {"sensor_safe": False})
    assert noes(rebuild)["sensors"] == "SUMP asks for a sealant that harms no sensors: by its sheet SEALANT does"
    told = rebuild.did(rebuild.manager, "parts/SEALANT/sheets", SHEET | {"sensor_safe": True})
    assert told["sensor_safe"] is True
    kept = rebuild.technician.read("parts/SEALANT/sheets").json()["sheets"]
    assert [row["sensor_safe"] for row in kept] == [True, False, None]
    rebuild.gate()


def test_a_gate_is_answered_for_one_bead_and_not_for_tomorrow(rebuild):
    rebuild.with_joint().gate()
    opened = datetime.fromisoformat(
        rebuild.technician.read("jobs/J-1/joints").json()["joints"][0]["gates"][0]["opened_at"]
    )
    late = rebuild.bead_body(
        started_at=(opened + timedelta(minutes=61)).isoformat(), ended_at=(opened + timedelta(minutes=62)).isoformat()
    )
    answer = rebuild.technician.send(BEADS, late)
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-missing")
    assert answer.json()["values"] == {"joint": "SUMP", "minutes": 60}


def test_helper_and_signature_are_other_people(rebuild):
    rebuild.with_joint()
    me = rebuild.technician.person.username
    for more in ({"helper": me}, {"signed_by": me, "because": "fans"}):
        answer = rebuild.technician.send(GATES, rebuild.gate_body(**more))
        assert (answer.status_code, answer.json()["code"]) == (422, "same-person")
    nobody = rebuild.storekeeper.send(GATES, rebuild.gate_body())
    assert (nobody.status_code, nobody.json()["code"]) == (403, "not-allowed")


def test_a_bead_that_is_taken_back_leaves_the_joint_unsealed(rebuild):
    rebuild.with_joint().gate()
    laid = rebuild.did(rebuild.technician, BEADS, rebuild.bead_body(tubes=[{"tube": "T-1", "after": "104.1 g"}]))
    act = rebuild.manager.rows("acts", kind="lay bead")[0]["id"]
    rebuild.did(rebuild.manager, f"acts/{act}/corrections", {"reason": "another joint"})
    answer = rebuild.technician.send(FITTINGS, {"fittings": laid["fit"]})
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-missing")
    assert Balance.objects.get(item__tube__number="T-1", place__code="bench J-1").amount == 80_000
    assert rebuild.manager.read("sealant-use").json()["joints"] == []
    rebuild.gate()


def test_what_the_steps_before_it_lack_shuts_the_gate_too(rebuild):
    """Block, or the bead waits: a bolt of a rod, two steps before the sump, is named with its step, and what is open to choose."""
    rebuild.with_joint()
    bolt = {"item": rebuild.item("ROD-BOLT"), "amount": 2, "reason": "stretched", "who_pays": "job"}
    rebuild.did(rebuild.technician, "jobs/J-1/scraps", bolt)
    lacks = "1 ROD-BOLT for ROD-1/bolt-1 (step T1/20 before it), 1 ROD-BOLT for ROD-1/bolt-2 (step T1/20 before it)"
    assert noes(rebuild) == {"parts": f"not at the bench: {lacks}"}
    startable = rebuild.technician.read("jobs/J-1/startable").json()
    stands = {f"{row['procedure']}/{row['step']}": (row["can_start"], row["waits_for"]) for row in startable["steps"]}
    # The sump asks for nothing that is not here, and still it cannot begin.
    assert (stands["T1/10"], stands["T1/20"], stands["T1/40"]) == ((True, []), (False, []), (False, ["T1/30"]))
    assert startable["startable"] == 1
    # Not needed after all: the gate opens.
    positions = [{"position": f"ROD-1/bolt-{number}", "because": "the old ones are good"} for number in (1, 2)]
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", {"positions": positions})
    rebuild.gate()


def test_a_piece_outside_that_a_step_before_it_needs_shuts_the_gate_too(rebuild):
    rebuild.with_joint()
    rebuild.did(rebuild.manager, "places", {"places": [{"code": "GRINDER", "kind": "outside work"}]})
    find = {"position": "ROD-2/bolt-1", "part": "ROD-BOLT"}
    rebuild.did(rebuild.technician, "jobs/J-1/finds", {"finds": [find]})
    item = rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "ROD-2/bolt-1"}]})[
        "removed"
    ][0]["item"]
    due = (timezone.now() + timedelta(days=9)).date().isoformat()
    sent = {"machinist": "GRINDER", "item": item, "due_on": due}
    out = rebuild.did(rebuild.manager, "jobs/J-1/outside-work", sent)["outside_work"]
    assert noes(rebuild)["parts"].endswith(f", which is at GRINDER until {due}")
    rebuild.did(rebuild.manager, f"jobs/J-1/outside-work/{out}/returns", {})
    rebuild.gate()
