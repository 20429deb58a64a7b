"""One sump of the demo shop brought to where its nozzle would be cut, over HTTP."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from tests.fixtures.shop_files import document
from tests.journeys.shop import Story, scans

JOB = "J1180"
MORNING = datetime(2025, 1, 29, 8, tzinfo=UTC)
GATES, BEADS = f"jobs/{JOB}/joints/SUMP/gates", f"jobs/{JOB}/joints/SUMP/beads"


def at(minutes: int) -> str:
    """So many minutes after the morning began."""
    return (MORNING + timedelta(minutes=minutes)).isoformat()


def sump_at_bench(story: Story, weight: str) -> Any:
    """The sheet on record, a tube opened and weighed on the shelf, everything for the sump at the bench; what was held."""
    before = MORNING - timedelta(days=10)
    for part, pieces in {"G-701": 3, "G-710": 5, "A-212": 2, "A-901": 1, "G-706": 10}.items():
        story.shelve(part, pieces, before)
    sheet = next(row for row in document("shop")["product_sheets"] if row["part"] == "G-701")
    body = {name: value for name, value in sheet.items() if name != "part"} | {"occurred_at": before.isoformat()}
    story.did(story.client("maren"), f"parts/{story.x('G-701')}/sheets", body)
    closed = story.item("G-701", f"lot={story.x('G-701')}/1")
    place = document("shop")["homes"]
    cupboard = next(home["place"] for home in place if (home["site"], home["kind"]) == ("TB", "sealant"))
    opening = {"place": cupboard, "tube": "OPEN-1", "occurred_at": (before + timedelta(days=5)).isoformat()}
    story.did(story.client("piet"), f"items/{closed}/openings", opening)
    story.did(story.client("piet"), "tubes/OPEN-1/weighings", {"weight": weight, "occurred_at": at(-60)})
    story.book(JOB, MORNING - timedelta(hours=1), "2025-01-29", "2025-01-31")
    held = story.did(story.client("jonah"), f"jobs/{JOB}/holds", {"occurred_at": at(0)})
    bring(story, held, 10)
    return held


def bring(story: Story, held: Any, minutes: int) -> None:
    """Picked and handed over; one more that was asked for comes closed, and says no part of its own."""
    piet, path = story.client("piet"), f"pick-lists/{held['pick_list']}"
    story.did(
        piet,
        f"{path}/picks",
        {"scans": scans([{"tube": "", "part": ""} | row for row in held["held"]]), "occurred_at": at(minutes)},
    )
    story.look(held["pick_list"], occurred_at=at(minutes + 2))
    story.did(piet, f"{path}/handovers", {"received_by": story.x("jonah"), "occurred_at": at(minutes + 5)})


def answers(minutes: int, weight: str, **more: Any) -> dict[str, Any]:
    """Every question answered yes, the open tube weighed, a bay at 23 °C and 50 %."""
    return {
        "faces_clean_dry": True,
        "test_fit": True,
        "dowels_in": True,
        "bolts": 18,
        "tubes": [{"tube": "OPEN-1", "weight": weight}],
        "temperature": "23 °C",
        "humidity": "50 %",
        "occurred_at": at(minutes),
    } | more
