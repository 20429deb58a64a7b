"""S14: an engine that was rebuilt, and reworked under warranty thirteen months later: two layers, both on record.

The history is the demo shop's own (invented): R6-7211 was built on 2023-10-23 and reworked on 2024-11-18.
"""

from collections import Counter

import pytest

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


def test_the_story_has_two_layers_in_order(hester: ShopClient) -> None:
    story = hester.read(f"engines/{ENGINE}/story").json()
    assert [layer["job"] for layer in story["layers"]] == ["J1065", "J1156"]


def test_a_wrong_digit_is_met_with_near_engines(hester: ShopClient) -> None:
    answer = hester.read("engines/R6-7212X/contents")
    assert answer.status_code in (404, 422)
    wrong = hester.read("engines/R6-7218/contents")
    assert wrong.status_code == 404
    assert ENGINE in wrong.json()["values"]["near"]
