"""A fill is topped up, not begun anew; and it is open until all of it is in. Over HTTP.

Worked example of the demo shop (invented): 5.2 L of oil by the book; more than one and a half times that is asked about.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.rest.described import DescribedClient
from tests.journeys.shop import JOBS, Story

BOOKED = datetime(2025, 1, 2, 9, tzinfo=UTC)
AT_WORK = datetime(2025, 1, 16, 9, tzinfo=UTC)
JOB, FILL = "J1175", "OIL/fill"


@pytest.fixture
def oil(story: Story) -> tuple[Story, DescribedClient, int]:
    """The oil at the bench; its item."""
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17")
    story.shelve("G-706", 20, BOOKED)
    story.at = AT_WORK
    rows = story.bring(JOB)
    return story, story.client("jonah"), next(row["item"] for row in rows if row["part"] == "G-706")


def poured(jonah: DescribedClient, item: int, amount_ul: int, **more: Any) -> Any:
    body = {"fittings": [{"position": FILL, "item": item, "amount": amount_ul} | more]}
    return jonah.send(f"jobs/{JOB}/fittings", body | {"occurred_at": AT_WORK.isoformat()})


def lacks(jonah: DescribedClient) -> list[int]:
    rows = jonah.read(f"jobs/{JOB}/open-lines").json()["open"]
    return [row["amount"] for row in rows if row.get("position") == FILL]


def there(jonah: DescribedClient) -> list[int]:
    rows = jonah.read(f"engines/{JOBS[JOB]['engine']}/contents").json()["contents"]
    return [row["amount"] for row in rows if row["position"] == FILL]


def test_a_top_up_adds_and_the_line_is_open_until_all_of_it_is_in(oil):
    _, jonah, item = oil
    assert poured(jonah, item, 1).json()["cleaned_off"] == []
    assert lacks(jonah) == [5_199_999]
    assert poured(jonah, item, 4_999_998).json()["cleaned_off"] == []
    assert lacks(jonah) == [200_001]
    assert poured(jonah, item, 200_000).json()["cleaned_off"] == []
    assert lacks(jonah) == [1]
    assert poured(jonah, item, 1).status_code == 201
    assert (lacks(jonah), there(jonah)) == ([], [5_200_000])


def test_what_adds_up_to_more_than_the_book_is_asked_about(story):
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17")
    story.shelve("G-706", 20, BOOKED)
    story.at = AT_WORK
    rows, jonah = story.bring(JOB), story.client("jonah")
    item = next(row["item"] for row in rows if row["part"] == "G-706")
    extra = story.did(
        jonah, f"jobs/{JOB}/extras", {"part": "G-706", "amount": "2.6 L", "reason": "dropped", "positions": [FILL]}
    )
    piet = story.client("piet")
    scanned = [{"hold": one["hold"], "scanned": one["lot"]} for one in extra["held"]]
    story.did(piet, f"pick-lists/{extra['pick_list']}/picks", {"scans": scanned})
    story.did(piet, f"pick-lists/{extra['pick_list']}/handovers", {"received_by": "jonah"})
    assert poured(jonah, item, 5_200_000).status_code == 201
    assert poured(jonah, item, 2_600_000).status_code == 201  # 7.8 L is one and a half times the book
    over = poured(jonah, item, 1)
    assert (over.status_code, over.json()["code"]) == (422, "fill-over-book")
    assert there(jonah) == [7_800_000]


def test_what_the_engine_came_with_is_drained(story):
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17")
    story.shelve("G-706", 20, BOOKED)
    story.at = AT_WORK
    jonah = story.client("jonah")
    found = story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": FILL, "part": "G-706", "amount": "4 L"}]})
    item = next(row["item"] for row in story.bring(JOB) if row["part"] == "G-706")
    drained = poured(jonah, item, 5_200_000).json()["cleaned_off"]
    assert [(row["item"], row["amount"]) for row in drained] == [(found["found"][0]["item"], 4_000_000)]
    assert there(jonah) == [5_200_000]
