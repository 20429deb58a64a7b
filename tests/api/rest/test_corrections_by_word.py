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
    assert sorted(correctable._restores) == [
        "change hands", "check pistons", "enter word of the maker", "extend life", "first run", "inspect", "leak test", "let height be", "lose position",
        "mark not needed", "name checkers", "work after first run",
    ]  # fmt: skip
