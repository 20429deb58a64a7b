"""What the strip finds, removes and inspects, over HTTP."""

import uuid

import pytest

from inventory.models import Act, Balance, Item, Serial
from kits.models import Found, Inspection

pytestmark = pytest.mark.django_db


def in_engine():
    rows = Balance.objects.filter(place__code="T4-00211", amount__gt=0)
    return sorted(rows.values_list("part__number", "spot__name", "amount"))


FINDS = {
    "finds": [
        {"position": "CYL-1/set", "part": "SET", "serial": "S-77", "condition": "scored"},
        {"position": "LIFTER-3/lifter", "part": "LIFTER", "whose": "shop"},
        {"position": "OIL/fill", "part": "OIL", "amount": "3.5 L"},
    ]
}


def test_finds_stand_in_the_engine_as_far_as_they_are_known(rebuild):
    rebuild.booked()
    key = uuid.uuid4()
    body = rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS, key=key)
    assert [(row["position"], row["part"], row["known"]) for row in body["found"]] == [
        ("CYL-1/set", "SET", True),
        ("LIFTER-3/lifter", "LIFTER", False),
        ("OIL/fill", "OIL", False),
    ]
    there = [("LIFTER", "LIFTER-3/lifter", 1), ("OIL", "OIL/fill", 3_500_000), ("SET", "CYL-1/set", 1)]
    assert in_engine() == there
    assert rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS, key=key) == body
    assert (in_engine(), Found.objects.count()) == (there, 3)
    contents = rebuild.manager.read("engines/T4-00211/contents").json()
    assert [row["position"] for row in contents["contents"]] == ["CYL-1/set", "LIFTER-3/lifter", "OIL/fill"]


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"part": "LIFTER", "serial": "L-1"}, "serial-not-kept"),
        ({"part": "SET", "lot": "B"}, "serial-missing"),
        ({"part": "SET", "serial": "S-9", "amount": 2}, "serial-is-one"),
    ],
)
def test_what_is_told_apart_otherwise_is_refused_by_name(rebuild, more, code):
    rebuild.booked()
    answer = rebuild.technician.send("jobs/J-1/finds", {"finds": [{"position": "CYL-2/set", **more}]})
    assert (answer.status_code, answer.json()["code"], in_engine()) == (422, code, [])


def test_a_serial_found_in_another_spelling_is_the_one_on_record(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    (row,) = Serial.objects.filter(number="S-77")
    other = {"finds": [{"position": "CYL-2/set", "part": "SET", "serial": "s 77"}]}
    refused = rebuild.technician.send("jobs/J-1/finds", other)
    assert (refused.status_code, refused.json()["code"]) == (409, "serial-elsewhere")
    # Somebody who holds both in hand says so.
    other["finds"][0]["another_serial"] = True
    body = rebuild.did(rebuild.technician, "jobs/J-1/finds", other)
    assert (body["found"][0]["serial"], row.number) == ("s 77", "S-77")
    assert sorted(Serial.objects.filter(compare_key="S77").values_list("number", flat=True)) == ["S-77", "s 77"]


def test_a_serial_found_that_looks_like_one_on_record_is_asked_about(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    other = {"finds": [{"position": "CYL-2/set", "part": "SET", "serial": "5-77"}]}
    refused = rebuild.technician.send("jobs/J-1/finds", other).json()
    assert (refused["code"], refused["values"]["known"]) == ("spelling-ambiguous", ["S-77"])
    other["finds"][0]["another_serial"] = True
    assert rebuild.did(rebuild.technician, "jobs/J-1/finds", other)["found"][0]["serial"] == "5-77"


def test_a_lot_found_that_looks_like_one_on_record_is_asked_about(rebuild):
    rebuild.booked()
    found = {"finds": [{"position": "CYL-1/ring", "part": "RING", "lot": "RING/I"}]}
    refused = rebuild.technician.send("jobs/J-1/finds", found).json()
    assert (refused["code"], refused["values"]["known"]) == ("spelling-ambiguous", ["RING/1"])
    found["finds"][0]["another_lot"] = True
    assert rebuild.did(rebuild.technician, "jobs/J-1/finds", found)["found"][0]["lot"] == "RING/I"


def test_a_word_taken_back_or_turned_after_the_old_part_is_in_keeps_the_job_open(rebuild):
    bad = {"code": "lifter-bad", "place": "VALVE-1"}
    rebuild.booked(operations=["T1", "T2"], findings=[bad])
    place, work = "LIFTER-1/lifter", rebuild.technician
    (found,) = rebuild.did(work, "jobs/J-1/finds", {"finds": [{"position": place, "part": "LIFTER"}]})["found"]
    rebuild.did(work, "jobs/J-1/removals", {"removals": [{"position": place}]})

    def inspected(good):
        line = {"position": place, "limit": "flat", "result": "seen", "good": good, "item": found["item"]}
        rebuild.did(rebuild.inspector, "jobs/J-1/inspections", {"inspections": [line]})

    def not_inspected():
        rows = work.read("jobs/J-1/open-lines").json()["open"]
        return [row["position"] for row in rows if row["what"] == "used again, not inspected"]

    inspected(True)
    word = Act.objects.get(kind="inspect").pk
    fitting = {"position": place, "item": found["item"]}
    rebuild.did(work, "jobs/J-1/fittings", {"fittings": [fitting], "checker": rebuild.inspector.person.username})
    assert not_inspected() == []
    rebuild.did(rebuild.manager, f"acts/{word}/corrections", {"reason": "another lifter"})
    assert not_inspected() == [place]
    inspected(True)
    assert not_inspected() == []
    inspected(False)
    assert not_inspected() == [place]


def test_nothing_goes_back_by_a_correction_into_a_position_that_was_filled_since(rebuild):
    rebuild.booked()
    place, work = "LIFTER-3/lifter", rebuild.technician
    rebuild.did(work, "jobs/J-1/finds", {"finds": [{"position": place, "part": "LIFTER", "whose": "shop"}]})
    rebuild.did(work, "jobs/J-1/removals", {"removals": [{"position": place}]})
    removal = Act.objects.get(kind="remove").pk
    rebuild.did(work, "jobs/J-1/finds", {"finds": [{"position": place, "part": "LIFTER"}]})
    back = rebuild.manager.send(f"acts/{removal}/corrections", {"reason": "it was still in"})
    assert (back.status_code, back.json()["code"]) == (409, "position-taken")
    assert (back.json()["values"]["position"], in_engine()) == (place, [("LIFTER", place, 1)])
    other = Act.objects.filter(kind="find in engine").latest("pk").pk
    rebuild.did(rebuild.manager, f"acts/{other}/corrections", {"reason": "it was the same"})
    rebuild.did(rebuild.manager, f"acts/{removal}/corrections", {"reason": "it was still in"})
    assert in_engine() == [("LIFTER", place, 1)]


def test_what_comes_out_keeps_where_it_was(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    removals = [
        {"position": "CYL-1/set", "to": "scrap", "reason": "scored"},
        {"position": "LIFTER-3/lifter"},
        {"position": "OIL/fill", "to": "scrap", "amount": 500_000},
    ]
    body = rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": removals})
    assert [(row["position"], row["serial"], row["amount"], row["to"]) for row in body["removed"]] == [
        ("CYL-1/set", "S-77", 1, "scrap"),
        ("LIFTER-3/lifter", "", 1, "bench"),
        ("OIL/fill", "", 500_000, "scrap"),
    ]
    assert in_engine() == [("OIL", "OIL/fill", 3_000_000)]


def test_an_inspected_part_goes_back_and_its_position_is_off_the_list(rebuild):
    findings = [{"code": "lifter-bad", "place": "VALVE-3"}]
    rebuild.booked(operations=["T2"], findings=findings)
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    lifter = rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "LIFTER-3/lifter"}]})
    item = lifter["removed"][0]["item"]
    assert [row["part"] for row in rebuild.manager.read("jobs/J-1/list").json()["lines"]] == ["LIFTER"]
    said = {
        "position": "LIFTER-3/lifter",
        "item": item,
        "limit": "face flat to 0.01 mm",
        "result": "flat",
        "good": True,
    }
    body = rebuild.did(rebuild.inspector, "jobs/J-1/inspections", {"inspections": [said]})
    assert body == {"inspected": [{"position": "LIFTER-3/lifter", "good": True, "gauge": "", "gauge_state": ""}]}
    listed = rebuild.manager.read("jobs/J-1/list").json()
    assert (listed["lines"], listed["reused"]) == ([], [{"position": "LIFTER-3/lifter", "part": "LIFTER"}])


def test_more_than_a_position_takes_is_asked_about_with_the_number_that_it_takes(rebuild):
    rebuild.booked()
    find = {"position": "COVER-LEFT/gasket", "part": "COVER-RUBBER", "amount": 50}
    answer = rebuild.technician.send("jobs/J-1/finds", {"finds": [find]})
    assert answer.status_code == 422
    (line,) = answer.json()["lines"]
    assert (line["code"], line["values"]["listed"], line["values"]["asked"]) == ("more-than-listed", 1, 50)
    assert line["detail"] == "COVER-LEFT/gasket takes 1 of COVER-RUBBER by the parts lines, and 50 were found there."
    assert line["ways_out"][-1] == "Say why there are more (`why_more`)."
    assert in_engine() == []
    # A space is no reason; two that were laid on each other are.
    blank = rebuild.technician.send("jobs/J-1/finds", {"finds": [find | {"amount": 2, "why_more": "  "}]})
    assert (blank.status_code, in_engine()) == (422, [])
    why = "one laid upon the other"
    (found,) = rebuild.did(
        rebuild.technician, "jobs/J-1/finds", {"finds": [find | {"amount": "2 EA", "why_more": why}]}
    )["found"]
    assert (found["why_more"], in_engine()) == (why, [("COVER-RUBBER", "COVER-LEFT/gasket", 2)])
    assert Act.objects.get(kind="find in engine", outcome__isnull=False).reason == f"COVER-LEFT/gasket: {why}"


def one(name, **more):
    said = {
        "finds": {"position": "CYL-1/set", "part": "SET", "serial": "S-77"},
        "removals": {"position": "CYL-1/set"},
        "inspections": {"position": "CYL-1/set", "limit": "0.1", "result": "0.05", "good": True},
    }[name]
    return {name: [said | more]}


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("finds", {"finds": []}, 422, "nothing-given"),
        ("finds", one("finds", part="NO-SUCH"), 404, "not-found"),
        ("finds", one("finds", position="CYL-9/set"), 422, "position-unknown"),
        ("finds", one("finds", amount="half"), 422, "quantity-unreadable"),
        ("finds", one("finds", amount=-1), 422, "amount-not-positive"),
        ("finds", one("finds", amount="2 mm"), 422, "quantity-wrong-dimension"),
        ("finds", one("finds", amount=50), 422, "serial-is-one"),
        (
            "finds",
            one("finds", position="LIFTER-1/lifter", part="LIFTER", serial="", amount=50),
            422,
            "more-than-listed",
        ),
        ("finds", one("finds", whose="nobody"), 400, "fields-wrong"),
        ("removals", {"removals": []}, 422, "nothing-given"),
        ("removals", one("removals"), 409, "position-empty"),
        ("removals", one("removals", position="CYL-9/set"), 422, "position-unknown"),
        ("removals", one("removals", to="NOWHERE"), 404, "not-found"),
        ("removals", one("removals", to="R1"), 422, "wrong-place"),
        ("removals", one("removals", amount=0), 400, "fields-wrong"),
        ("inspections", {"inspections": []}, 422, "nothing-given"),
        ("inspections", one("inspections", position="CYL-9/set"), 422, "position-unknown"),
        ("inspections", one("inspections", result=" "), 400, "fields-wrong"),
        ("inspections", one("inspections", item=999), 404, "not-found"),
        ("inspections", one("inspections", gauge="G-404"), 404, "not-found"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().technician.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert (in_engine(), Inspection.objects.count(), Item.objects.filter(serial__number="S-77").count()) == ([], 0, 0)


def test_a_position_holds_one_thing(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    answer = rebuild.technician.send("jobs/J-1/finds", one("finds", serial="S-78"))
    assert (answer.status_code, answer.json()["code"]) == (409, "position-taken")
    answer = rebuild.technician.send("jobs/J-1/removals", one("removals", to="scrap"))
    assert (answer.status_code, answer.json()["code"]) == (422, "reason-missing")


def test_what_came_out_does_not_go_back_by_a_word_where_something_else_was_put_since(rebuild):
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/finds", FINDS)
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "CYL-1/set", "to": "bench"}]})
    taken_out = Act.objects.latest("pk").pk
    other = {"finds": [{"position": "CYL-1/set", "part": "SET", "serial": "S-78"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/finds", other)
    there, path = in_engine(), f"acts/{taken_out}/corrections"
    refused = rebuild.manager.send(path, {"reason": "the other engine"})
    assert (refused.status_code, refused.json()["code"]) == (409, "position-taken")
    assert in_engine() == there
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "CYL-1/set", "to": "bench"}]})
    rebuild.did(rebuild.manager, path, {"reason": "the other engine"})
    assert in_engine() == there


@pytest.mark.parametrize("path", ["finds", "removals", "inspections"])
def test_who_may_and_keys(rebuild, path):
    rebuild.booked()
    assert rebuild.storekeeper.send(f"jobs/J-1/{path}", one(path)).json()["code"] == "not-allowed"
    assert rebuild.technician.send(f"jobs/J-1/{path}", one(path), key="").json()["code"] == "key-missing"
