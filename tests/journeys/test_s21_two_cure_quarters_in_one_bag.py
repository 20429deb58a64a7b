"""S21: a bag of rings with two cure quarters in it becomes two lots at receipt, against the order that it answers.

Shop, people, amounts and the supplier who mixes quarters are the demo shop's (invented); the morning's set with a chipped flange too.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Balance, Lot
from tests.journeys.shop import Story

RING, RINGS_FROM, SET, SETS_FROM = "R-113", "Saltby", "R-101", "Brackenfold"
ORDERED, CAME = datetime(2024, 12, 2, 9, tzinfo=UTC), datetime(2025, 1, 15, 7, 15, tzinfo=UTC)


def bag(lot: str, pieces: int, cure: str) -> dict[str, Any]:
    """Rings of one bag."""
    return {"part": RING, "amount": f"{pieces} EA", "lot": lot, "cure_code": cure}


@pytest.fixture
def ordered(story: Story) -> Story:
    story.at = ORDERED
    lines = [{"part": RING, "amount": "20 EA", "total_coins": 9_800, "promised_on": "2025-01-10"}]
    order = {"order": "TB-114", "supplier": RINGS_FROM, "lines": lines}
    story.did(story.client("maren"), "purchase-orders", story.x(order))
    story.at = CAME
    return story


def delivery(story: Story, *lines: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A delivery by the seal maker for the order."""
    body = {"supplier": RINGS_FROM, "order": "TB-114", "place": "TB-R07", "lines": list(lines)}
    said: dict[str, Any] = story.x(body | more)
    return said


def test_two_quarters_are_two_lots_each_with_its_own_life(ordered: Story) -> None:
    said = ordered.did(
        ordered.client("piet"), "receipts", delivery(ordered, bag("SA-1", 14, "3Q22"), bag("SA-2", 4, "4Q22"))
    )
    assert [(one["lot"], one["amount"], one["on_order"]) for one in said["lines"]] == [
        ("SA-1", 14, True),
        ("SA-2", 4, True),
    ]
    lots = {lot.code: lot for lot in Lot.objects.filter(part__number=ordered.x(RING))}
    # Ten years from the first day of the quarter: FKM is of the ten-year group of ISO 2230 (from memory), counted strictly.
    assert {code: lot.expires_on.isoformat() for code, lot in lots.items() if lot.expires_on} == {
        "SA-1": "2032-07-01", "SA-2": "2032-10-01",
    }  # fmt: skip
    (line,) = ordered.client("maren").read("purchase-orders/TB-114", on="2025-01-15").json()["lines"]
    assert (line["ordered"], line["delivered"], line["accepted"], line["outstanding"]) == (20, 18, 18, 2)
    # Promised for the 10th, here on the 15th and short: the promise stays, and is counted.
    assert (line["promises_passed"], line["late"], line["open"]) == (["2025-01-10"], True, True)


def test_one_label_for_both_quarters_is_refused_and_nothing_is_received(ordered: Story) -> None:
    body = delivery(ordered, bag("SA-1", 14, "3Q22"), bag("SA-1", 4, "4Q22"))
    answer = ordered.client("piet").send("receipts", body | {"occurred_at": CAME.isoformat()})
    assert (answer.status_code, answer.json()["code"]) == (409, "lot-differs")
    assert not Balance.objects.filter(part__number=ordered.x(RING)).exists()


def test_three_too_many_wait_until_the_inspector_answers(ordered: Story) -> None:
    body = delivery(ordered, bag("SA-1", 14, "3Q22"), bag("SA-2", 9, "4Q22"), quarantine="TB-QUARANTINE")
    ordered.did(ordered.client("piet"), "receipts", body)
    maren, edda = ordered.client("maren"), ordered.client("edda")
    (waits,) = maren.rows("set-asides", waiting="true")
    assert (waits["lot"], waits["why"], waits["in_inspection"]) == ("SA-2", "over", 3)
    free = {row["lot"]: row["free"]["amount"] for row in maren.rows("balances", part=ordered.x(RING), place="TB-R07")}
    assert free == {"SA-1": 14, "SA-2": 6}
    release = {"item": waits["item"], "amount": 3, "from_place": "TB-QUARANTINE", "to_place": "TB-R07"}
    ordered.did(edda, "quarantine-releases", {"lines": [release], "note": "kept, the invoice says so"})
    (line,) = maren.read("purchase-orders/TB-114").json()["lines"]
    assert (line["delivered"], line["accepted"], line["over"], line["outstanding"]) == (23, 23, 3, 0)


def test_a_chipped_set_goes_back_whole_while_the_driver_is_still_there(ordered: Story) -> None:
    maren, piet = ordered.client("maren"), ordered.client("piet")
    order = {"order": "TB-115", "supplier": SETS_FROM, "lines": [{"part": SET, "amount": 2}]}
    ordered.did(maren, "purchase-orders", ordered.x(order))
    chipped = {"rejected": "flange chipped", "photos": ["claims/0115-1.jpg", "claims/0115-2.jpg"]}
    lines = [{"part": SET, "amount": 1, "serial": serial} for serial in ("S-2101", "S-2102")]
    body = {"supplier": SETS_FROM, "order": "TB-115", "place": "TB-CAGE", "quarantine": "TB-QUARANTINE"}
    said = ordered.did(piet, "receipts", ordered.x(body | {"lines": [lines[0], lines[1] | chipped]}))
    good, bad = said["lines"]
    assert (good["place"], bad["place"], bad["why"]) == ("TB-CAGE", "TB-QUARANTINE", "rejected")
    (line,) = maren.read("purchase-orders/TB-115").json()["lines"]
    assert (line["delivered"], line["accepted"], line["rejected"], line["outstanding"]) == (2, 1, 1, 1)
    sent = {"item": bad["item"], "place": "TB-QUARANTINE", "amount": 1, "coins": 41_000, "reject": bad["reject"]}
    ordered.did(piet, "supplier-returns", ordered.x({"supplier": SETS_FROM, "note": "RN-31", "lines": [sent]}))
    assert [row["serial"] for row in maren.rows("balances", part=ordered.x(SET))] == ["S-2101"]
    *_, gone = maren.read("matched-sets/S-2102/history").json()["steps"]
    assert "returned to the supplier" in gone["said"]
    # 15 January and 60 days is 16 March: the day after it is loud.
    assert [one["kind"] for one in maren.read("reminders", on="2025-03-16").json()["reminders"]] == [
        "order past its promised day"
    ]
    late = maren.read("reminders", on="2025-03-17").json()["reminders"]
    assert [(one["kind"], one["days"]) for one in late] == [
        ("order past its promised day", 66), ("credit from supplier awaited", 1),
    ]  # fmt: skip
