"""Gauges on the register of the demo shop, and readings of liners and bores, all over HTTP."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from tests.fixtures.shop_files import document
from tests.journeys.shop import Story

#: The liner gauge (u = 3 µm) and the depth gauge (u = 4 µm): U = 10 µm.
HEIGHTS, DEPTHS = "TB-HG-1", "TB-HG-2"
HOW = {
    "part_temperature": "20 °C",
    "gauge_temperature": "20 °C",
    "clean": True,
    "without_rubber": True,
}
#: The example counts micrometres above 92.900 mm.
BASE_UM = 92_900


def register(story: Story, at: datetime, *numbers: str) -> None:
    """Gauges of the demo shop with their calibrations."""
    edda = story.client("edda")
    for row in document("gauges")["gauges"]:
        if row["number"] in numbers:
            gauge = {key: value for key, value in row.items() if key not in ("calibrations", "withdrawn")}
            story.did(edda, "gauges", gauge | {"occurred_at": at.isoformat()})
            for one in row["calibrations"]:
                calibration = {key: value for key, value in one.items() if value != ""}
                path = f"gauges/{row['number']}/calibrations"
                story.did(edda, path, calibration | {"occurred_at": at.isoformat()})


def of_set(serial: str, clock_um: Mapping[str, int], **more: Any) -> list[dict[str, Any]]:
    """A liner's height at clock points, micrometres above 92.900 mm."""
    return _read("liner-height", clock_um, {"set": serial, "gauge": HEIGHTS} | more)


def of_bore(number: int, clock_um: Mapping[str, int], **more: Any) -> list[dict[str, Any]]:
    """A bore's depth at clock points."""
    return _read("block-depth", clock_um, {"place": f"CYL-{number}", "gauge": DEPTHS} | more)


def _read(what: str, clock_um: Mapping[str, int], more: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [
        {"what": what, "value": f"{(BASE_UM + um) / 1000:.3f} mm", "point": point} | HOW | more
        for point, um in clock_um.items()
    ]


def read(story: Story, job: str, *readings: list[dict[str, Any]], at: datetime) -> list[dict[str, Any]]:
    """Enter readings; they as they are on record."""
    rows = [one for rows in readings for one in rows]
    body = {"readings": rows, "occurred_at": at.isoformat()}
    return list(story.did(story.client("jonah"), f"jobs/{job}/readings", body)["readings"])


def layout(story: Story, job: str) -> Any:
    """The proposal."""
    answer = story.client("jonah").read(f"jobs/{job}/layout")
    assert answer.status_code == 200, answer.content
    return answer.json()


def as_shown(proposal: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The bores of a proposal as they are accepted."""
    names = ("position", "serial", "turn_deg", "shim_nm")
    return [{name: bore[name] for name in names} for bore in proposal["bores"] if not bore["stays"]]
