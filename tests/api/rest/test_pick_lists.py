"""Pick lists over HTTP: read, printed, picked, handed over."""

import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Balance, HoldEnd, Item, Lot
from inventory.queries.audit import audit
from kits.models import Handover, JobHold
from tests.api.rest.clients import somebody
from tests.factories.acts import held
from tests.factories.stores import cart

pytestmark = pytest.mark.django_db


def address(rebuild, rest=""):
    return f"pick-lists/{rebuild.said['held']['pick_list']}{rest}"


def on_cart():
    rows = Balance.objects.filter(place__code="cart J-1", amount__gt=0)
    return sorted(rows.values_list("part__number", "amount"))


WHOLE = [
    ("COVER-RUBBER", 1), ("NEW-BOLT", 10), ("NEW-GASKET", 1), ("OIL", 4_000_000), ("RING", 1), ("ROD-BOLT", 2), ("SEALANT", 1),
    ("SET", 1), ("SHELL-STD", 1), ("WASHER", 1),
]  # fmt: skip


def test_a_pick_list_by_tray_in_order_of_work_and_by_bin_in_walking_order(rebuild):
    rebuild.booked().held()
    body = rebuild.storekeeper.read(address(rebuild)).json()
    assert (body["number"], body["job"], body["engine"], body["fit_on"]) == (1, "J-1", "T4-00211", "2025-01-20")
    assert [(tray["tray"], [line["part"] for line in tray["lines"]]) for tray in body["trays"]] == [
        (1, ["RING", "ROD-BOLT", "SHELL-STD", "COVER-RUBBER", "NEW-BOLT", "NEW-GASKET", "OIL", "SEALANT", "WASHER"])
    ]
    assert [(line["part"], [held["serial"] for held in line["held"]]) for line in body["floor"]] == [("SET", ["S-1"])]
    bolts = next(line for line in body["trays"][0]["lines"] if line["part"] == "NEW-BOLT")
    assert bolts["spans"] == ["HEAD-LEFT/bolt-01 to bolt-10"]
    assert (bolts["step_name"], bolts["shown"], [held["place"] for held in bolts["held"]]) == ("step 30", "10", ["R1"])
    assert [held["place"] for held in body["walk"]] == ["R1"] * 8 + ["R2"] * 2
    assert {held["part"]: held["trays"] for held in body["walk"] if held["part"] in ("RING", "SET")} == {
        "RING": [1],
        "SET": [],
    }
    assert {held["part"] for held in body["walk"][-2:]} == {"OIL", "SEALANT"}
    assert (body["tools"], body["missing"], body["handovers"]) == ([{"tool": "bead gun", "steps": ["T1/40"]}], [], [])


def test_the_second_list_has_only_what_it_holds(rebuild):
    rebuild.booked().held()
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "crank-out"}]})
    rebuild.held()
    body = rebuild.storekeeper.read(address(rebuild)).json()
    assert (body["number"], [held["part"] for held in body["walk"]]) == (2, ["MAIN-SHELL", "ROD-BOLT", "SHELL-STD"])
    assert [line["part"] for tray in body["trays"] for line in tray["lines"]] == ["MAIN-SHELL", "ROD-BOLT", "SHELL-STD"]
    assert body["floor"] == []
    shown = rebuild.storekeeper.rows("jobs/J-1/pick-lists")
    assert [(row["number"], row["by"]) for row in shown] == [
        (1, rebuild.technician.person.username),
        (2, rebuild.technician.person.username),
    ]


def test_candidates_go_along_on_approval(rebuild):
    findings = [{"code": "chosen", "place": "CYL-1"}, {"code": "low", "place": "CYL-1"}]
    rebuild.booked(findings=findings).held()
    body = rebuild.storekeeper.read(address(rebuild)).json()
    assert [(held["part"], held["on_approval"]) for held in body["candidates"]] == [("SHIM-5", True), ("SHIM-9", True)]
    assert [one["choice"] for one in body["open_choices"]] == ["shim"]


@pytest.mark.parametrize("how", [{"format": "html"}, {"accept": "text/html"}])
def test_the_printed_page_has_every_line_with_lot_bin_and_because(rebuild, how):
    rebuild.booked().held()
    client, path = rebuild.storekeeper, f"/api/v1/{address(rebuild)}"
    page = (
        client.get(path, {"format": "html"}) if "format" in how else client.get(path, headers={"accept": how["accept"]})
    )
    assert (page.status_code, page["Content-Type"]) == (200, "text/html; charset=utf-8")
    text = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode().partition("</style>")[2]))
    for line in (
        "Pick list 1, job J-1, engine T4-00211",
        "R1 RING liner ring RING/1 1 1",
        "R1 SET piston and liner set S-1 1 floor",
        "R2 SEALANT sealant SEALANT/1 1 1",
        "1 COVER-RUBBER cover gasket COVER-LEFT/gasket",
        "10 NEW-BOLT head bolt HEAD-LEFT/bolt-01 to bolt-10",
        "soap, never oil",
        "T1/40 step 40 · with bead gun Ventilate; gloves; safety data sheet before use.",
        "cylinder chosen (CYL-1) → liner lifted",
        "Floor of the trolley · T1/10",
    ):
        assert line in text, line
    assert text.count("picked by, day") == 1


def test_a_page_that_is_refused_says_so_in_a_sentence(rebuild):
    page = rebuild.storekeeper.generic("GET", "/api/v1/pick-lists/999?format=html")
    assert (page.status_code, page["Content-Type"]) == (404, "text/html; charset=utf-8")
    assert "There is no pick list 999." in page.content.decode()


def test_an_unknown_form_is_refused(rebuild):
    rebuild.booked().held()
    answer = rebuild.storekeeper.read(address(rebuild), format="pdf")
    assert (answer.status_code, answer.json()["code"]) == (400, "parameter-wrong")
    answer = rebuild.storekeeper.get(f"/api/v1/{address(rebuild)}", headers={"accept": "application/pdf"})
    assert (answer.status_code, answer.json()["code"]) == (406, "not-acceptable")


def test_an_unknown_list_is_not_found(rebuild):
    for answer in (
        rebuild.storekeeper.read("pick-lists/999"),
        rebuild.storekeeper.send("pick-lists/999/picks", {"scans": [{"hold": 1, "scanned": "X"}]}),
        rebuild.storekeeper.send("pick-lists/999/handovers", {"received_by": rebuild.technician.person.username}),
    ):
        assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


def test_paper_says_what_is_no_longer_asked_for_and_it_is_released_in_one_act(rebuild):
    rebuild.booked().held()
    (finding,) = rebuild.technician.read("jobs/J-1").json()["findings"]
    assert rebuild.storekeeper.read(address(rebuild)).json()["unasked"] == []
    gone = {"reason": "the liner is good"}
    said = rebuild.did(rebuild.technician, f"jobs/J-1/findings/{finding['id']}/withdrawals", gone)
    unasked = rebuild.storekeeper.read(address(rebuild)).json()["unasked"]
    assert {row["part"] for row in unasked} >= {"SET", "RING"}
    (its,) = (row for row in unasked if row["part"] == "SET")
    assert said["to_return"]["held"] == unasked
    page = rebuild.storekeeper.read(address(rebuild), format="html").content.decode()
    assert "Held, no longer asked for; leave on the shelf:</strong>" in page
    assert f"1 SET, {its['place']}, {its['serial']} (was for CYL-1/set)" in page
    listed = rebuild.technician.read("jobs/J-1/list", since="1").json()
    assert listed["held_unasked"] == unasked
    removed = {row["position"]: row["held"] for row in listed["changes"]["removed"]}
    assert removed["CYL-1/set"] == [its["hold"]]
    assert rebuild.technician.send("jobs/J-1/releases", gone).status_code == 403
    released = rebuild.did(rebuild.manager, "jobs/J-1/releases", gone)["released"]
    assert [row["hold"] for row in released] == [row["hold"] for row in unasked]
    assert rebuild.storekeeper.read(address(rebuild)).json()["unasked"] == []
    assert "no longer asked for" not in rebuild.storekeeper.read(address(rebuild), format="html").content.decode()
    again = rebuild.manager.send("jobs/J-1/releases", gone)
    assert (again.status_code, again.json()["code"]) == (422, "nothing-to-release")


@pytest.mark.parametrize("lines", [2, 10])
def test_reading_a_list_costs_twenty_queries_however_long(rebuild, lines):
    """The token, the list, its holds, its hand-overs, the steps of its procedures, newer revisions; while something is held on it, what
    the job's list of now asks for no longer: no line costs one of its own."""
    rebuild.booked()
    rebuild.said["held"] = rebuild.did(rebuild.technician, "jobs/J-1/holds", {"steps": ["T1/10"] if lines == 2 else []})
    with CaptureQueriesContext(connection) as queries:
        assert len(rebuild.storekeeper.read(address(rebuild)).json()["walk"]) == lines
    assert len(queries) == 20, [query["sql"] for query in queries]


def test_picked_by_scanning_onto_the_cart(rebuild):
    rebuild.booked().held()
    key = uuid.uuid4()
    body = rebuild.did(rebuild.storekeeper, address(rebuild, "/picks"), {"scans": rebuild.scans()}, key=key)
    assert (body["job"], body["left"], len(body["picked"])) == ("J-1", 0, 10)
    assert body["picked"][1] == {
        "hold": rebuild.said["held"]["held"][1]["hold"],
        "part": "SET",
        "lot": "",
        "serial": "S-1",
        "amount": 1,
        "from": "R1",
    }
    assert on_cart() == WHOLE
    again = rebuild.did(rebuild.storekeeper, address(rebuild, "/picks"), {"scans": rebuild.scans()}, key=key)
    assert (again, on_cart()) == (body, WHOLE)


def test_a_wrong_scan_is_named_and_nothing_is_picked(rebuild):
    scans = rebuild.booked().held().scans()
    scans[1]["scanned"] = "S-2"
    scans[4]["scanned"] = "NEW-GASKET"
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": scans})
    assert answer.status_code == 422
    assert [(line["line"], line["code"], line["values"]["wanted"]) for line in answer.json()["lines"]] == [
        (2, "wrong-scan", "S-1"),
        (5, "wrong-scan", "COVER-RUBBER"),
    ]
    assert on_cart() == []


def test_what_was_taken_from_another_bin_is_refused_by_name(rebuild):
    scans = rebuild.booked().held().scans()
    wrong = [scans[0] | {"bin": "R1"}, scans[1] | {"bin": "R2"}]
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": wrong})
    assert answer.status_code == 422
    (line,) = answer.json()["lines"]
    assert (line["line"], line["code"], line["values"]["bin"], line["values"]["wanted"]) == (
        2,
        "wrong-scan",
        "R2",
        "R1",
    )
    assert on_cart() == []
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": [scans[0] | {"bin": ["R1"]}]})
    assert (answer.status_code, answer.json()["code"]) == (400, "fields-wrong")
    # The right bins, in whatever case they were typed; one was not scanned.
    body = rebuild.did(
        rebuild.storekeeper,
        address(rebuild, "/picks"),
        {"scans": [scans[0] | {"bin": " r1 "}, scans[1] | {"bin": ""}, *scans[2:]]},
    )
    assert body["left"] == 0


@pytest.mark.parametrize(
    ("change", "status", "code"),
    [
        (lambda scans: [], 422, "nothing-given"),
        (lambda scans: [*scans, scans[0]], 422, "scanned-twice"),
        (lambda scans: [{**scans[0], "hold": 999}], 404, "not-found"),
        (lambda scans: [{**scans[2], "amount": 3}], 422, "pick-over-hold"),
        (lambda scans: [{**scans[0], "amount": 0}], 422, "pick-over-hold"),
        (lambda scans: [{**scans[0], "amount": -1}], 400, "fields-wrong"),
        (lambda scans: [{**scans[0], "scanned": "\0"}], 400, "bad-request"),
        (lambda scans: [{"hold": scans[0]["hold"]}], 400, "fields-wrong"),
        (lambda scans: scans * 300, 400, "fields-wrong"),
    ],
)
def test_picks_that_cannot_be_are_refused(rebuild, change, status, code):
    scans = change(rebuild.booked().held().scans())
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": scans})
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert on_cart() == []


def test_an_opened_tube_is_picked_whole(rebuild):
    """Counted as less, half of it would stay on the shelf by the books; weighed as more since it was held, all of it is held and picked."""
    opening = {"place": "R2", "tube": "T-1"}
    rebuild.did(rebuild.storekeeper, f"items/{rebuild.item('SEALANT', 'lot=SEALANT/1')}/openings", opening)
    rebuild.did(rebuild.storekeeper, "tubes/T-1/weighings", {"weight": "37.9 g"})  # 11.5 g empty, 1.32 g/mL: 20 mL
    (tube,) = [one for one in rebuild.booked().held().said["held"]["held"] if one["tube"]]
    path, scan = f"pick-lists/{rebuild.said['held']['pick_list']}/picks", {"hold": tube["hold"], "scanned": "T-1"}
    for counted in (1, 19_999):
        (line,) = rebuild.storekeeper.send(path, {"scans": [scan | {"amount": counted}]}).json()["lines"]
        assert (line["code"], line["values"]["there"], line["values"]["asked"]) == ("not-whole", 20_000, counted)
    more = {"weight": "44.5 g", "reason": "the scales stood on the hose"}
    assert rebuild.did(rebuild.storekeeper, "tubes/T-1/weighings", more)["content_ul"] == 25_000
    (line,) = rebuild.storekeeper.send(path, {"scans": [scan | {"amount": 20_000}]}).json()["lines"]
    assert (line["code"], line["values"]["there"]) == ("not-whole", 25_000)
    positions = JobHold.objects.get(hold=tube["hold"]).positions
    picked = rebuild.did(rebuild.storekeeper, path, {"scans": [scan]})
    (line,) = picked["picked"]
    assert (line["amount"], line["hold"] > tube["hold"]) == (25_000, True)
    assert ("SEALANT", 25_000) in on_cart()
    ends = HoldEnd.objects.in_bulk([tube["hold"], line["hold"]])
    assert (ends[tube["hold"]].how, ends[line["hold"]].how, ends[line["hold"]].picked) == ("released", "picked", 25_000)
    assert JobHold.objects.get(hold=line["hold"]).positions == positions
    assert audit() == []
    again = rebuild.storekeeper.send(path, {"scans": [scan]})
    assert (again.status_code, again.json()["code"]) == (409, "hold-ended")


def test_what_others_hold_of_a_tube_that_was_weighed_heavier_is_not_taken_from_them(rebuild):
    opening = {"place": "R2", "tube": "T-1"}
    rebuild.did(rebuild.storekeeper, f"items/{rebuild.item('SEALANT', 'lot=SEALANT/1')}/openings", opening)
    rebuild.did(rebuild.storekeeper, "tubes/T-1/weighings", {"weight": "37.9 g"})
    (tube,) = [one for one in rebuild.booked().held().said["held"]["held"] if one["tube"]]
    more = {"weight": "44.5 g", "reason": "the scales stood on the hose"}
    rebuild.did(rebuild.storekeeper, "tubes/T-1/weighings", more)
    other = held(Item.objects.get(tube__number="T-1"), cart("cart of another"), 5_000, shelf="R2")
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": [{"hold": tube["hold"], "scanned": "T-1"}]})
    (line,) = answer.json()["lines"]
    assert (line["code"], line["ways_out"]) == (
        "not-whole",
        ["It was weighed since it was held, and others hold of it too: release their line."],
    )
    assert (HoldEnd.objects.filter(hold__in=[tube["hold"], other.pk]).count(), on_cart()) == (0, [])


def test_what_expired_meanwhile_is_not_picked(rebuild):
    rebuild.booked().held()
    Lot.objects.filter(code="RING/1").update(expires_on="2025-01-19")
    answer = rebuild.storekeeper.send(address(rebuild, "/picks"), {"scans": rebuild.scans()})
    assert (answer.status_code, answer.json()["code"]) == (422, "expired")
    assert on_cart() == []


def test_handed_over_with_the_missing_lines_named_and_the_tools_lent(rebuild):
    rebuild.booked().held()
    rebuild.did(rebuild.storekeeper, address(rebuild, "/picks"), {"scans": rebuild.scans()[1:]})
    technician = rebuild.technician.person.username
    answer = rebuild.storekeeper.send(address(rebuild, "/handovers"), {"received_by": technician})
    absent = {
        "name": "RING", "what": "part", "amount": 1, "base": "piece", "shown": "1", "positions": ["CYL-1/ring"],
        "step": "T1/10", "why": "held at R1, not picked",
    }  # fmt: skip
    assert (answer.status_code, answer.json()["code"], answer.json()["values"]) == (
        422,
        "missing-not-named",
        {"parts": ["RING"], "missing": [absent]},
    )
    rebuild.looked_at()
    key, said = uuid.uuid4(), {"received_by": technician, "missing": ["RING"]}
    body = rebuild.did(rebuild.storekeeper, address(rebuild, "/handovers"), said, key=key)
    assert (body["job"], body["missing"], body["tools"], body["tools_short"]) == ("J-1", ["RING"], ["bead gun"], [])
    assert (len(body["moved"]), body["absent"], body["not_missing"]) == (9, [absent], [])
    (bin_,) = body["to_count"]
    assert (bin_["place"], bin_["part"], bin_["lot"], bin_["on_books"]) == ("R1", "RING", "RING/1", 6)
    assert rebuild.did(rebuild.storekeeper, address(rebuild, "/handovers"), said, key=key) == body
    assert (on_cart(), Handover.objects.count()) == ([], 1)
    (signed,) = rebuild.manager.read(address(rebuild)).json()["handovers"]
    assert (signed["by"], signed["received_by"], signed["missing"]) == (
        rebuild.storekeeper.person.username,
        technician,
        ["RING"],
    )
    assert rebuild.manager.read("jobs/J-1").json()["tools_on_loan"] == ["bead gun"]


def test_a_hand_over_that_cannot_be_is_refused(rebuild):
    rebuild.booked().held()
    missing = [row["part"] for row in rebuild.said["held"]["held"]]
    technician = rebuild.technician.person.username
    for body, status, code in (
        ({"received_by": technician, "missing": missing}, 409, "nothing-there"),
        ({"received_by": rebuild.storekeeper.person.username}, 422, "same-person"),
        ({"received_by": somebody("storekeeper").username, "missing": missing}, 403, "may-not-take-over"),
        ({"received_by": "nobody"}, 404, "not-found"),
        ({}, 400, "fields-wrong"),
    ):
        answer = rebuild.storekeeper.send(address(rebuild, "/handovers"), body)
        assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert Handover.objects.count() == 0


def test_who_may_and_keys(rebuild):
    rebuild.booked().held()
    scans, to = {"scans": rebuild.scans()}, {"received_by": rebuild.technician.person.username}
    assert rebuild.technician.send(address(rebuild, "/picks"), scans).json()["code"] == "not-allowed"
    assert rebuild.technician.send(address(rebuild, "/handovers"), to).json()["code"] == "not-allowed"
    assert rebuild.storekeeper.send(address(rebuild, "/picks"), scans, key="").json()["code"] == "key-missing"
    assert rebuild.storekeeper.send(address(rebuild, "/handovers"), to, key="").json()["code"] == "key-missing"
