"""A leak test over HTTP, and what became of the ring that leaked: its lot tells it."""

import pytest

pytestmark = pytest.mark.django_db

TEST = {"pressure": "1.0 bar", "held": "10 min", "drop": "0 bar", "temperature": "20 °C"}


@pytest.fixture
def fitted(rebuild):
    """The ring of CYL-1 is in, fitted with soap."""
    rebuild.at_bench()
    ring = {"position": "CYL-1/ring", "item": rebuild.item("RING"), "lubricant": "soap"}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [ring]})
    return rebuild


def leaked(rebuild):
    """What is told of the lot."""
    (lot,) = rebuild.manager.rows("lots", part="RING")
    return rebuild.manager.read(f"lots/{lot['id']}/whereabouts").json()["leaked"]


def test_the_lot_tells_where_a_ring_of_it_leaked_and_how_it_looked(fitted):
    assert leaked(fitted) == []
    said = fitted.did(fitted.inspector, "jobs/J-1/leak-tests", TEST | {"wet": ["CYL-1/set"]})
    assert [(row["groove"], row["lot"], row["lubricant"], row["leaked"]) for row in said["rings"]] == [
        ("ring", "RING/1", "water-based soap", True)
    ]
    left = fitted.manager.read("jobs/J-1/open-lines").json()["open"]
    assert [row["position"] for row in left if row["what"] == "ring that leaked is still in"] == ["CYL-1/ring"]
    out = {"position": "CYL-1/ring", "looked": "rolled", "reason": "leaked"}
    wrong = fitted.technician.send("jobs/J-1/removals", {"removals": [out | {"looked": "twisted"}]})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "ring-look-unusable")
    removed = fitted.did(fitted.technician, "jobs/J-1/removals", {"removals": [out]})["removed"]
    assert [row["looked"] for row in removed] == ["rolled"]
    again = {"position": "CYL-1/ring", "item": removed[0]["item"], "lubricant": "soap"}
    refused = fitted.technician.send("jobs/J-1/fittings", {"fittings": [again]})
    assert (refused.status_code, refused.json()["code"]) == (422, "ring-leaked")
    assert [(row["said"], row["engine"], row["out"]) for row in leaked(fitted)] == [
        ("leaked at CYL-1 on J-1, rolled", "T4-00211", True)
    ]
    (sheet,) = fitted.manager.read("jobs/J-1/build-sheet").json()["leak_tests"]
    assert [(row["position"], row["leaked"]) for row in sheet["rings"]] == [("CYL-1/ring", True)]
    story = fitted.manager.read("engines/T4-00211/story").json()["events"]
    assert [row["said"] for row in story if row["what"] == "removed"] == ["leaked, rolled"]


def test_a_dry_test_and_what_is_no_ring_leave_nothing_on_the_lot(fitted):
    fitted.did(fitted.inspector, "jobs/J-1/leak-tests", TEST)
    assert leaked(fitted) == []
    gone = {"removals": [{"position": "CYL-2/ring", "looked": "rolled"}]}
    answer = fitted.technician.send("jobs/J-1/removals", gone)
    assert (answer.status_code, answer.json()["code"]) == (409, "position-empty")


def test_a_pressure_that_presses_nothing_is_no_test(fitted):
    """The small family asks for 0.5 bar at least."""
    faint = fitted.did(fitted.inspector, "jobs/J-1/leak-tests", TEST | {"pressure": "0.001 bar"})
    assert (faint["good"], faint["counts"]) == (False, False)
    assert faint["why"] == ["the pressure was less than the maker asks for"]
    below = fitted.did(fitted.inspector, "jobs/J-1/leak-tests", TEST | {"pressure": "49.999 kPa"})
    assert below["good"] is False
    on_it = fitted.did(fitted.inspector, "jobs/J-1/leak-tests", TEST | {"pressure": "0.5 bar"})
    assert (on_it["good"], on_it["counts"], on_it["why"]) == (True, True, [])
