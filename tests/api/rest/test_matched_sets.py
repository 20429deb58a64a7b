"""A set of what two broken ones left, over HTTP: with mistakes on purpose, until it is on the shelf and on the next job's list."""

import pytest

from tests.factories.measuring import gauge
from tests.factories.stores import quarantine

AT20 = {"part_temperature": "20 °C", "gauge_temperature": "20 °C"}
POINTS = ("top/along", "top/across", "bottom/along", "bottom/across")
PATH = "jobs/J-1/matched-sets"


@pytest.fixture
def left(rebuild):
    """J-1 is booked; S-1 lost its piston, S-2 its liner; one gauge. What is left, by member."""
    quarantine("Q1")
    rebuild.booked()
    gauge("G-1", due=None)
    made = {"done_on": "2024-07-01", "next_due": "2999-06-30", "master": "M-1", "done_by": "the laboratory"}
    rebuild.did(rebuild.inspector, "gauges/G-1/calibrations", made)
    found = {}
    for serial, damaged in (("S-1", "piston"), ("S-2", "liner")):
        body = {
            "damaged": damaged,
            "reason": "dropped",
            "orphan_place": "Q1",
            "photo_ref": "photo 12",
            "subject": "J-1",
        }
        broke = rebuild.did(rebuild.technician, f"matched-sets/{serial}/breaks", body)
        found |= {one["member"]: one["item"] for one in broke["orphans"] if (serial, one["member"]) != ("S-1", "pin")}
    return found


def read(rebuild, left, piston="85.905 mm"):
    lines = [
        {"what": "bore-diameter", "value": "86.015 mm", "gauge": "G-1", "item": left["liner"], "point": point} | AT20
        for point in POINTS
    ]
    more = {"what": "piston-diameter", "value": piston, "gauge": "G-1", "item": left["piston"], "point": "14 mm"}
    return rebuild.did(rebuild.technician, "jobs/J-1/readings", {"readings": [*lines, more | AT20]})


def body(rebuild, left, **more):
    return {"part": "SET", "serial": "S-9001", "signed_by": rebuild.inspector.person.username, **left} | more


def test_from_two_broken_sets_to_one_on_the_shelf(rebuild, left):
    asked = body(rebuild, left)
    # Nothing was read yet; then the wrong piston was read, and the one who read signs.
    assert rebuild.technician.send(PATH, asked).json()["code"] == "readings-missing"
    ids = [one["id"] for one in read(rebuild, left, piston="85.850 mm")["readings"]]
    refused = rebuild.manager.send(PATH, asked).json()
    assert (refused["code"], refused["values"]["verdict"], refused["values"]["clearance"]) == (
        "match-refused", "fail", "0.165 mm",
    )  # fmt: skip
    rebuild.did(rebuild.technician, f"jobs/J-1/readings/{ids[-1]}/withdrawals", {"reason": "another piston"})
    for one in ids[:-1]:
        rebuild.did(rebuild.technician, f"jobs/J-1/readings/{one}/withdrawals", {"reason": "read again"})
    read(rebuild, left)
    signs = body(rebuild, left, signed_by=rebuild.technician.person.username)
    assert rebuild.manager.send(PATH, signs).json()["code"] == "same-person"
    made = rebuild.did(rebuild.technician, PATH, asked)
    assert (made["place"], made["document"]["clearance"], made["measured"]["bore_nm"]) == ("Q1", "0.110 mm", 86_015_000)
    assert rebuild.technician.send(PATH, asked | {"serial": "S-9002"}).json()["code"] == "not-there"
    rows = {row["serial"]: (row["broken"], row["matched_again"]) for row in rebuild.manager.rows("matched-sets")}
    assert rows == {"S-1": (True, False), "S-2": (True, False), "S-9001": (False, True)}
    told = rebuild.manager.read("matched-sets/S-2/history").json()
    assert (told["whole"], [one["serial"] for one in told["went_into"]]) == (False, ["S-9001"] * 2)
    line = {"item": made["item"], "amount": "1 EA", "from_place": "Q1", "to_place": "R1"}
    rebuild.did(rebuild.inspector, "quarantine-releases", {"lines": [line]})
    rebuild.held()
    held = rebuild.said["held"]["held"]
    assert [one["serial"] for one in held if one["part"] == "SET"] == ["S-9001"]
    # At the bench somebody finds that a reading under it was wrong: it is not fitted any more.
    rebuild.picked().looked_at()
    handed = {"received_by": rebuild.technician.person.username}
    rebuild.did(rebuild.storekeeper, f"pick-lists/{rebuild.said['held']['pick_list']}/handovers", handed)
    reading = made["document"]["readings"][0]["id"]
    withdrawn = rebuild.did(rebuild.technician, f"jobs/J-1/readings/{reading}/withdrawals", {"reason": "zero was off"})
    assert [(one["kind"], one["subject"]) for one in withdrawn["stale"]] == [("matched set", "S-9001")]
    into = {"fittings": [{"position": "CYL-1/set", "item": made["item"]}], "checker": rebuild.inspector.person.username}
    refused = rebuild.technician.send("jobs/J-1/fittings", into).json()
    assert refused["lines"][0]["code"] == "match-stale"
    assert refused["lines"][0]["values"]["why"] == [f"reading {reading} was withdrawn: zero was off"]


def test_what_is_left_is_never_stock_by_itself(rebuild, left):
    line = {"item": left["piston"], "amount": "1 EA", "from_place": "Q1", "to_place": "R1"}
    answer = rebuild.inspector.send("quarantine-releases", {"lines": [line]}).json()
    assert answer["lines"][0]["code"] == "set-broken"
    assert "that makes a new set" in answer["lines"][0]["ways_out"][1]


@pytest.mark.parametrize(
    ("changed", "status", "code"),
    [
        ({"liner": None}, 400, "fields-wrong"),
        ({"liner": "1"}, 400, "fields-wrong"),
        ({"signed_by": "nobody"}, 404, "not-found"),
        ({"serial": ""}, 400, "fields-wrong"),
        ({"serial": "---"}, 422, "part-number-unreadable"),
        ({"part": "WASHER"}, 422, "not-a-set"),
        ({"pin": None}, 422, "half-a-set"),
        ({"rings": 4}, 400, "fields-wrong"),
    ],
)
def test_mistakes_are_named_and_nothing_is_lost(rebuild, left, changed, status, code):
    read(rebuild, left)
    answer = rebuild.technician.send(PATH, body(rebuild, left) | changed)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert [row["serial"] for row in rebuild.manager.rows("matched-sets")] == ["S-1", "S-2"]


def test_the_parts_manager_decides_what_the_broken_one_is_worth(rebuild, left):
    path = "matched-sets/S-1/core-values"
    words = {"value_coins": 2500, "reason": "the maker takes liners back", "subject": "J-1"}
    assert rebuild.technician.send(path, words).status_code == 403
    assert rebuild.manager.send(path, words | {"value_coins": 0}).json()["code"] == "amount-not-positive"
    assert rebuild.manager.send("matched-sets/S-9/core-values", words).json()["code"] == "not-found"
    rebuild.did(rebuild.manager, path, words)
    rebuild.did(rebuild.manager, path, words | {"value_coins": None, "reason": "not this one: it is cracked"})
    told = rebuild.manager.read("matched-sets/S-1/history").json()["core_values"]
    assert [one["value_coins"] for one in told] == [2500, None]
