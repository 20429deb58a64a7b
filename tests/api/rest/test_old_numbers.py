"""Old and new numbers on one engine: what a notice leaves to other engines, and kinds that are not mixed, whatever the order of the acts."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import Item, Replacement
from inventory.services.receive import ReceiveLine
from tests.api.rest.rebuilds import Rebuild
from tests.factories.stores import PartFactory, received

pytestmark = pytest.mark.django_db

OLD, NEW = "ROD-BOLT", "ROD-BOLT-2"


def noticed(rebuild: Rebuild, **said: Any) -> None:
    """The rod bolt is replaced by another, of which none is there yet."""
    PartFactory(number=NEW, kind="fastener", tracked_by="nothing", weight_mg=100_000)
    entered(rebuild, **said)


def entered(rebuild: Rebuild, **said: Any) -> None:
    rebuild.did(rebuild.manager, f"parts/{OLD}/replacements", {"news": [{"part": NEW}], **said})


def chosen(rebuild: Rebuild, cylinder: int) -> None:
    finding = {"findings": [{"code": "chosen", "place": f"CYL-{cylinder}"}]}
    rebuild.did(rebuild.technician, f"jobs/{rebuild.job}/findings", finding)


def hold(rebuild: Rebuild) -> dict[str, Any]:
    rebuild.held()
    held: dict[str, Any] = rebuild.said["held"]
    return held


def bolts(held: dict[str, Any]) -> dict[str, int]:
    """Bolt → pieces held, and what is short of the old one by its name in small letters."""
    found: dict[str, int] = {}
    for row in held["held"]:
        if row["wanted"] == OLD:
            found[row["part"]] = found.get(row["part"], 0) + row["amount"]
    short = sum(row["amount"] for row in held["shorts"] if row["wanted"] == OLD)
    return found | ({"short": short} if short else {})


def test_an_old_number_that_is_left_to_engines_below_is_not_held_above(rebuild: Rebuild) -> None:
    """The engine is T4-00211. Its parts line says nothing of engine numbers; the notice does."""
    noticed(rebuild, fate="use only below a number", engine_below="T4-00150")
    rebuild.booked()
    assert bolts(hold(rebuild)) == {"short": 2}
    (short,) = [row for row in rebuild.said["held"]["shorts"] if row["wanted"] == OLD]
    assert "ROD-BOLT fits below T4-00150 only; this engine is T4-00211." in short["why"]
    received("R1", [ReceiveLine(NEW, 2)])
    assert bolts(hold(rebuild)) == {NEW: 2}


def test_below_the_number_and_on_an_engine_changed_in_the_field_it_is_used_up(rebuild: Rebuild) -> None:
    noticed(rebuild, fate="use only below a number", engine_below="T4-00212")
    received("R1", [ReceiveLine(NEW, 2)])
    assert bolts(hold(rebuild.booked())) == {OLD: 2}


def test_a_notice_that_comes_after_the_hold_ends_it_at_the_next_check_and_stops_the_fitting(rebuild: Rebuild) -> None:
    rebuild.at_bench()
    chosen(rebuild, 2)
    assert bolts(hold(rebuild)) == {OLD: 2}
    noticed(rebuild, fate="use only below a number", engine_below="T4-00150")
    checked = rebuild.did(rebuild.manager, f"jobs/{rebuild.job}/checks", {})
    assert [(row["part"], row["amount"]) for row in checked["shorts"]] == [(OLD, 2)]
    bolt = Item.objects.get(part__number=OLD).pk
    body = {"fittings": [{"position": "ROD-1/bolt-1", "item": bolt}]}
    answer = rebuild.technician.send(f"jobs/{rebuild.job}/fittings", body)
    assert answer.status_code == 422
    assert [line["code"] for line in answer.json()["lines"]] == ["not-for-engine"]
    asked = rebuild.technician.send(
        f"jobs/{rebuild.job}/extras", {"part": OLD, "amount": 1, "reason": "dropped", "positions": ["ROD-1/bolt-1"]}
    )
    assert (asked.status_code, asked.json()["code"]) == (422, "not-for-engine")


def test_a_notice_that_comes_after_the_hold_stops_the_pick_and_after_that_the_hand_over(rebuild: Rebuild) -> None:
    rebuild.booked()
    assert bolts(hold(rebuild)) == {OLD: 2}
    listed = rebuild.said["held"]["pick_list"]
    noticed(rebuild, fate="use only below a number", engine_below="T4-00150")
    refused = rebuild.storekeeper.send(f"pick-lists/{listed}/picks", {"scans": rebuild.scans()})
    assert refused.status_code == 422
    assert {line["code"] for line in refused.json()["lines"]} == {"not-for-engine"}
    notice = Replacement.objects.get(old__number=OLD).pk
    rebuild.did(rebuild.manager, f"replacements/{notice}/withdrawals", {"reason": "another family was meant"})
    rebuild.picked()
    entered(rebuild, fate="use only below a number", engine_below="T4-00150")
    body = {"received_by": rebuild.technician.person.username, "missing": []}
    refused = rebuild.storekeeper.send(f"pick-lists/{listed}/handovers", body)
    assert (refused.status_code, refused.json()["code"]) == (422, "not-for-engine")
    assert [row["part"] for row in refused.json()["values"]["things"]] == [OLD]
    assert "ROD-BOLT fits below T4-00150 only; this engine is T4-00211." in refused.json()["detail"]


def test_a_later_hold_does_not_bring_another_kind_that_may_not_be_mixed(rebuild: Rebuild) -> None:
    noticed(rebuild, no_mix_on="engine")
    use_up(rebuild, left=2)
    rebuild.booked()
    assert bolts(hold(rebuild)) == {OLD: 2}
    received("R1", [ReceiveLine(NEW, 2)])
    chosen(rebuild, 2)
    assert bolts(hold(rebuild)) == {"short": 2}
    shorts = rebuild.technician.read(f"jobs/{rebuild.job}/shorts").json()["shorts"]
    (way,) = [one for row in shorts for one in row["ways"] if row["part"] == OLD and one["way"] == "replacement"]
    assert way["parts"] == {NEW: 2}
    assert way["conditions"] == [
        f"{NEW} may not be mixed with {OLD}, which the job has: that is released or returned first"
    ]
    for row in rebuild.manager.rows(f"jobs/{rebuild.job}/holds", part=OLD, open="true"):
        rebuild.did(rebuild.manager, f"holds/{row['hold']}/releases", {"reason": "one kind for all"})
    received("R1", [ReceiveLine(NEW, 2)])
    assert bolts(hold(rebuild)) == {NEW: 4}


def test_the_listed_kind_is_not_held_beside_its_replacement_either(rebuild: Rebuild) -> None:
    noticed(rebuild, no_mix_on="engine")
    use_up(rebuild, left=0)
    received("R1", [ReceiveLine(NEW, 2)])
    rebuild.booked()
    assert bolts(hold(rebuild)) == {NEW: 2}
    received("R1", [ReceiveLine(OLD, 8)])
    chosen(rebuild, 2)
    answer = rebuild.technician.send(f"jobs/{rebuild.job}/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "mixed")
    assert answer.json()["values"] == {"part": OLD, "there": [NEW]}
    received("R1", [ReceiveLine(NEW, 2)])
    assert bolts(hold(rebuild)) == {NEW: 2}


def use_up(rebuild: Rebuild, left: int) -> None:
    """Scrap the old bolts on the shelf but so many (eight stand there)."""
    item = Item.objects.get(part__number=OLD).pk
    body = {"item": item, "place": "R1", "amount": 8 - left, "reason": "bent", "who_pays": "shop"}
    rebuild.did(rebuild.manager, "scraps", body)


@pytest.mark.parametrize("said", ["T4-150", "T4-O0150", "T5-00150", "banana"])
def test_a_notice_names_engine_numbers_that_can_be_read(rebuild: Rebuild, said: str) -> None:
    """Else nobody would ever see that it decides nothing."""
    PartFactory(number=NEW, kind="fastener", tracked_by="nothing")
    body = {"news": [{"part": NEW}], "fate": "use only below a number", "engine_below": said}
    answer = rebuild.manager.send(f"parts/{OLD}/replacements", body)
    assert (answer.status_code, answer.json()["code"]) == (422, "engine-number-unreadable")
    assert said in answer.json()["detail"]
    rebuild.did(rebuild.manager, f"parts/{OLD}/replacements", body | {"engine_below": "t4 00150"})
    (line,) = rebuild.manager.read(f"parts/{OLD}").json()["replacements"]
    assert line["engine_below"] == "T4-00150"


def word(rebuild: Rebuild, part: str, place: str = "ROD-1/bolt-1") -> Any:
    body = {"choice": "", "place": place, "alternative": f"part:{part}", "reason": "the old thread is worn"}
    return rebuild.technician.send(f"jobs/{rebuild.job}/choices", body)


def test_what_replaces_a_listed_part_is_taken_by_a_persons_word_and_given_up_by_another(rebuild: Rebuild) -> None:
    noticed(rebuild)
    received("R1", [ReceiveLine(NEW, 2)])
    rebuild.booked()
    assert word(rebuild, NEW).status_code == 201
    listed = rebuild.technician.read(f"jobs/{rebuild.job}/list").json()["lines"]
    said = {row["part"]: (row["positions"], row["chosen"]) for row in listed if row["part"] in (OLD, NEW)}
    assert said == {
        OLD: (["ROD-1/bolt-2"], ""),
        NEW: (["ROD-1/bolt-1"], f"chosen by a person in place of {OLD}"),
    }
    held = hold(rebuild)["held"]
    assert [row["part"] for row in held if "ROD-BOLT" in row["part"]] == [OLD, NEW]
    assert word(rebuild, OLD).status_code == 201
    assert bolts(hold(rebuild)) == {OLD: 1}
    to_return = rebuild.technician.read(f"jobs/{rebuild.job}/to-return").json()
    assert NEW in str(to_return)


@pytest.mark.parametrize(
    ("notice", "named"),
    [
        ({"engine_from": "T4-00300"}, NEW),
        ({"news": [{"part": NEW, "numerator": 2, "denominator": 3}]}, NEW),
        ({"news": [{"part": NEW}, {"part": "WASHER"}], "way": "one to several"}, NEW),
        ({"old": NEW, "news": [{"part": OLD}]}, NEW),
        ({}, "STEM-SEAL"),
    ],
)
def test_what_does_not_stand_in_is_not_taken(rebuild: Rebuild, notice: dict[str, Any], named: str) -> None:
    """For other engines, not in whole pieces, only with others, the old for the new, by no notice."""
    PartFactory(number=NEW, kind="fastener", tracked_by="nothing")
    said = {"news": [{"part": NEW}]} | notice
    rebuild.did(rebuild.manager, f"parts/{said.pop('old', OLD)}/replacements", said)
    rebuild.booked()
    answer = word(rebuild, named)
    assert (answer.status_code, answer.json()["code"]) == (422, "choice-not-candidate")


def test_a_buy_in_is_not_chosen_where_nothing_is_to_be_bought_in(rebuild: Rebuild) -> None:
    rebuild.booked()
    body = {"choice": "", "place": "ROD-1/bolt-1", "alternative": "buy-in", "reason": "none on the shelf"}
    answer = rebuild.technician.send(f"jobs/{rebuild.job}/choices", body)
    assert (answer.status_code, answer.json()["code"]) == (422, "choice-not-candidate")
