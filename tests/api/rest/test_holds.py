"""Holds of a job over HTTP: held, read, released, lapsed."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Balance, Hold, Lot, Part
from tests.factories.stores import stock

pytestmark = pytest.mark.django_db


def held_of(number):
    return list(Balance.objects.filter(part__number=number, held__gt=0).values_list("item__identity", "held"))


def test_the_list_is_held_and_nothing_twice(rebuild):
    rebuild.booked()
    key = uuid.uuid4()
    body = rebuild.did(rebuild.technician, "jobs/J-1/holds", {}, key=key)
    assert (body["number"], body["shorts"], body["open_choices"]) == (1, [], [])
    assert [(row["part"], row["lot"] or row["serial"], row["amount"]) for row in body["held"]] == [
        ("RING", "RING/1", 1),
        ("SET", "S-1", 1),
        ("ROD-BOLT", "", 2),
        ("SHELL-STD", "SHELL-STD/1", 1),
        ("COVER-RUBBER", "", 1),
        ("NEW-BOLT", "", 10),
        ("NEW-GASKET", "", 1),
        ("OIL", "", 4_000_000),
        ("WASHER", "", 1),
        ("SEALANT", "SEALANT/1", 1),
    ]
    assert body["held"][0]["positions"] == [["CYL-1/ring", 1, 1]]
    assert rebuild.did(rebuild.technician, "jobs/J-1/holds", {}, key=key) == body
    answer = rebuild.technician.send("jobs/J-1/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "nothing-to-hold")
    assert held_of("NEW-BOLT") == [("-", 10)]


def test_what_the_shelves_lack_is_named_and_the_rest_held(rebuild):
    findings = [{"code": "chosen", "place": f"CYL-{n}"} for n in (1, 2, 3)]
    rebuild.booked(findings=findings).held()
    (short,) = rebuild.said["held"]["shorts"]
    assert (short["part"], short["amount"], short["positions"], short["step"]) == ("SET", 1, ["CYL-3/set"], "T1/10")


def test_some_steps_only_and_a_lot_by_name(rebuild):
    rebuild.booked()
    said = {
        "steps": ["T1/10"],
        "lots": [{"part": "SET", "lots": ["S-2"]}],
        "lots_reason": "lighter",
        "until": "2025-01-25",
        "occurred_at": "2025-01-16T12:00:00Z",
    }
    body = rebuild.did(rebuild.technician, "jobs/J-1/holds", said)
    assert [(row["part"], row["lot"] or row["serial"]) for row in body["held"]] == [("RING", "RING/1"), ("SET", "S-2")]
    assert {row["until"] for row in rebuild.manager.rows("jobs/J-1/holds")} == {"2025-01-25"}


def test_a_lot_of_which_nobody_knows_when_it_came_goes_first_and_is_pointed_out(rebuild):
    stock(Part.objects.get(number="RING"), 4, lot="UNDATED")
    Lot.objects.filter(code="UNDATED").update(received_on=None)
    looks = {row["part"]: (row["lot"], row["look"]) for row in rebuild.booked().held().said["held"]["held"]}
    assert looks.pop("RING") == ("UNDATED", "The day of receipt is not known: it counts as the oldest.")
    assert {look for _, look in looks.values()} == {""}


def test_a_lot_in_two_bins_is_one_lot_and_goes_before_the_next(rebuild):
    """Four rings wanted, three of the first lot in each of two bins: the next lot, which covers them from one bin, stays whole."""
    ring = rebuild.item("RING", "lot=RING/1")
    carried = {"item": ring, "amount": 3, "from_place": "R1", "to_place": "R2"}
    rebuild.did(rebuild.storekeeper, "transfers", {"lines": [carried]})
    stock(
        Part.objects.get(number="RING"), 8, lot="RING/2", place=Balance.objects.filter(place__code="R1").first().place
    )
    rebuild.booked(findings=[{"code": "lifted", "place": f"CYL-{n}"} for n in (1, 2, 3, 4)]).held()
    held = [(row["lot"], row["place"], row["amount"]) for row in rebuild.said["held"]["held"] if row["part"] == "RING"]
    assert held == [("RING/1", "R1", 3), ("RING/1", "R2", 1)]


def test_a_hold_as_it_is_read(rebuild):
    rebuild.booked().held()
    row = rebuild.manager.rows("jobs/J-1/holds", part="ROD-BOLT")[0]
    given = next(one for one in rebuild.said["held"]["held"] if one["part"] == "ROD-BOLT")
    assert row == {
        "hold": given["hold"],
        "pick_list": rebuild.said["held"]["pick_list"],
        "part": "ROD-BOLT",
        "name": "rod bolt",
        "wanted": "ROD-BOLT",
        "item": given["item"],
        "lot": "",
        "serial": "",
        "tube": "",
        "use_by": None,
        "place": "R1",
        "spot": "-",
        "amount": 2,
        "base": "piece",
        "shown": "2",
        "positions": [
            {"position": "ROD-1/bolt-1", "make": 1, "amount": 1},
            {"position": "ROD-1/bolt-2", "make": 1, "amount": 1},
        ],
        "line": 3,
        "tray": 1,
        "on_approval": False,
        "needed_on": "2025-01-20",
        "until": None,
        "state": "held",
        "picked": 0,
        "why": "",
    }


def test_a_released_hold_is_free_again(rebuild):
    rebuild.booked().held()
    hold = rebuild.said["held"]["held"][0]["hold"]
    body = rebuild.did(rebuild.manager, f"holds/{hold}/releases", {"reason": "wanted elsewhere"})
    assert body == {"hold": hold, "part": "RING", "freed": 1}
    assert held_of("RING") == []
    (row,) = rebuild.manager.rows("jobs/J-1/holds", open="false")
    assert (row["state"], row["why"]) == ("released", "wanted elsewhere")
    assert len(rebuild.manager.rows("jobs/J-1/holds", open="true")) == 9
    answer = rebuild.manager.send(f"holds/{hold}/releases", {"reason": "again"})
    assert (answer.status_code, answer.json()["code"]) == (409, "hold-ended")


def test_the_job_tells_of_a_hold_that_ended(rebuild):
    """Among what was done on the job, and by another version of it: whoever looks at it sees that something changed."""
    then = {"occurred_at": "2025-01-16T12:00:00Z"}
    rebuild.booked()
    held = rebuild.did(rebuild.technician, "jobs/J-1/holds", {"until": "2025-01-17"} | then)["held"]
    before = rebuild.manager.read("jobs/J-1").json()["version"]
    rebuild.did(rebuild.manager, f"holds/{held[0]['hold']}/releases", {"reason": "wanted elsewhere"})
    rebuild.did(rebuild.manager, f"holds/{held[1]['hold']}/lapses", {"reason": "nobody came"})
    assert [row["kind"] for row in rebuild.manager.rows("acts", subject="J-1")] == [
        "lapse",
        "release",
        "hold",
        "book job",
    ]
    assert rebuild.manager.read("jobs/J-1").json()["version"] == before + 2


def test_a_hold_lapses_only_when_its_day_is_past(rebuild):
    rebuild.booked()
    then = {"occurred_at": "2025-01-16T12:00:00Z"}
    rebuild.did(rebuild.technician, "jobs/J-1/holds", {"steps": ["T1/10"], "until": "2025-01-25"} | then)
    rebuild.did(rebuild.technician, "jobs/J-1/holds", {})
    past, kept = Hold.objects.order_by("pk").first(), Hold.objects.order_by("pk").last()
    body = rebuild.did(rebuild.manager, f"holds/{past.pk}/lapses", {"reason": "nobody came"})
    assert body == {"lapsed": [past.pk]}
    answer = rebuild.manager.send(f"holds/{kept.pk}/lapses", {"reason": "nobody came"})
    assert (answer.status_code, answer.json()["code"]) == (422, "not-lapsed")


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"lots": [{"part": "SET", "lots": ["S-2"]}]}, 422, "reason-missing"),
        ({"lots": [{"part": "STEM-SEAL", "lots": ["X"]}], "lots_reason": "so"}, 422, "not-on-list"),
        ({"lots": [{"part": "RING", "lots": ["ring-1"]}], "lots_reason": "so"}, 404, "not-found"),
        ({"lots": [{"part": "SET", "lots": ["S-2"]}] * 2, "lots_reason": "so"}, 400, "fields-wrong"),
        ({"lots": [{"part": "SET", "lots": []}], "lots_reason": "so"}, 400, "fields-wrong"),
        ({"steps": "T1/10"}, 400, "fields-wrong"),
        ({"steps": ["T1/10", "T1/99"]}, 422, "step-not-on-job"),
        ({"until": "2025-01-25"}, 422, "dates-turned"),
        ({"until": "soon"}, 400, "fields-wrong"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, body, status, code):
    answer = rebuild.booked().technician.send("jobs/J-1/holds", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert Hold.objects.count() == 0


def test_a_job_with_nothing_on_its_list_says_so(rebuild):
    answer = rebuild.booked(findings=[]).technician.send("jobs/J-1/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "list-empty")


def test_who_may_and_keys(rebuild):
    rebuild.booked().held()
    hold = rebuild.said["held"]["held"][0]["hold"]
    assert rebuild.inspector.send("jobs/J-1/holds", {}).json()["code"] == "not-allowed"
    assert rebuild.technician.send("jobs/J-1/holds", {}, key="").json()["code"] == "key-missing"
    for path in (f"holds/{hold}/releases", f"holds/{hold}/lapses"):
        assert rebuild.technician.send(path, {"reason": "so"}).json()["code"] == "not-allowed"
        assert rebuild.manager.send(path, {"reason": "so"}, key="").json()["code"] == "key-missing"
        assert rebuild.manager.send(path.replace(str(hold), "999"), {"reason": "so"}).json()["code"] == "not-found"


@pytest.mark.parametrize("steps", [["T1/10"], []])
def test_the_list_of_holds_costs_three_queries_however_long(rebuild, steps):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/holds", {"steps": steps})
    with CaptureQueriesContext(connection) as queries:
        assert len(rebuild.manager.rows("jobs/J-1/holds")) == (2 if steps else 10)
    assert len(queries) == 3, [query["sql"] for query in queries]
