"""What was judged of a set on the shelf goes with the set: on another job it is not held, marked, picked or laid out, until it is good."""

import copy

import pytest

from kits.models import Engine, Job, MeasuredResult
from tests.factories.engines import family_document
from tests.factories.measuring import gauge

AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C", "confirmed": True, "reason": "read twice"}
POINTS = ("top/along", "top/across", "bottom/along", "bottom/across")
TWO = [{"code": "chosen", "place": "CYL-1"}, {"code": "chosen", "place": "CYL-2"}]


@pytest.fixture
def measured(rebuild):
    """J-1 and J-2, two engines of the family, two sets on the shelf; what was read of S-2 on J-1 fails. The readings' ids."""
    rebuild.booked()
    gauge("G-1", due=None)
    made = {"done_on": "2024-07-01", "next_due": "2999-06-30", "master": "M-1", "done_by": "the laboratory"}
    rebuild.did(rebuild.inspector, "gauges/G-1/calibrations", made)
    ids = read(rebuild, "J-1", "85.800 mm")
    assert judged(rebuild, "J-1")["verdict"] == "fail"
    rebuild.booked(number="J-2", engine="T4-00212", findings=TWO)
    return ids


def read(rebuild, job, piston, serial="S-2"):
    """86.015 mm less the piston; the limits of the small family are 0.090 to 0.130 mm."""
    more = {"gauge": "G-1", "set": serial} | AT20
    lines = [{"what": "bore-diameter", "value": "86.015 mm", "point": point} | more for point in POINTS]
    lines.append({"what": "piston-diameter", "value": piston, "point": "14 mm"} | more)
    body = rebuild.did(rebuild.technician, f"jobs/{job}/readings", {"readings": lines})
    return [one["id"] for one in body["readings"]]


def judged(rebuild, job, serial="S-2"):
    asked = {"kind": "piston clearance", "set": serial}
    return rebuild.did(rebuild.technician, f"jobs/{job}/verdicts", asked)


def held_sets(rebuild, **more):
    body = rebuild.did(rebuild.technician, "jobs/J-2/holds", more)
    return body, sorted(one["serial"] for one in body["held"] if one["serial"])


def told_no(answer, line=False):
    body = answer.json()
    row = body["lines"][0] if line else body
    return answer.status_code, row["code"], row["detail"]


def withdraw(rebuild, *ids):
    for one in ids:
        rebuild.did(rebuild.technician, f"jobs/J-1/readings/{one}/withdrawals", {"reason": "read across the pin boss"})


def test_a_set_that_failed_on_one_job_is_not_held_named_or_marked_on_another(rebuild, measured):
    named = {"lots": [{"part": "SET", "lots": ["S-2"]}], "lots_reason": "it lies nearest"}
    assert told_no(rebuild.technician.send("jobs/J-2/holds", named)) == (
        422, "verdict-fails", "Set S-2: its clearance fails on job J-1.",
    )  # fmt: skip
    bores = {"bores": [{"position": "CYL-1/set", "serial": "S-2"}], "reason": "by eye"}
    assert told_no(rebuild.technician.send("jobs/J-2/bores", bores))[:2] == (422, "verdict-fails")
    body, sets = held_sets(rebuild)
    assert sets == ["S-1"]
    (short,) = [one for one in body["shorts"] if one["part"] == "SET"]
    assert short["amount"] == 1
    assert short["why"].endswith("; set S-2: its clearance fails on job J-1")
    # One more that is asked for does not bring it either.
    asked = {"part": "SET", "amount": 1, "reason": "damaged in fitting", "positions": ["CYL-1/set"]}
    assert rebuild.did(rebuild.technician, "jobs/J-2/extras", asked)["held"] == []
    # Once the reading is withdrawn nothing speaks against it.
    withdraw(rebuild, measured[-1])
    assert held_sets(rebuild)[1] == ["S-2"]


def test_a_good_verdict_on_any_job_lets_it_go_and_one_that_fails_since_stops_it_at_the_shelf(rebuild, measured):
    withdraw(rebuild, *measured)
    body, sets = held_sets(rebuild)
    assert sets == ["S-1", "S-2"]
    # It is measured on J-1 again while J-2 holds it.
    read(rebuild, "J-1", "85.800 mm")
    judged(rebuild, "J-1")
    scans = [{"hold": one["hold"], "scanned": one["serial"]} for one in body["held"] if one["serial"] == "S-2"]
    path = f"pick-lists/{body['pick_list']}/picks"
    assert told_no(rebuild.storekeeper.send(path, {"scans": scans}), line=True) == (
        422, "verdict-fails", "Set S-2: its clearance fails on job J-1.",
    )  # fmt: skip
    read(rebuild, "J-2", "85.905 mm")
    assert judged(rebuild, "J-2")["verdict"] == "pass"
    rebuild.did(rebuild.storekeeper, path, {"scans": scans})


def other_limits(rebuild):
    """A revision of the family whose clearance is limited otherwise; its number."""
    document = copy.deepcopy(family_document())
    document["revision"] += 1
    document["facts"]["piston_clearance"] = {"low": "0.090 mm", "high": "0.230 mm"}
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    return document["revision"]


def test_other_limits_leave_a_result_to_be_judged_again_and_what_failed_stays_out_until_it_is(rebuild, measured):
    good = read(rebuild, "J-1", "85.905 mm", "S-1")
    assert judged(rebuild, "J-1", "S-1")["verdict"] == "pass"
    revision = other_limits(rebuild)
    body = {"revisions": [{"revision": revision}], "take": True, "reason": "the maker's new sheet"}
    rebuild.did(rebuild.manager, "jobs/J-1/revisions", body)
    rows = rebuild.technician.rows("jobs/J-1/results")
    code = Engine.objects.get(number="T4-00211").family.code
    why = (
        f"it was judged by the limits of {code} revision {revision - 1}; those of {code} revision {revision} are others:"
        " judge it again"
    )
    assert [(one["subject"], one["stale"], one["why"]) for one in rows] == [("S-2", True, [why]), ("S-1", True, [why])]
    # J-2 goes by the limits that it was judged by; J-3, booked since, by the newer ones.
    rebuild.booked(number="J-3", engine="T4-00213", findings=TWO)
    named = {"lots": [{"part": "SET", "lots": ["S-2"]}], "lots_reason": "it lies nearest"}
    said = told_no(rebuild.technician.send("jobs/J-3/holds", named))[2]
    assert said == f"Set S-2: its clearance fails on job J-1; {why}."
    # Judged there from what was read before: 0.215 mm is within the newer limits.
    again = judged(rebuild, "J-3")
    assert (again["verdict"], again["document"]["set"]) == ("pass", "S-2")
    assert {row["id"] for row in again["document"]["readings"]} == set(measured)
    held = rebuild.did(rebuild.technician, "jobs/J-3/holds", named)
    assert [one["serial"] for one in held["held"] if one["serial"]] == ["S-2"]
    # A pass by the newer limits is none by those of J-2: what failed by its own still stands there.
    said = told_no(rebuild.technician.send("jobs/J-2/holds", named))[2]
    assert said == "Set S-2: its clearance fails on job J-1."
    assert (
        MeasuredResult.objects.get(pk=again["result"]).family_revision == Job.objects.get(number="J-3").family_revision
    )
    assert good
