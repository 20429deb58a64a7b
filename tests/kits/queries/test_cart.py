"""What a pick list brings, laid out on the cart: in few trays, in order of work, numbered on from list to list."""

import pytest

from inventory.models import Part
from kits.models import JobHold, PickList
from kits.queries.pick_lists import full_record, pick_list
from kits.services.hold_kit import hold_kit
from kits.services.jobs import FindingIn, record_findings
from tests.factories.acts import done
from tests.factories.rebuilds import book, give, hold, listed, shelve, shelve_sets, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def trays(body):
    """Tray → part numbers of the list's lines in it."""
    parts = {line["line"]: line["part"] for line in PickList.objects.get(pk=body["pick_list"]).document["lines"]}
    return {tray["tray"]: [parts[one["line"]] for one in tray["lines"]] for tray in body["cart"]["trays"]}


def test_operations_and_preferred_trays_share_a_tray_while_weight_and_size_allow():
    shelve({"A-111": 2, "G-708": 1, "A-503": 4, "A-203": 1, "A-502": 10})
    job = book(operations=["P1", "P2"], findings=[*TWO, ("rod-parted", "CYL-1"), ("head-off", "ENGINE")])
    steps = ["P1/10", "P1/30", "P1/50"]
    body = hold(job, steps=steps)
    lines = [line for line in listed(job).lines if f"{line.operation}/{line.step}" in steps]
    assert {line.tray for line in lines} == {1, 2, 4}
    (tray,) = body["cart"]["trays"]
    assert [one["line"] for one in tray["lines"]] == [line.number for line in lines]
    # 2 rings, a tin of soap, 4 rod bolts, 2 strips, a tin of lubricant, 10 head bolts, head, manifold and cover gaskets: by hand
    # from the parts list of the demo shop (invented).
    grams = 2 * 1.98 + 550 + 4 * 41 + 2 * 0.3 + 310 + 10 * 92 + 420 + 95 + 110
    assert (tray["weight_g"], tray["size_ml"]) == (round(grams), 700 + 450 + 800 + 250 + 700)
    parts = {line.number: line.part for line in listed(job).lines}
    assert [parts[number] for number in tray["not_sized"]] == ["A-111", "A-503", "G-709", "A-502"]
    assert tray["not_weighed"] == []


def test_a_second_list_lays_out_only_what_it_holds_or_misses_in_trays_of_its_own():
    shelve({"A-111": 4, "G-708": 1})
    shelve_sets("A-101", "S-1")
    job = book(findings=TWO)
    first = hold(job, steps=["P1/10"])
    assert trays(first) == {1: ["A-111", "G-708"]}
    done(record_findings, job="J1", findings=[FindingIn("cylinder-chosen", "CYL-3")])
    shelve({"A-503": 2})
    second = hold(job)
    assert sorted(trays(second)) == [2]
    assert "A-503" in trays(second)[2]
    (ring,) = [one for one in second["cart"]["trays"][0]["lines"] if trays(second)[2][0] == "A-111"][:1]
    assert ring["pieces"] == 1
    assert [one["pieces"] for one in second["cart"]["floor"]] == [1]
    rows = {(row.hold.item.part.number, row.pick_list.number): row.tray for row in JobHold.objects.all()}
    assert (rows["A-111", 1], rows["A-111", 2], rows["A-101", 2]) == (1, 2, 0)
    record = full_record(pick_list(second["pick_list"]))
    assert [tray["tray"] for tray in record["trays"]] == [2]
    assert {held["part"]: held["trays"] for held in record["walk"]}["A-503"] == [2]


def test_tools_are_of_what_a_list_holds_or_misses():
    shelve({"A-111": 4, "G-708": 1})
    shelve_sets("A-101", "S-1")
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    assert {"tool": "height gauge", "steps": ["P1/10"]} in hold(job, steps=["P1/10"])["tools"]
    done(record_findings, job="J1", findings=[FindingIn("liner-lifted", "CYL-3")])
    assert hold(job, steps=["P1/10"])["tools"] == [{"tool": "liner hold-down clamp", "steps": ["P1/10"]}]


def test_poured_parts_are_weighed_and_a_tube_for_several_joints_is_counted_once():
    shelve({"G-706": 10, "A-901": 1, "G-701": 2})
    job = book(operations=["P3"], findings=[("carrier-off", "ENGINE")])
    body = hold(job)
    by_number = {line.number: line for line in listed(job).lines}
    (tray,) = body["cart"]["trays"]
    beads = [one for one in tray["lines"] if by_number[one["line"]].part == "G-701"]
    assert [(by_number[one["line"]].step, one["pieces"]) for one in beads] == [(10, 1), (30, 1)]
    parts = {part.number: part for part in Part.objects.all()}
    pieces = sum(parts[one.part].weight_mg * one.amount for one in by_number.values() if one.base == "piece")
    oil = 5_200_000 * 880 // 1000  # µL by mg/mL: 4.576 kg
    assert tray["weight_g"] == round((pieces + oil + parts["G-701"].weight_mg) / 1000)
    assert tray["not_weighed"] == []


def test_where_nothing_can_be_held_no_list_is_made_however_often_it_is_asked():
    job = book(findings=TWO)
    for _ in range(3):
        body = done(hold_kit, job="J1", steps=["P1/10"])
        assert (body["pick_list"], body["number"], body["held"], body["tools"]) == (None, None, [], [])
        assert body["cart"] == {"trays": [], "floor": []}
        assert {row["part"]: row["amount"] for row in body["shorts"]} == {"A-111": 2, "G-708": 1}
    assert (PickList.objects.count(), JobHold.objects.count()) == (0, 0)
    job.refresh_from_db()
    assert job.version == 1
    shelve({"A-111": 2, "G-708": 1})
    body = hold(job, steps=["P1/10"])
    assert (body["number"], body["shorts"]) == (1, [])
    take(body)
    assert give(body).body["missing"] == []


def test_what_stock_decided_is_kept_only_once_something_is_held():
    job = book("J1", engine="A4-020443", findings=[("head-off", "ENGINE")])
    assert hold(job, steps=["P1/50"])["pick_list"] is None
    assert job.choices.count() == 0
    shelve({"A-201": 1, "A-501": 10})
    assert {row["part"] for row in hold(job, steps=["P1/50"])["held"]} == {"A-201", "A-501"}


def test_candidates_lie_in_the_tray_of_their_step_and_what_waits_for_the_owner_in_none():
    shelve(dict.fromkeys(("A-401", "A-402", "A-403"), 4) | {"A-504": 2, "G-709": 1})
    job = book(findings=[("coolant-in-oil", "ENGINE"), ("main-bolt-rejected", "MAIN-1/bolt-1")])
    bolt = FindingIn("main-bolt-rejected", "MAIN-1/bolt-2")
    done(record_findings, job="J1", findings=[bolt], extra_work=True)
    body = hold(job, steps=["P1/15"])
    its = listed(job)
    every = sorted((*its.lines, *its.candidates), key=lambda line: line.number)
    assert [line.number for line in every] == list(range(1, len(every) + 1))
    here = [line for line in every if line.step == 15]
    (tray,) = body["cart"]["trays"]
    assert [(one["line"], one["pieces"]) for one in tray["lines"]] == [(line.number, line.amount) for line in here]
    by_part = {line.part: line for line in here}
    assert [by_part[part].on_approval for part in ("A-401", "A-402", "A-403")] == [True, True, True]
    assert by_part["A-504"].amount == 1  # the other waits for the owner: not on the list, and in no tray
    weights = {
        part.number: part.weight_mg * by_part[part.number].amount
        for part in Part.objects.all()
        if part.number in by_part
    }
    assert tray["weight_g"] == round(sum(weights.values()) / 1000)
    assert {row["tray"] for row in body["held"] if row["on_approval"]} == {1}
    record = full_record(pick_list(body["pick_list"]))
    shown = {line["part"]: line for line in record["trays"][0]["lines"]}
    assert (shown["A-401"]["on_approval"], shown["A-504"]["on_approval"]) == (True, False)
    assert sum(held["amount"] for held in shown["A-401"]["held"]) == 4
    assert {held["part"]: held["trays"] for held in record["walk"]} == dict.fromkeys(
        by_part.keys() & {held["part"] for held in body["held"]}, [1]
    )
    assert {held["part"] for held in record["candidates"]} == {"A-401", "A-402", "A-403"}
