"""A joint that closes over liners, and the word on a height, over HTTP."""

import pytest

from tests.factories.engines import family_document

pytestmark = pytest.mark.django_db
GATES = "jobs/J-1/joints/SUMP/gates"


def test_the_gate_of_a_joint_over_a_liner_stays_shut_until_its_height_is_decided(rebuild):
    document = family_document()
    document["revision"] += 1
    document["facts"]["liners_closed_by"] = "SUMP/bead"
    rebuild.did(rebuild.manager, "engine-families", {"document": document})
    rebuild.with_joint()
    held = next(row["item"] for row in rebuild.said["held"]["held"] if row["part"] == "SET")
    body = {"fittings": [{"position": "CYL-1/set", "item": held}], "checker": rebuild.inspector.person.username}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", body)
    answer = rebuild.technician.send(GATES, rebuild.gate_body())
    assert (answer.status_code, answer.json()["code"]) == (422, "gate-shut")
    assert "its height in this bore is on no record" in answer.json()["detail"]
    words = {"position": "CYL-1/set", "reason": "the gauge broke"}
    assert rebuild.technician.send("jobs/J-1/heights-let-be", words).status_code == 403
    said = rebuild.did(rebuild.inspector, "jobs/J-1/heights-let-be", words)
    assert said["signed_by"] == rebuild.inspector.person.username
    rebuild.gate()
    sheet = rebuild.technician.read("jobs/J-1/build-sheet").json()["heights_let_be"]
    assert [(row["position"], row["height"], row["reason"]) for row in sheet] == [
        ("CYL-1/set", "not recorded", "the gauge broke")
    ]
    story = rebuild.technician.read("engines/T4-00211/story").json()["events"]
    assert [(one["position"], one["said"]) for one in story if one["what"] == "height let be"] == [
        ("CYL-1/set", "not recorded")
    ]
