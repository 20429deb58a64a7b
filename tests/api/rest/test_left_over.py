"""Extras, returns, scrap, positions that get nothing, and tools counted back, over HTTP."""

import uuid

import pytest

from inventory.models import Act, Balance
from kits.models import Extra, NotNeeded

pytestmark = pytest.mark.django_db


def at_bench(number):
    return sum(Balance.objects.filter(place__code="bench J-1", part__number=number).values_list("amount", flat=True))


def test_one_more_is_held_on_a_list_of_its_own(rebuild):
    rebuild.at_bench()
    key, said = uuid.uuid4(), {"part": "RING", "amount": "1 EA", "reason": "dropped", "positions": ["CYL-1/ring"]}
    body = rebuild.did(rebuild.technician, "jobs/J-1/extras", said, key=key)
    assert (body["number"], body["short"], body["why"]) == (2, 0, "")
    assert [(row["lot"], row["place"], row["amount"]) for row in body["held"]] == [("RING/1", "R1", 1)]
    assert rebuild.did(rebuild.technician, "jobs/J-1/extras", said, key=key) == body
    assert Extra.objects.count() == 1
    listed = rebuild.storekeeper.read(f"pick-lists/{body['pick_list']}").json()
    assert (listed["extra"]["reason"], [held["part"] for held in listed["loose"]]) == ("dropped", ["RING"])
    page = rebuild.storekeeper.read(f"pick-lists/{body['pick_list']}", format="html").content.decode()
    assert "asked for in mid-job: RING, dropped, for CYL-1/ring." in page


def test_one_more_that_is_not_there_is_a_short_by_name(rebuild):
    rebuild.booked()
    said = {"part": "LIFTER", "amount": 5, "reason": "wrong on list"}
    body = rebuild.did(rebuild.technician, "jobs/J-1/extras", said)
    assert (body["short"], sum(row["amount"] for row in body["held"])) == (3, 2)
    listed = rebuild.storekeeper.read(f"pick-lists/{body['pick_list']}").json()
    assert [(row["part"], row["amount"]) for row in listed["missing"]] == [("LIFTER", 3)]


def test_what_is_scrapped_off_the_cart_is_short_until_the_scrap_is_taken_back(rebuild):
    rebuild.booked().held().picked()
    said = {"item": rebuild.item("RING"), "amount": 1, "origin": "cart", "reason": "cut", "who_pays": "shop"}
    (short,) = rebuild.did(rebuild.technician, "jobs/J-1/scraps", said)["shorts"]
    assert (short["for"], short["part"], short["amount"], short["why"]) == ("cart J-1", "RING", 1, "scrapped: cut")

    def raised():
        return [(row["part"], row["amount"]) for row in rebuild.technician.read("jobs/J-1/shorts").json()["raised"]]

    assert raised() == [("RING", 1)]
    act = Act.objects.get(kind="scrap on job").pk
    rebuild.did(rebuild.manager, f"acts/{act}/corrections", {"reason": "it was another one"})
    assert raised() == []


def back(rebuild, part, identity=None, client=None, **more):
    said = {"item": rebuild.item(part, identity), "amount": 1, "bag_sealed": True} | more
    return (client or rebuild.technician).send("jobs/J-1/returns", {"returns": [said]})


def test_a_sealed_bag_goes_back_to_its_shelf_and_an_open_one_to_scrap(rebuild):
    rebuild.at_bench()
    (row,) = back(rebuild, "RING").json()["returned"]
    assert (row["part"], row["to"], row["place"], row["overruled"], row["from"]) == (
        "RING",
        "stock",
        "R1",
        False,
        "bench J-1",
    )
    assert at_bench("RING") == 0
    (row,) = back(rebuild, "SHELL-STD", bag_sealed=False).json()["returned"]
    assert (row["to"], row["place"]) == ("scrap", "")
    rebuild.held()
    assert [row["part"] for row in rebuild.said["held"]["held"]] == ["RING", "SHELL-STD"]


def test_an_opened_tube_comes_back_whole(rebuild):
    """Else the books had one tube in two places."""
    rebuild.at_bench()
    opening = {"place": "bench J-1", "tube": "T-1", "subject": "J-1"}
    rebuild.did(rebuild.technician, f"items/{rebuild.item('SEALANT', 'lot=SEALANT/1')}/openings", opening)
    tube = "lot=SEALANT/1|tube=T-1"
    (line,) = back(rebuild, "SEALANT", tube, amount="10 mL").json()["lines"]
    assert (line["code"], line["values"]["there"], line["values"]["asked"]) == ("not-whole", 80_000, 10_000)
    rebuild.did(rebuild.technician, "tubes/T-1/weighings", {"weight": "24.7 g"})  # 11.5 g empty, 1.32 g/mL: 10 mL
    (row,) = back(rebuild, "SEALANT", tube, amount="10 mL").json()["returned"]
    assert (row["to"], row["place"]) == ("open-tube bin", "R2")
    held = Balance.objects.filter(item__tube__number="T-1", real=True, amount__gt=0)
    assert list(held.values_list("place__code", "amount")) == [("R2", 10_000)]


def test_only_the_parts_manager_overrules_the_table(rebuild):
    rebuild.at_bench()
    other = {"bag_sealed": False, "override_to": "stock", "override_reason": "opened here, never laid down"}
    answer = back(rebuild, "SHELL-STD", **other)
    assert (answer.status_code, answer.json()["code"]) == (422, "return-override-refused")
    (row,) = back(rebuild, "SHELL-STD", client=rebuild.manager, **other).json()["returned"]
    assert (row["to"], row["place"], row["overruled"]) == ("stock", "R1", True)


def test_scrapped_with_its_reason_and_who_pays(rebuild):
    rebuild.at_bench()
    key = uuid.uuid4()
    said = {
        "item": rebuild.item("NEW-BOLT"),
        "amount": "2 EA",
        "reason": "thread torn",
        "who_pays": "shop",
        "destroyed": True,
    }
    body = rebuild.did(rebuild.technician, "jobs/J-1/scraps", said, key=key)
    assert body == {
        "job": "J-1",
        "item": said["item"],
        "part": "NEW-BOLT",
        "identity": "-",
        "amount": 2,
        "base": "piece",
        "typed": "2 EA",
        "from": "bench J-1",
        "reason": "thread torn",
        "who_pays": "shop",
        "photo": "",
        "no_photo": "",
        "destroyed": True,
        "shorts": [],
    }
    assert rebuild.did(rebuild.technician, "jobs/J-1/scraps", said, key=key) == body
    assert at_bench("NEW-BOLT") == 8


def test_positions_that_get_nothing_leave_the_list(rebuild):
    rebuild.booked()
    said = {"positions": [{"position": "SUMP/washer", "because": "the plug has a captive ring"}]}
    body = rebuild.did(rebuild.technician, "jobs/J-1/not-needed", said)
    assert body == {"not_needed": {"SUMP/washer": "the plug has a captive ring"}}
    listed = rebuild.technician.read("jobs/J-1/list").json()
    assert "WASHER" not in [row["part"] for row in listed["lines"]]
    assert listed["not_needed"] == [{"position": "SUMP/washer", "because": "the plug has a captive ring"}]


def test_a_position_that_gets_nothing_is_asked_for_anew_by_what_was_not_known(rebuild):
    """Here the sump is opened by another procedure too. A finding that asks for the washer by what was known changes nothing."""
    rebuild.booked()
    seal = {"positions": [{"position": "VALVE-1/stem-seal", "because": "the valve stays in"}]}
    early = rebuild.technician.send("jobs/J-1/not-needed", seal)
    assert (early.status_code, early.json()["code"]) == (422, "not-on-list")
    said = {"positions": [{"position": "SUMP/washer", "because": "the plug has a captive ring"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", said)
    word = [{"position": "SUMP/washer", "because": "the plug has a captive ring"}]
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "chosen", "place": "CYL-2"}]})
    assert rebuild.technician.read("jobs/J-1/list").json()["not_needed"] == word
    act = rebuild.did(rebuild.manager, "jobs/J-1/operations", {"operations": ["T3"]})
    assert act["operations"] == [{"procedure": "T3", "revision": 1}]
    listed = rebuild.technician.read("jobs/J-1/list").json()
    assert listed["not_needed"] == []
    assert "WASHER" in [row["part"] for row in listed["lines"]]
    assert "SUMP/washer" in [row["position"] for row in rebuild.technician.read("jobs/J-1/open-lines").json()["open"]]
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", said)
    assert rebuild.technician.read("jobs/J-1/list").json()["not_needed"] == word


def test_tools_are_counted_back(rebuild):
    rebuild.at_bench()
    body = rebuild.did(rebuild.storekeeper, "jobs/J-1/tool-returns", {"tools": ["bead gun"]})
    assert body == {"back": ["bead gun"], "still_out": []}
    answer = rebuild.storekeeper.send("jobs/J-1/tool-returns", {"tools": ["bead gun"]})
    assert (answer.status_code, answer.json()["code"]) == (422, "not-on-loan")


EXTRA = {"part": "RING", "amount": 1, "reason": "dropped"}
SCRAP = {"item": 1, "amount": 1, "reason": "torn", "who_pays": "shop"}
WASHER = {"position": "SUMP/washer", "because": "so"}


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("extras", EXTRA | {"reason": "because"}, 422, "reason-missing"),
        ("extras", EXTRA | {"part": "NO-SUCH"}, 404, "not-found"),
        ("extras", EXTRA | {"amount": "1,5 EA"}, 422, "quantity-unreadable"),
        ("extras", EXTRA | {"amount": 0}, 422, "amount-not-positive"),
        ("extras", EXTRA | {"positions": ["CYL-9/ring"]}, 422, "position-unknown"),
        ("returns", {"returns": []}, 422, "nothing-given"),
        ("returns", {"returns": [{"item": 99_999, "amount": 1}]}, 404, "not-found"),
        ("returns", {"returns": [{"item": 1, "amount": 1}]}, 409, "not-there"),
        ("returns", {"returns": [{"item": 1, "amount": 1, "origin": "pocket"}]}, 400, "fields-wrong"),
        ("scraps", SCRAP | {"item": 99_999}, 404, "not-found"),
        ("scraps", SCRAP | {"who_pays": "nobody"}, 400, "fields-wrong"),
        ("scraps", SCRAP | {"reason": ""}, 400, "fields-wrong"),
        ("not-needed", {"positions": []}, 400, "fields-wrong"),
        ("not-needed", {"positions": [WASHER, WASHER]}, 400, "fields-wrong"),
        ("not-needed", {"positions": [WASHER | {"position": "SUMP/lid"}]}, 422, "position-unknown"),
        ("tool-returns", {"tools": ["hammer"]}, 422, "not-on-loan"),
        ("tool-returns", {"tools": []}, 400, "fields-wrong"),
    ],
)
def test_what_cannot_be_is_refused_by_name(rebuild, path, body, status, code):
    answer = rebuild.booked().technician.send(f"jobs/J-1/{path}", body)
    if (path, code) == ("returns", "not-there"):
        body["returns"][0]["item"] = rebuild.item("RING")
        answer = rebuild.technician.send(f"jobs/J-1/{path}", body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert (Extra.objects.count(), NotNeeded.objects.count()) == (0, 0)


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("extras", EXTRA),
        ("returns", {"returns": []}),
        ("scraps", SCRAP),
        ("not-needed", {"positions": [WASHER]}),
        ("tool-returns", {"tools": ["bead gun"]}),
    ],
)
def test_who_may_and_keys(rebuild, path, body):
    rebuild.booked()
    assert rebuild.inspector.send(f"jobs/J-1/{path}", body).json()["code"] == "not-allowed"
    assert rebuild.technician.send(f"jobs/J-1/{path}", body, key="").json()["code"] == "key-missing"
