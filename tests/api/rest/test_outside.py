"""A piece at an outside machinist, over HTTP: the place, the way there and back, what waits for it, and who is told."""

import copy

import pytest

from inventory.models import Act
from kits.models import Job, OutsideWork
from tests.factories.engines import family_document

pytestmark = pytest.mark.django_db

AT, PART = "CRANK/crankshaft", "CRANKSHAFT"
NOON = "2025-01-15T12:00:00Z"
PATH = "jobs/J-1/outside-work"


def with_crank():
    """The small family with a crankshaft on its map, which the shells of mains and rods are fitted with."""
    document = copy.deepcopy(family_document()) | {"revision": 2}
    document["groups"].append({"group": "CRANK", "scope": "engine", "names": [{"name": "crankshaft"}]})
    document["facts"]["pieces"] = [{"at": AT, "needed_at": ["MAIN-*/shells", "ROD-*/shells"]}]
    return document


@pytest.fixture
def shop(rebuild):
    """J-1 with its liners and its sump; the crankshaft lies at its bench, and a grinder takes pieces."""
    its = rebuild
    its.did(its.manager, "engine-families", {"document": with_crank()})
    part = {"number": PART, "name": "crankshaft", "kind": "hard part", "unit": "EA", "tracked_by": "serial"}
    its.did(its.manager, "parts", part)
    its.did(its.manager, "places", {"places": [{"code": "GRINDER", "kind": "outside work", "name": "across town"}]})
    its.booked(operations=["T1", "T3"])
    find = {"position": AT, "part": PART, "serial": "CR-1", "size": "standard", "condition": "scored"}
    its.did(its.technician, "jobs/J-1/finds", {"finds": [find], "occurred_at": NOON})
    out = its.did(its.technician, "jobs/J-1/removals", {"removals": [{"position": AT}], "occurred_at": NOON})
    its.said["crank"] = out["removed"][0]["item"]
    return its


def body_of(its, **more):
    return {
        "machinist": "GRINDER",
        "item": its.said["crank"],
        "due_on": "2025-01-18",
        "occurred_at": NOON,
        "work": "grind 0.25",
    } | more


def steps(its, on):
    answer = its.technician.read("jobs/J-1/startable", on=on).json()
    return {f"{row['procedure']}/{row['step']}": row for row in answer["steps"]}, answer["hand_over"]


def reminded(its, on):
    rows = its.storekeeper.read("reminders", on=on).json()["reminders"]
    return [(row["what"], row["days"], row["told"], row["number"]) for row in rows if row["kind"].startswith("outside")]


def where(its):
    rows = its.storekeeper.rows("balances", part=PART)
    return [(row["place"], row["spot"], row["amount"]["amount"]) for row in rows]


def test_it_is_sent_waited_for_overdue_and_back(shop):
    before, _ = steps(shop, "2025-01-16")
    body = shop.did(shop.manager, PATH, body_of(shop))
    number = OutsideWork.objects.get().pk
    assert body == {
        "outside_work": number, "item": shop.said["crank"], "part": PART, "amount": 1, "positions": [AT], "from": "bench J-1",
        "to": "GRINDER", "due_on": "2025-01-18", "fit_on": "2025-01-20",
    }  # fmt: skip
    assert where(shop) == [("GRINDER", "J-1", 1)]
    # T1/20 has the shells; T1/30 closes the heads and T3 the sump only after what is before them in their own procedures.
    crank = "CRANKSHAFT, serial CR-1"
    found, hand_over = steps(shop, "2025-01-16")
    assert (found["T1/20"]["start_on"], found["T1/20"]["because"]) == (
        "2025-01-18",
        [f"{crank} at GRINDER: due 2025-01-18"],
    )
    assert found["T1/20"]["why"][-1] == f"{crank} is out until 2025-01-18"
    assert found["T1/10"]["start_on"] == before["T1/10"]["start_on"] == "2025-01-16"
    assert hand_over["earliest"] == "2025-01-20"
    assert reminded(shop, "2025-01-18") == []
    # A week late: loud by name, and re-dated.
    found, hand_over = steps(shop, "2025-01-25")
    assert (found["T1/20"]["start_on"], found["T1/20"]["overdue"]) == ("2025-01-25", [f"{crank} at GRINDER"])
    assert found["T1/20"]["because"] == [f"{crank} at GRINDER: due 2025-01-18, overdue, not before 2025-01-25"]
    assert (hand_over["planned"], hand_over["earliest"], hand_over["why"]) == (
        "2025-01-25", "2025-01-25", f"{crank} at GRINDER was due 2025-01-18: not before 2025-01-25",
    )  # fmt: skip
    told = f"{crank} at GRINDER, due 2025-01-18: what needs it, and the hand-over, not before 2025-01-25"
    assert reminded(shop, "2025-01-25") == [(told, 7, shop.manager.person.username, number)]
    refused = shop.manager.send("jobs/J-1/cancellations", {"reason": "sold", "signed_by": "R. Alder"})
    assert (refused.status_code, refused.json()["code"]) == (422, "job-not-empty")
    back = shop.did(shop.manager, f"{PATH}/{number}/returns", {"occurred_at": "2025-01-25T09:00:00Z"})
    assert (back["to"], back["back_on"], back["due_on"]) == ("bench J-1", "2025-01-25", "2025-01-18")
    assert where(shop) == [("bench J-1", "-", 1)]
    (shown,) = shop.manager.read("jobs/J-1").json()["outside_work"]
    assert (shown["machinist"], shown["work"], shown["positions"], shown["back_on"]) == (
        "GRINDER",
        "grind 0.25",
        [AT],
        "2025-01-25",
    )
    assert reminded(shop, "2025-01-25") == []
    again = shop.manager.send(f"{PATH}/{number}/returns", {})
    assert (again.status_code, again.json()["code"]) == (409, "back-already")


def test_a_later_day_moves_the_fitting_with_it(shop):
    shop.did(shop.technician, "jobs/J-1/holds", {"occurred_at": NOON})
    body = shop.did(shop.manager, PATH, body_of(shop, due_on="2025-02-10"))
    assert (body["fit_on"], body["shorts"]) == ("2025-02-10", [])
    early = shop.manager.send("jobs/J-1/dates", {"fit_on": "2025-02-09", "reason": "sooner", "occurred_at": NOON})
    assert (early.status_code, early.json()["code"]) == (422, "outside-work-due")


def test_another_day_that_the_machinist_names_counts_from_then_on(shop):
    number = shop.did(shop.manager, PATH, body_of(shop))["outside_work"]
    path = f"{PATH}/{number}/due-dates"
    said = {"due_on": "2025-01-24", "reason": "the wheel broke", "occurred_at": "2025-01-19T09:00:00Z"}
    body = shop.did(shop.manager, path, said)
    assert (body["was_due_on"], body["due_on"], body["fit_on"]) == ("2025-01-18", "2025-01-24", "2025-01-24")
    found, hand_over = steps(shop, "2025-01-20")
    assert (found["T1/20"]["start_on"], found["T1/20"]["overdue"]) == ("2025-01-24", [])
    assert hand_over["earliest"] == "2025-01-24"
    assert reminded(shop, "2025-01-24") == []
    assert [(days, told) for _, days, told, _ in reminded(shop, "2025-01-25")] == [(1, shop.manager.person.username)]
    # Sooner after all: the step is sooner, the planned day stays until somebody moves it.
    sooner = shop.did(shop.manager, path, said | {"due_on": "2025-01-21", "reason": "a new wheel"})
    assert (sooner["was_due_on"], sooner["fit_on"], "kept" in sooner) == ("2025-01-24", "2025-01-24", False)
    assert steps(shop, "2025-01-20")[0]["T1/20"]["start_on"] == "2025-01-21"
    (shown,) = shop.manager.read("jobs/J-1").json()["outside_work"]
    assert shown["due_on"] == "2025-01-21"
    moved = {"fit_on": "2025-01-21", "reason": "the crank is sooner", "occurred_at": said["occurred_at"]}
    shop.did(shop.manager, "jobs/J-1/dates", moved)
    past = shop.manager.send(path, said | {"due_on": "2025-01-18"})
    assert (past.status_code, past.json()["code"]) == (422, "dates-turned")
    shop.did(shop.manager, f"{PATH}/{number}/returns", {"occurred_at": "2025-01-21T09:00:00Z"})
    late = shop.manager.send(path, said)
    assert (late.status_code, late.json()["code"]) == (409, "back-already")
    assert shop.manager.send(f"{PATH}/999/due-dates", said).json()["code"] == "not-found"


def test_a_wrong_one_is_taken_back_by_a_reversing_entry(shop):
    shop.did(shop.manager, PATH, body_of(shop))
    act = Act.objects.get(kind="send outside")
    shop.did(shop.manager, f"acts/{act.pk}/corrections", {"reason": "it never left"})
    assert where(shop) == [("bench J-1", "-", 1)]
    assert shop.manager.read("jobs/J-1").json()["outside_work"] == []
    sent = shop.did(shop.manager, PATH, body_of(shop))["outside_work"]
    shop.did(shop.manager, f"{PATH}/{sent}/returns", {"occurred_at": NOON})
    act = Act.objects.get(kind="back from outside")
    shop.did(shop.manager, f"acts/{act.pk}/corrections", {"reason": "another crank came"})
    assert where(shop) == [("GRINDER", "J-1", 1)]
    shop.did(shop.manager, f"{PATH}/{sent}/returns", {"occurred_at": "2025-01-16T09:00:00Z"})
    (shown,) = shop.manager.read("jobs/J-1").json()["outside_work"]
    assert shown["back_on"] == "2025-01-16"


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"due_on": "2025-01-14"}, 422, "dates-turned"),
        ({"needed_by": ["T1/999"]}, 422, "step-not-on-job"),
        ({"machinist": "R1"}, 422, "wrong-place"),
        ({"machinist": "NOBODY"}, 404, "not-found"),
        ({"item": 999_999}, 404, "not-found"),
        ({"amount": "2 EA"}, 422, "serial-is-one"),
        ({"amount": 0}, 422, "amount-not-positive"),
        ({"amount": "1 L"}, 422, "quantity-wrong-dimension"),
        ({"piece": "crank"}, 400, "fields-wrong"),
        ({"needed_by": "T1/20"}, 400, "fields-wrong"),
    ],
)
def test_what_cannot_be_is_refused_by_name(shop, more, status, code):
    answer = shop.manager.send(PATH, body_of(shop, **more))
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert where(shop) == [("bench J-1", "-", 1)]
    assert Job.objects.get().fit_on.isoformat() == "2025-01-20"


def test_what_is_in_the_engine_or_new_or_gone_does_not_go(shop):
    ring = shop.item("RING")
    assert shop.manager.send(PATH, body_of(shop, item=ring)).json()["code"] == "not-there"
    shop.did(shop.manager, PATH, body_of(shop))
    assert shop.manager.send(PATH, body_of(shop)).json()["code"] == "not-there"
    assert shop.manager.send(f"{PATH}/999/returns", {}).json()["code"] == "not-found"


def test_who_may_and_keys(shop):
    due = {"due_on": "2025-01-24", "reason": "later"}
    for path, body in ((PATH, body_of(shop)), (f"{PATH}/1/returns", {}), (f"{PATH}/1/due-dates", due)):
        assert shop.technician.send(path, body).json()["code"] == "not-allowed"
        assert shop.manager.send(path, body, key="").json()["code"] == "key-missing"
