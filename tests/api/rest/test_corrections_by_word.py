"""Acts that moved nothing are taken back by the word, where every reader leaves them out; the others say what is done instead."""

from datetime import date, timedelta
from typing import Any

import pytest

from inventory.domain.places import PlaceKind
from inventory.models import Act, Item, Lot, Spot
from inventory.services import correctable, things
from inventory.services.holding import Promise, hold_ids
from inventory.services.receive import ReceiveLine
from inventory.services.run import run
from kits.models import Job
from tests.factories.stores import PartFactory, PersonFactory, received, site, stamp

pytestmark = pytest.mark.django_db


def take_back(rebuild: Any, kind: str) -> Any:
    """The answer to taking the newest act of a kind back."""
    return rebuild.manager.send(f"acts/{Act.objects.filter(kind=kind).latest('pk').pk}/corrections", {"reason": "slip"})


def taken_back(rebuild: Any, kind: str) -> dict[str, Any]:
    """What taking it back answers, once it is done."""
    answer = take_back(rebuild, kind)
    assert answer.status_code == 201, answer.content
    said: dict[str, Any] = answer.json()
    assert said["reversed"] == []
    return said


def open_lines(rebuild: Any) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = rebuild.technician.read("jobs/J-1/open-lines").json()["open"]
    return found


def test_a_position_that_was_said_to_get_nothing_by_a_slip_is_listed_again(rebuild: Any) -> None:
    rebuild.booked()
    before, version = open_lines(rebuild), rebuild.manager.read("jobs/J-1").json()["version"]
    position = next(line["position"] for line in before if line["what"] == "not fitted")
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", {"positions": [{"position": position, "because": "slip"}]})
    assert open_lines(rebuild) != before
    assert taken_back(rebuild, "mark not needed")["restored"] == {"job": "J-1"}
    assert open_lines(rebuild) == before
    assert rebuild.manager.read("jobs/J-1").json()["version"] == version + 2
    again = take_back(rebuild, "mark not needed")
    assert (again.status_code, again.json()["code"]) == (409, "corrected-already")


def test_a_hand_over_that_was_taken_back_lent_no_tool_and_signed_nothing(rebuild: Any) -> None:
    path = f"pick-lists/{rebuild.at_bench().said['held']['pick_list']}"
    assert len(rebuild.manager.read(path).json()["handovers"]) == 1
    said = take_back(rebuild, "hand over").json()
    assert (said["restored"], len(said["reversed"])) == ({"job": "J-1", "tools": ["bead gun"]}, 10)
    job = rebuild.manager.read("jobs/J-1").json()
    assert (job["tools_on_loan"], rebuild.manager.read(path).json()["handovers"]) == ([], [])
    again = rebuild.did(rebuild.storekeeper, f"{path}/handovers", {"received_by": rebuild.technician.person.username})
    assert (again["tools"], again["tools_short"]) == (["bead gun"], [])


def test_a_piston_that_was_ticked_by_a_slip_is_to_be_looked_at_again(rebuild: Any) -> None:
    rebuild.at_bench()
    checker = rebuild.inspector.person.username
    serial = rebuild.item("SET", set_held(rebuild))
    body = {"fittings": [{"position": "CYL-1/set", "item": serial}], "checker": checker}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", body)
    before = open_lines(rebuild)
    assert "piston not checked" in {line["what"] for line in before}
    checks = {"checks": [{"position": "CYL-1/set", "items": ["crown", "ring tops"]}]}
    rebuild.did(rebuild.inspector, "jobs/J-1/piston-checks", checks)
    assert "piston not checked" not in {line["what"] for line in open_lines(rebuild)}
    taken_back(rebuild, "check pistons")
    assert open_lines(rebuild) == before


def set_held(rebuild: Any) -> str:
    """The identity of the set that was held."""
    serial = next(row["serial"] for row in rebuild.said["held"]["held"] if row["part"] == "SET")
    return f"serial={serial}"


def test_a_leak_test_that_was_entered_on_the_wrong_job_is_gone(rebuild: Any) -> None:
    rebuild.booked()
    body = {"pressure": "1 bar", "held": "10 min", "drop": "0 kPa", "temperature": "20 °C"}
    rebuild.did(rebuild.inspector, "jobs/J-1/leak-tests", body)
    assert rebuild.manager.read("jobs/J-1/build-sheet").json()["leak_tests"]
    taken_back(rebuild, "leak test")
    assert not rebuild.manager.read("jobs/J-1/build-sheet").json()["leak_tests"]


def test_an_extension_of_the_wrong_lot_is_taken_back_and_made_rightly_once(rebuild: Any) -> None:
    PartFactory(number="R-1", tracked_by="lot", life={"from": "cure", "years": 7, "extendable": True})
    received("R1", [ReceiveLine("R-1", 4, lot="B1", cure_code="3Q22")])
    lot, inspector = Lot.objects.get(code="B1"), rebuild.inspector
    before = (lot.expires_on, lot.expiry_rule)
    body = {"sample_pieces": 2, "passed": True, "found": "no set, no cracks"}
    rebuild.did(inspector, f"lots/{lot.pk}/extensions", body)
    longer = Lot.objects.get(pk=lot.pk)
    assert longer.expires_on > before[0]
    cart = things.spot(things.make_place("cart", PlaceKind.CART, site=site()))
    for late, day in enumerate((before[0], before[0] + timedelta(days=1))):
        promise(lot, cart, day, f"hold {late}")
    said = taken_back(rebuild, "extend life")["restored"]
    assert (said["expires_on"], said["expiry_rule"]) == (before[0].isoformat(), before[1])
    # On the limit it is good, a day beyond it is not.
    assert [one["needed_on"] for one in said["shorts"]] == [(before[0] + timedelta(days=1)).isoformat()]
    lot.refresh_from_db()
    assert (lot.expires_on, lot.expiry_rule) == before
    rebuild.did(inspector, f"lots/{lot.pk}/extensions", body)
    assert Lot.objects.get(pk=lot.pk).expires_on == longer.expires_on
    third = inspector.send(f"lots/{lot.pk}/extensions", body)
    assert third.json()["code"] == "extension-used"


def promise(lot: Lot, cart: Spot, day: date, kind: str) -> None:
    """One piece of the lot, held for a day."""
    item = Item.objects.get(lot=lot)
    shelved = Spot.objects.get(place__code="R1")

    def work(act: Act) -> dict[str, Any]:
        return {"holds": hold_ids(act, cart, [Promise(item.pk, shelved.pk, 1, day)])}

    run(kind, work, actor=PersonFactory(), stamp=stamp(), request={})


@pytest.mark.parametrize(
    ("kind", "way"),
    [("book job", "Cancel the job."), ("record findings", "Withdraw the finding.")],
)
def test_what_has_an_act_of_its_own_says_which(rebuild: Any, kind: str, way: str) -> None:
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "noise"}]})
    answer = take_back(rebuild, kind)
    assert (answer.status_code, answer.json()["code"]) == (422, "not-correctable")
    assert answer.json()["ways_out"] == [way]


def candidates(rebuild: Any) -> list[tuple[str, bool]]:
    """Shims of the list: part, whether it goes along on approval."""
    said = rebuild.technician.read("jobs/J-1/list").json()
    return [
        (row["part"], row["on_approval"])
        for key in ("lines", "on_approval")
        for row in said[key]
        if "SHIM" in row["part"]
    ]


def test_a_choice_that_was_made_by_a_slip_is_open_again(rebuild: Any) -> None:
    rebuild.booked()
    rebuild.did(rebuild.technician, "jobs/J-1/findings", {"findings": [{"code": "low", "place": "CYL-1"}]})
    rebuild.held()
    both = [("SHIM-5", True), ("SHIM-9", True)]
    assert candidates(rebuild) == both
    word = {"choice": "shim", "place": "CYL-1/shim", "alternative": "thin", "reason": "typed from the wrong job card"}
    released = rebuild.did(rebuild.technician, "jobs/J-1/choices", word)["released"]
    assert (len(released), candidates(rebuild)) == (1, [("SHIM-5", False)])
    said = taken_back(rebuild, "record choice")
    assert (said["restored"], said["holds_not_restored"]) == ({"job": "J-1"}, released)
    assert candidates(rebuild) == both
    rebuild.held()
    assert [row["part"] for row in rebuild.said["held"]["held"]] == ["SHIM-9"]


def test_a_hand_over_of_the_wrong_day_is_taken_back_and_made_rightly(rebuild: Any) -> None:
    rebuild.booked()
    Job.objects.update(state="closed")
    rebuild.did(rebuild.manager, "jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-21"})
    term = "engines/T4-00211/term"
    assert rebuild.manager.read(term, on="2025-02-01").json()["handed_over_on"] == "2025-01-21"
    assert taken_back(rebuild, "hand engine over")["restored"] == {"job": "J-1"}
    assert rebuild.manager.read(term, on="2025-02-01").json()["begun"] is False
    rebuild.did(rebuild.manager, "jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-22"})
    assert rebuild.manager.read(term, on="2025-02-01").json()["handed_over_on"] == "2025-01-22"
    again = rebuild.manager.send("jobs/J-1/engine-handovers", {"handed_over_on": "2025-01-22"})
    assert again.json()["code"] == "handed-over-already"


def test_a_job_that_ended_stays_ended(rebuild: Any) -> None:
    rebuild.booked()
    find = {"finds": [{"position": "LIFTER-1/lifter", "part": "LIFTER"}]}
    rebuild.did(rebuild.technician, "jobs/J-1/finds", find)
    rebuild.did(rebuild.technician, "jobs/J-1/removals", {"removals": [{"position": "LIFTER-1/lifter"}]})
    rebuild.did(rebuild.manager, "jobs/J-1/cancellations", {"reason": "sold", "signed_by": "O. Wner"})
    answer = take_back(rebuild, "cancel job")
    assert (answer.status_code, answer.json()["code"]) == (422, "not-correctable")
    assert answer.json()["ways_out"] == ["Book the work again, as a job of another number."]
    removed = take_back(rebuild, "remove")
    assert (removed.status_code, removed.json()["code"]) == (422, "not-correctable")
    assert removed.json()["values"]["job"] == "J-1"


def test_what_was_checked_on_an_ended_job_stays_as_it_was_said(rebuild: Any) -> None:
    rebuild.booked()
    position = {"position": "SUMP/washer", "because": "not opened"}
    rebuild.did(rebuild.technician, "jobs/J-1/not-needed", {"positions": [position]})
    rebuild.did(rebuild.manager, "jobs/J-1/cancellations", {"reason": "sold"})
    answer = take_back(rebuild, "mark not needed")
    assert (answer.status_code, answer.json()["code"]) == (422, "not-correctable")
    assert "which is cancelled" in answer.json()["detail"]


def test_an_act_of_a_running_job_is_taken_back_as_before(rebuild: Any) -> None:
    rebuild.booked().held().picked()
    answer = take_back(rebuild, "pick")
    assert answer.status_code == 201, answer.content
    assert answer.json()["restored"] == {}


def test_only_these_kinds_are_taken_back_by_the_word() -> None:
    """What DEVELOPERS.md lists."""
    assert sorted(correctable._by_word) == [
        "change hands", "check pistons", "enter counts", "enter word of the maker", "extend life", "first run", "hand engine over",
        "inspect", "leak test", "let height be", "lose position", "mark not needed", "name checkers",
        "record choice", "recount", "work after first run",
    ]  # fmt: skip
