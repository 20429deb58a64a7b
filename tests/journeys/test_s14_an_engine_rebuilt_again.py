"""S14: an engine that was rebuilt, and reworked under warranty thirteen months later: two layers, both on record.

The history is the demo shop's own (invented): R6-7211 was built on 2023-10-23 and reworked on 2024-11-18.
"""

from collections import Counter
from decimal import Decimal

import pytest

from kits.models import Inspection
from tests.api.rest.clients import ShopClient

ENGINE = "R6-7211"
RENEWED = {
    "R-111", "R-112", "R-113", "R-114", "R-103", "R-201", "R-204", "R-205", "R-206", "R-503", "R-403", "R-401", "G-702",
    "G-712", "R-901", "G-706", "G-707",
}  # fmt: skip


def contents(client: ShopClient, **when: str) -> list[dict]:
    answer = client.read(f"engines/{ENGINE}/contents", **when)
    assert answer.status_code == 200
    return answer.json()["contents"]


def lots_of(rows: list[dict], part: str) -> Counter:
    return Counter(row["lot"] for row in rows if row["part"] == part)


@pytest.mark.parametrize(
    ("when", "lot", "job"),
    [({"on": "2024-11-17"}, "SB-2302", "J1065"), ({"on": "2024-11-18"}, "SB-2402", "J1156"), ({}, "SB-2402", "J1156")],
)
def test_the_lower_rings_of_each_layer(hester: ShopClient, when: dict, lot: str, job: str) -> None:
    rows = contents(hester, **when)
    assert lots_of(rows, "R-113") == Counter({lot: 6})
    assert {row["job"] for row in rows if row["part"] == "R-113"} == {job}


def test_what_was_known_before_the_rework_was_recorded_stays_as_it_was(hester: ShopClient) -> None:
    assert lots_of(contents(hester, on="2024-11-18", known="2024-11-17"), "R-113") == Counter({"SB-2302": 6})


def test_what_the_rework_renewed_and_what_went_back_into_its_own_place(hester: ShopClient) -> None:
    rows = contents(hester)
    second = [row for row in rows if row["job"] == "J1156"]
    assert {row["part"] for row in second if not row["reused"]} >= RENEWED
    sets = {row["position"]: row for row in rows if row["part"] == "R-101"}
    first = {row["position"]: row["serial"] for row in contents(hester, on="2024-11-17") if row["part"] == "R-101"}
    assert len(sets) == 6
    assert {position: row["serial"] for position, row in sets.items()} == first
    assert {row["reused"] for row in sets.values()} == {True}


BOLTS = {f"HEAD/bolt-{number:02}" for number in range(1, 27)}


def bolts_of(rows: list[dict]) -> dict[str, dict]:
    return {row["position"]: row for row in rows if row["part"] == "R-501"}


def test_the_head_bolts_went_back_by_their_length_for_their_second_use(hester: ShopClient) -> None:
    """R-501: 191.5 mm at most and two uses at most (worked example of the demo shop, invented)."""
    first, second = bolts_of(contents(hester, on="2024-11-17")), bolts_of(contents(hester))
    assert first.keys() == second.keys() == BOLTS
    assert {(row["job"], row["reused"]) for row in first.values()} == {("J1065", False)}
    assert {(row["job"], row["reused"]) for row in second.values()} == {("J1156", True)}
    assert {at: row["lot"] for at, row in first.items()} == {at: row["lot"] for at, row in second.items()}
    looked = Inspection.objects.filter(job__number="J1156", position__in=BOLTS)
    assert looked.count() == len(BOLTS)
    assert {(row.good, row.item.lot.code) for row in looked} == {(True, row["lot"]) for row in second.values()}
    assert {row.gauge.number for row in looked} == {"TB-BL-1"}
    assert all(Decimal("189") < Decimal(row.result.removesuffix(" mm")) <= Decimal("191.5") for row in looked)


def test_no_head_bolt_is_tightened_a_third_time(maren: ShopClient) -> None:
    """The same bolt, measured as short as before: two uses are on record, and two are the most."""
    booked = {
        "number": "J9001", "engine": ENGINE, "site": "TB", "operations": ["P4"], "strip_on": "2025-02-10", "fit_on": "2025-02-14",
        "findings": [{"code": "head-off", "place": "ENGINE"}],
    }  # fmt: skip
    answer = maren.send("jobs", booked)
    assert answer.status_code == 201, answer.content
    out = maren.send("jobs/J9001/removals", {"removals": [{"position": "HEAD/bolt-01"}]})
    assert out.status_code == 201, out.content
    look = {"position": "HEAD/bolt-01", "limit": "191.5 mm", "result": "190.5 mm", "good": True, "gauge": "TB-BL-1"}
    item = out.json()["removed"][0]["item"]
    answer = maren.send("jobs/J9001/inspections", {"inspections": [look | {"item": item}]})
    assert (answer.status_code, answer.json()["lines"][0]["code"]) == (422, "not-reusable")
    assert "tightened 2 times" in answer.json()["lines"][0]["detail"]


def test_the_story_has_two_layers_in_order(hester: ShopClient) -> None:
    story = hester.read(f"engines/{ENGINE}/story").json()
    assert [layer["job"] for layer in story["layers"]] == ["J1065", "J1156"]


def test_a_wrong_digit_is_met_with_near_engines(hester: ShopClient) -> None:
    answer = hester.read("engines/R6-7212X/contents")
    assert answer.status_code in (404, 422)
    wrong = hester.read("engines/R6-7218/contents")
    assert wrong.status_code == 404
    assert ENGINE in wrong.json()["values"]["near"]
