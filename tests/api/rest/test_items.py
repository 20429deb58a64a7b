"""`items` and `matched-sets`: what things are, where they stand, and a set that breaks."""

import pytest

from inventory.models import Item, SetBreak
from inventory.services.receive import SetLabel
from tests.factories.stores import PartFactory, quarantine, shelf, stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def sets():
    shelf("R1")
    quarantine("Q1")
    part = PartFactory(number="S-1", tracked_by="set", unit="SET", kind="matched set")
    stock(
        part, serial="S-0441", set_label=SetLabel(weight_mg=416_000, weighed="with pin", bore_nm=86_000_000, grade="B")
    )
    stock(part, serial="S-0442")
    return part


def serials(rows):
    return [row["serial"] for row in rows]


def test_a_set_says_what_its_label_says_and_where_it_stands(sets, manager):
    body = manager.read("matched-sets/s 0441").json()
    stands = body.pop("stands")
    assert body == {
        "part": "S-1",
        "serial": "S-0441",
        "weight_mg": 416_000,
        "weighed": "with pin",
        "bore_nm": 86_000_000,
        "piston_nm": None,
        "grade": "B",
        "liner_mark": "",
        "piston_mark": "",
        "photo": "",
        "broken": False,
        "damaged": "",
        "missing": [],
        "matched_again": False,
        "labels": [],
    }
    assert [(one["place"], one["amount"]["shown"], one["free"]["amount"]) for one in stands] == [("R1", "1 set", 1)]


def test_a_broken_set_stays_broken_and_its_good_members_lie_in_quarantine(sets, client_of):
    technician = client_of("technician")
    body = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "photo_ref": "photo 12"}
    answer = technician.send("matched-sets/S-0441/breaks", body)
    assert (answer.status_code, answer.json()["damaged"]) == (201, "liner")
    read = technician.read("matched-sets/S-0441").json()
    assert (read["broken"], read["damaged"]) == (True, "liner")
    members = {technician.read(f"items/{one['item']}").json()["member"]: one["place"] for one in read["stands"]}
    assert members == {"piston": "Q1", "pin": "Q1"}
    again = technician.send("matched-sets/S-0441/breaks", body)
    assert again.json()["code"] == "set-broken"
    assert serials(technician.rows("matched-sets", broken="true")) == ["S-0441"]
    assert serials(technician.rows("matched-sets", broken="false")) == ["S-0442"]


def test_a_set_that_breaks_on_a_cart_leaves_its_job_short_by_name(rebuild):
    quarantine("Q1")
    rebuild.booked().held().picked()
    (serial,) = (one["serial"] for one in rebuild.said["held"]["held"] if one["part"] == "SET")
    body = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "photo_ref": "photo 12"}
    (short,) = rebuild.did(rebuild.technician, f"matched-sets/{serial}/breaks", body)["shorts"]
    assert (short["for"], short["part"], short["amount"]) == ("cart J-1", "SET", 1)
    assert short["why"] == f"set {serial} was broken: dropped"
    (raised,) = rebuild.technician.read("jobs/J-1/shorts").json()["raised"]
    assert (raised["part"], raised["amount"], raised["why"]) == ("SET", 1, short["why"])
    # It serves its bore no longer: another set is held for it.
    held = rebuild.did(rebuild.technician, "jobs/J-1/holds", {})["held"]
    assert [(one["part"], one["serial"] != serial) for one in held] == [("SET", True)]


def test_a_set_whose_box_held_half_of_it_is_broken_until_the_other_half_is_counted(sets, client_of):
    technician, apprentice = client_of("technician"), client_of("apprentice")
    body = {"missing": ["piston", "pin"], "reason": "the box held a liner", "orphan_place": "Q1"}
    answer = technician.send("matched-sets/S-0441/breaks", body).json()
    assert [(one["member"], one["place"]) for one in answer["missing"]] == [("piston", ""), ("pin", "")]
    read = technician.read("matched-sets/S-0441").json()
    assert (read["broken"], read["damaged"], read["missing"]) == (True, "", ["piston", "pin"])
    assert [one["place"] for one in read["stands"]] == ["Q1"]
    told = technician.read("matched-sets/S-0441/history").json()
    assert (told["whole"], told["missing"], told["broken_why"]) == (False, ["piston", "pin"], "the box held a liner")
    lines = [{"item": one["item"], "counted": 1, "counted_again": 1} for one in answer["missing"]]
    found = {"place": "Q1", "lines": lines, "second": technician.person.username, "reason": "behind the rack"}
    counted = apprentice.send("counts", found).json()
    assert [line["said"] for line in counted["lines"]] == ["found", "found"]
    again = technician.read("matched-sets/S-0441").json()
    assert (again["broken"], [one["place"] for one in again["stands"]]) == (True, ["Q1"] * 3)


def test_damage_is_asked_for_its_photo(sets, client_of):
    technician = client_of("technician")
    body = {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1"}
    asked = technician.send("matched-sets/S-0441/breaks", body)
    assert (asked.status_code, asked.json()["code"]) == (422, "photo-asked")
    assert asked.json()["detail"] == "Where is the photo of the liner of set S-0441 kept?"
    answer = technician.send("matched-sets/S-0441/breaks", body | {"no_photo": "hands full"})
    assert (answer.json()["photo"], answer.json()["no_photo"]) == ("", "hands full")


@pytest.mark.parametrize(
    ("path", "body", "code"),
    [
        ("matched-sets/S-O441/breaks", {}, "not-found"),
        ("matched-sets/S-0441/breaks", {"damaged": "ring"}, "fields-wrong"),
        ("matched-sets/S-0441/breaks", {"reason": " "}, "fields-wrong"),
        ("matched-sets/S-0441/breaks", {"orphan_place": "R1"}, "wrong-place"),
        ("matched-sets/S-0441/breaks", {"orphan_place": "Q9"}, "not-found"),
        ("matched-sets/S-0441/breaks?part=P-9", {}, "not-found"),
        ("matched-sets/S-0441/breaks?piece=liner", {}, "parameter-unknown"),
    ],
)
def test_what_cannot_be_broken_is_named(sets, client_of, path, body, code):
    answer = client_of("technician").send(
        path, {"damaged": "liner", "reason": "dropped", "orphan_place": "Q1", "photo_ref": "photo 12"} | body
    )
    assert answer.json()["code"] == code
    assert SetBreak.objects.count() == 0


def test_a_serial_of_two_parts_asks_which(sets, manager):
    stock(PartFactory(number="S-2", tracked_by="set", unit="SET"), serial="S-0441")
    answer = manager.read("matched-sets/S-0441")
    assert (answer.status_code, answer.json()["code"]) == (409, "serial-ambiguous")
    assert [one["part"] for one in answer.json()["values"]["sets"]] == ["S-1", "S-2"]
    assert manager.read("matched-sets/S-0441", part="S-2").json()["part"] == "S-2"
    assert manager.read("matched-sets/S-0441/history").json()["code"] == "serial-ambiguous"
    assert manager.read("matched-sets/S-0441/history", part="S-2").json()["part"] == "S-2"


def test_an_unknown_set_is_answered_with_its_near_misses(sets, manager):
    answer = manager.read("matched-sets/S-O441").json()
    assert (answer["code"], answer["values"]["near"]) == ("not-found", ["S-0441"])
    assert answer["detail"] == "There is no matched set S-O441. Near: S-0441."


def test_filters_of_sets(sets, manager):
    assert serials(manager.rows("matched-sets")) == ["S-0441", "S-0442"]
    assert serials(manager.rows("matched-sets", ordering="-serial__number")) == ["S-0442", "S-0441"]
    assert serials(manager.rows("matched-sets", serial="S-0442")) == ["S-0442"]
    assert serials(manager.rows("matched-sets", grade="B")) == ["S-0441"]
    assert serials(manager.rows("matched-sets", part="S-2")) == []
    assert serials(manager.rows("matched-sets", search="0442")) == ["S-0442"]
    assert serials(manager.rows("matched-sets", search="s 0442")) == ["S-0442"]
    assert serials(manager.rows("matched-sets", search="S-0443")) == ["S-0441", "S-0442"]
    assert serials(manager.rows("matched-sets", search="S-O442"))[0] == "S-0442"


def test_an_item_says_what_it_is_and_what_happened_to_it(sets, manager):
    item = Item.objects.get(serial__number="S-0442")
    body = manager.read(f"items/{item.pk}").json()
    told = {name: body[name] for name in ("id", "part", "identity", "serial", "member", "from_kit", "base", "stopped")}
    assert told == {
        "id": item.pk,
        "part": "S-1",
        "identity": "serial=S-0442",
        "serial": "S-0442",
        "member": "",
        "from_kit": None,
        "base": "piece",
        "stopped": False,
    }
    steps = manager.read(f"items/{item.pk}/history").json()["steps"]
    assert [(step["said"], step["to_place"], step["amount"]) for step in steps] == [
        ("received from the supplier", "R1", 1)
    ]
    history = manager.read("matched-sets/S-0442/history").json()
    assert (history["whole"], history["now"][0]["place"], history["steps"]) == (True, "R1", steps)


def test_one_item_is_stopped_and_freed(sets, manager):
    item = Item.objects.get(serial__number="S-0442")
    stop = manager.send(f"items/{item.pk}/stops", {"reason": "chipped?"}).json()["stop"]
    assert manager.read(f"items/{item.pk}").json()["stopped"] is True
    assert manager.send(f"items/{item.pk}/frees", {"stop": stop, "reason": "only dirt"}).status_code == 201
    assert manager.read(f"items/{item.pk}").json()["stopped"] is False


def test_filters_of_items(sets, manager):
    stock(PartFactory(number="P-1"), 4, lot="L-1")
    assert [row["identity"] for row in manager.rows("items", part="P-1")] == ["lot=L-1"]
    assert [row["identity"] for row in manager.rows("items", lot="L-1")] == ["lot=L-1"]
    assert [row["identity"] for row in manager.rows("items", serial="S-0442")] == ["serial=S-0442"]
    assert manager.rows("items", tube="T-1") == []


@pytest.mark.parametrize("path", ["items/999", "items/999/history", "items/abc"])
def test_an_unknown_item_is_not_found(manager, path):
    assert manager.read(path).json()["code"] == "not-found"


def test_lists_of_three_cost_as_many_queries_as_lists_of_one(manager, django_assert_num_queries):
    shelf("R1")
    part = PartFactory(number="S-1", tracked_by="set", unit="SET")
    manager.rows("items")
    stock(part, serial="1")
    for path in ("items", "matched-sets"):
        with django_assert_num_queries(2):
            assert len(manager.rows(path)) == 1
    stock(part, serial="2")
    stock(PartFactory(number="S-2", tracked_by="set", unit="SET"), serial="3")
    for path in ("items", "matched-sets"):
        with django_assert_num_queries(2):
            assert len(manager.rows(path)) == 3
