"""S8: three lots of base rings, three jobs, a margin of 14 days: each job takes the earliest lot that is good on its day.

Worked example of the demo shop (invented). Lots L-A 8, use by 2025-04-10; L-B 12, 2025-09-30; L-C 20, 2028-06-30. J2 is fitted
on 2025-05-06 and needs 8, J1 on 2025-03-20 needs 4, J3 on 2025-04-08 needs 4; picked in that order. By time of picking alone J2
would take 8 of L-A, expired at fitting.
"""

from datetime import UTC, datetime

import pytest

from inventory.models import Balance, Lot
from tests.fixtures.shop_files import document
from tests.journeys.shop import Story, totals

RING, NOW = "A-111", datetime(2025, 3, 1, 8, tzinfo=UTC)
TABLE = document("opening")["stories"]["S8"]
ENGINES = {"J2": "A4-020751", "J1": "A4-020760", "J3": "A4-020763"}


@pytest.fixture
def booked(story: Story) -> Story:
    """The three lots on the shelf with the use-by of the table; each job renews all four liners."""
    for row in TABLE["lots"]:
        story.shelve(RING, row["pieces"], NOW, lot=row["lot"])
        Lot.objects.filter(code=row["lot"]).update(expires_on=row["expires_on"])
    for need in TABLE["needs"]:
        body = {
            "number": need["job"],
            "engine": ENGINES[need["job"]],
            "site": "TB",
            "operations": ["P1"],
            "strip_on": "2025-03-03",
            "fit_on": need["fit_on"],
            "findings": [{"code": "cylinder-chosen", "place": f"CYL-{n}"} for n in (1, 2, 3, 4)],
            "new_engine": True,
        }
        story.did(story.client("maren"), "jobs", body)
    return story


def hold_in_order_of_picking(story: Story) -> None:
    for need in TABLE["needs"]:
        job = need["job"]
        story.did(story.client("jonah"), f"jobs/{job}/holds", {"occurred_at": NOW.isoformat()})
        if need["pieces"] > 4:
            more = {
                "part": RING,
                "amount": need["pieces"] - 4,
                "reason": "damaged in fitting",
                "occurred_at": NOW.isoformat(),
            }
            story.did(story.client("jonah"), f"jobs/{job}/extras", more)


def lots_of(story: Story, job: str) -> dict[str, int]:
    return totals(story.client("piet").rows(f"jobs/{job}/holds", part=RING, open="true"), "lot")


def free() -> dict[str, int]:
    rows = Balance.objects.filter(part__number=RING, pickable=True)
    return {row.item.lot.code: row.amount - row.held for row in rows.select_related("item__lot")}


def test_each_job_gets_the_earliest_lot_that_is_good_on_its_day(booked: Story) -> None:
    hold_in_order_of_picking(booked)
    assert {job: lots_of(booked, job) for job in ENGINES} == {"J1": {"L-A": 4}, "J3": {"L-B": 4}, "J2": {"L-B": 8}}
    assert free() == {"L-A": 4, "L-B": 0, "L-C": 20}


def test_a_day_that_slips_to_may_still_finds_its_lot_good(booked: Story) -> None:
    hold_in_order_of_picking(booked)
    moved = booked.did(
        booked.client("maren"),
        "jobs/J3/dates",
        {"fit_on": "2025-05-02", "reason": "the crank is late", "occurred_at": NOW.isoformat()},
    )
    assert (moved["replaced"], moved["shorts"]) == ([], [])
    assert lots_of(booked, "J3") == {"L-B": 4}


def test_a_day_that_slips_past_its_lot_takes_the_next_one(booked: Story) -> None:
    """J1 moved from 20 March to 2 April: 2 April and 14 days lie behind L-A's 10 April; of L-B nothing is left, so L-C."""
    hold_in_order_of_picking(booked)
    moved = booked.did(
        booked.client("maren"),
        "jobs/J1/dates",
        {"fit_on": "2025-04-02", "reason": "the owner is away", "occurred_at": NOW.isoformat()},
    )
    assert totals(moved["replaced"], "to_lot") == {"L-C": 4}
    assert lots_of(booked, "J1") == {"L-C": 4}
    assert free() == {"L-A": 8, "L-B": 0, "L-C": 16}


def test_the_last_day_that_suits_the_lot_is_27_march(booked: Story) -> None:
    hold_in_order_of_picking(booked)
    for day, lot in (("2025-03-27", "L-A"), ("2025-03-28", "L-C")):
        booked.did(
            booked.client("maren"), "jobs/J1/dates", {"fit_on": day, "reason": "to see", "occurred_at": NOW.isoformat()}
        )
        assert lots_of(booked, "J1") == {lot: 4}, day


def test_what_is_left_of_the_first_lot_is_forecast_lost_with_the_last_day_that_would_save_it(booked: Story) -> None:
    # 4 pcs of L-A forecast lost, announced with "use by fit date 2025-03-27". Source: worked example of the demo shop (invented). Nothing was used before.
    hold_in_order_of_picking(booked)
    body = booked.client("maren").read("write-offs", part=RING, on="2025-03-01").json()
    rows = {row["lot"]: row for row in body["lots"]}
    assert {lot: (row["on_shelf"], row["held"], row["expected_lost"]) for lot, row in rows.items()} == {
        "L-A": (8, 4, "4.000"),
        "L-B": (12, 12, "0.000"),
    }
    assert rows["L-A"]["said"].startswith("4.0 of 4 of L-A forecast lost, use by fit date 2025-03-27; thin data")
    assert [(row["month"], row["expected_lost"]) for row in body["months"]] == [
        ("2025-04", "4.000"),
        ("2025-09", "0.000"),
    ]
