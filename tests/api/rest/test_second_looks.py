"""The second look at sets and bearings before a cart is handed over, and the bins that are to be counted, over HTTP."""

import pytest

from inventory.models import Balance
from kits.models import SecondLook
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient

pytestmark = pytest.mark.django_db


def path(rebuild, rest=""):
    return f"pick-lists/{rebuild.said['held']['pick_list']}{rest}"


def looks(rebuild):
    """Part or serial → (hold, state) of the lines that ask for it."""
    listed = rebuild.storekeeper.read(path(rebuild)).json()["second_looks"]
    return {one["serial"] or one["part"]: (one["hold"], one["state"]) for one in listed}


def look(rebuild, *named, client=None, **wrong):
    said = [{"hold": looks(rebuild)[name][0]} for name in named]
    said += [{"hold": looks(rebuild)[name.replace("_", "-")][0], "wrong": why} for name, why in wrong.items()]
    return (client or rebuild.inspector).send(path(rebuild, "/second-looks"), {"looks": said})


def give(rebuild, *missing):
    body = {"received_by": rebuild.technician.person.username, "missing": list(missing)}
    return rebuild.storekeeper.send(path(rebuild, "/handovers"), body)


def refusals(answer):
    document = answer.json()
    return [row["code"] for row in document["lines"]] or [document["code"]]


def lying(place, part):
    return sum(Balance.objects.filter(place__code=place, part__number=part).values_list("amount", flat=True))


def bins(rebuild):
    return rebuild.storekeeper.read("bins-to-count").json()


def test_sets_and_bearings_are_looked_at_by_another_before_the_cart_goes(rebuild):
    rebuild.booked().held()
    assert {name: state for name, (_, state) in looks(rebuild).items()} == {
        "S-1": "not picked",
        "SHELL-STD": "not picked",
    }
    assert refusals(look(rebuild, "S-1")) == ["not-picked"]
    rebuild.picked()
    answer = give(rebuild)
    assert (answer.status_code, refusals(answer)) == (422, ["second-look-missing"])
    lines = answer.json()["values"]["lines"]
    assert [(one["part"], one["serial"], one["positions"], one["picked_by"]) for one in lines] == [
        ("SET", "S-1", ["CYL-1/set"], rebuild.storekeeper.person.username),
        ("SHELL-STD", "", ["ROD-1/shells"], rebuild.storekeeper.person.username),
    ]
    body = look(rebuild, "S-1").json()
    assert (body["job"], [one["serial"] for one in body["seen"]], body["put_back"]) == ("J-1", ["S-1"], [])
    assert [one["part"] for one in give(rebuild).json()["values"]["lines"]] == ["SHELL-STD"]
    assert refusals(look(rebuild, "S-1", "SHELL-STD")) == ["done-already"]
    assert SecondLook.objects.count() == 1
    assert look(rebuild, "SHELL-STD").status_code == 201
    (seen,) = [one for one in rebuild.storekeeper.read(path(rebuild)).json()["second_looks"] if one["serial"]]
    assert (seen["state"], seen["by"]) == ("seen", rebuild.inspector.person.username)
    assert give(rebuild).status_code == 201


def test_not_by_the_picker_nor_by_somebody_who_may_not_check_there(rebuild):
    rebuild.booked().held()
    manager = rebuild.manager
    rebuild.did(manager, path(rebuild, "/picks"), {"scans": rebuild.scans()})
    assert refusals(look(rebuild, "S-1", client=manager)) == ["same-person"]
    assert refusals(look(rebuild, "S-1", client=rebuild.storekeeper)) == ["not-allowed"]
    strange = rebuild.inspector.send(path(rebuild, "/second-looks"), {"looks": [{"hold": 999}]})
    assert (strange.status_code, refusals(strange)) == (404, ["not-found"])
    assert refusals(rebuild.inspector.send(path(rebuild, "/second-looks"), {"looks": []})) == ["nothing-given"]
    twice = {"looks": [{"hold": looks(rebuild)["S-1"][0]}] * 2}
    assert refusals(rebuild.inspector.send(path(rebuild, "/second-looks"), twice)) == ["done-already"]
    # A site with one person names who checks, and nobody else's look counts there.
    named = DescribedClient(somebody("technician"))
    duty = {"checkers": [{"person": named.person.username, "stands_in": True}]}
    rebuild.did(manager, "sites/TS/checkers", duty)
    assert refusals(look(rebuild, "S-1")) == ["not-on-duty"]
    assert look(rebuild, "S-1", "SHELL-STD", client=named).status_code == 201
    assert give(rebuild).status_code == 201


def test_a_wrong_one_goes_back_its_line_is_open_again_and_the_bin_is_counted(rebuild):
    rebuild.booked().held().picked()
    body = look(rebuild, "SHELL-STD", S_1="the box says S-1, the liner S-7").json()
    (back,) = body["put_back"]
    assert (back["serial"], back["amount"], back["place"], back["wrong"]) == (
        "S-1",
        1,
        "R1",
        "the box says S-1, the liner S-7",
    )
    assert (lying("cart J-1", "SET"), lying("R1", "SET")) == (0, 2)
    assert looks(rebuild)["S-1"][1] == "wrong"
    (row,) = bins(rebuild)
    assert (row["place"], row["serial"], row["on_books"]) == ("R1", "S-1", 1)
    assert row["asked"][0]["why"] == "wrong at the second look: the box says S-1, the liner S-7"
    # The line is open: the hand-over asks for it by name, and it is held anew.
    assert refusals(give(rebuild)) == ["missing-not-named"]
    first = rebuild.said["held"]
    rebuild.held()
    (again,) = rebuild.said["held"]["held"]
    assert (again["part"], again["positions"]) == ("SET", [["CYL-1/set", 1, 1]])
    rebuild.picked()
    assert [one["serial"] for one in give(rebuild).json()["values"]["lines"]] == [again["serial"]]
    rebuild.looked_at()
    assert give(rebuild).status_code == 201
    assert (lying("bench J-1", "SET"), first["pick_list"] != rebuild.said["held"]["pick_list"]) == (1, True)


def test_what_came_back_from_the_cart_unseen_asks_for_nothing_any_more(rebuild):
    rebuild.booked().held().picked()
    back = {"item": rebuild.item("SHELL-STD"), "amount": 1, "origin": "cart", "bag_sealed": True}
    rebuild.did(rebuild.technician, "jobs/J-1/returns", {"returns": [back]})
    assert look(rebuild, "S-1").status_code == 201
    rebuild.held().picked()
    assert [one["part"] for one in give(rebuild).json()["values"]["lines"]] == ["SHELL-STD"]
    rebuild.looked_at()
    assert give(rebuild).status_code == 201


def test_a_bin_that_lacks_what_the_books_say_is_listed_until_it_is_counted(rebuild):
    rebuild.booked().held()
    rebuild.did(rebuild.storekeeper, path(rebuild, "/picks"), {"scans": rebuild.scans()[1:]})
    rebuild.looked_at()
    assert bins(rebuild) == []
    assert [one["part"] for one in give(rebuild, "RING").json()["to_count"]] == ["RING"]
    (row,) = bins(rebuild)
    assert (row["site"], row["place"], row["part"], row["lot"], row["on_books"]) == ("TS", "R1", "RING", "RING/1", 6)
    (why,) = row["asked"]
    assert (why["job"], why["by"], why["why"]) == (
        "J-1",
        rebuild.storekeeper.person.username,
        "missing at the hand-over of pick list 1 of job J-1",
    )
    # The line is open again, by its hold: what is short at the hand-over re-opens its line, and its bin is counted.
    (held,) = [one for one in rebuild.technician.rows("jobs/J-1/holds") if one["part"] == "RING"]
    assert held["state"] == "held"
    other = {"place": "R1", "lines": [{"item": rebuild.item("LIFTER"), "counted": 2}]}
    rebuild.did(rebuild.storekeeper, "counts", other)
    elsewhere = {"place": "R2", "lines": [{"item": row["item"], "counted": 0}]}
    rebuild.did(rebuild.storekeeper, "counts", elsewhere)
    earlier = {"place": "R1", "lines": [{"item": row["item"], "counted": 6}], "occurred_at": "2025-01-15T09:00:00Z"}
    rebuild.storekeeper.send("counts", earlier)
    assert bins(rebuild) == [row]
    empty = [{"item": row["item"], "counted": 0, "counted_again": 0}]
    counted = {
        "place": "R1",
        "lines": empty,
        "second": rebuild.technician.person.username,
        "reason": "the bin is empty",
    }
    made = rebuild.storekeeper.send("counts", counted)
    assert made.status_code == 201
    assert bins(rebuild) == []
    # A count that is taken back has counted nothing.
    act = made.headers["Location"].rsplit("/", 1)[-1]
    rebuild.did(rebuild.manager, f"acts/{act}/corrections", {"reason": "the wrong bin was counted"})
    assert [one["item"] for one in bins(rebuild)] == [row["item"]]
