"""S26: one head off a V engine: nothing of the other head, and a worn cork gasket there that a person has to decide about.

Worked example of the demo shop (invented): both intake gaskets, the valley with its four corner dabs of 0.5 mL, nine bolts of
one kind and one of the other, two nozzle tips, 6.0 L of coolant. The corner bead: 120 mm × π/4 × (2.0 mm)² = 0.377 mL; the
exhaust coating: 96 cm² × 0.05 mm = 0.48 mL.
"""

from datetime import UTC, datetime

import pytest

from tests.journeys.shop import Story, totals

JOB = "J1179"
LEFT_HEAD = {
    "H-201": 1, "H-501": 9, "H-502": 1, "H-204": 1, "H-221": 2, "H-222": 1, "H-223": 1, "H-206": 1, "H-225": 2, "H-226": 1,
    "G-710": 2, "G-707": 6_000_000, "G-701": 2_377, "G-711": 480,
}  # fmt: skip
#: The sealant in its tube, the film lubricant in its can.
CART = LEFT_HEAD | {"G-701": 1, "G-711": 1}
RIGHT = "ROCKER-COVER-RIGHT/gasket"


@pytest.fixture
def booked(story: Story) -> Story:
    story.shelve_story("S26", datetime(2025, 1, 10, 8, tzinfo=UTC))
    story.book(JOB, datetime(2025, 1, 15, 8, tzinfo=UTC), "2025-01-27", "2025-01-30")
    story.at = datetime(2025, 1, 27, 8, tzinfo=UTC)
    return story


def cork_on_the_right_bank(story: Story) -> None:
    finds = {"finds": [{"position": RIGHT, "part": "H-205", "condition": "tight, still cork"}]}
    story.did(story.client("jonah"), f"jobs/{JOB}/finds", finds)


def test_the_left_head_alone(booked: Story) -> None:
    listed = booked.list_of(JOB)
    assert totals(listed["lines"]) == LEFT_HEAD
    positions = [position for line in listed["lines"] for position in line["positions"]]
    assert [position for position in positions if "RIGHT" in position] == ["INTAKE-RIGHT/gasket"]
    assert [line["positions"] for line in listed["lines"] if line["part"] == "H-502"] == [["HEAD-LEFT/bolt-07"]]
    dabs = [line for line in listed["lines"] if line["part"] == "G-701" and "VALLEY/corner-dab-1" in line["positions"]]
    assert [(line["positions"], line["amount"]) for line in dabs] == [
        ([f"VALLEY/corner-dab-{number}" for number in (1, 2, 3, 4)], 2_000)
    ]
    assert (listed["complete"], listed["conflicts"]) == (True, [])
    held = booked.did(booked.client("jonah"), f"jobs/{JOB}/holds", {})
    assert (totals(held["held"]), held["shorts"]) == (CART, [])


def test_cork_on_the_other_bank_is_shown_and_holds_the_kit_up(booked: Story) -> None:
    cork_on_the_right_bank(booked)
    listed = booked.list_of(JOB)
    assert [(one["kind"], one["position"], one["needs_person"]) for one in listed["conflicts"]] == [
        ("not-alike", "ROCKER-COVER-LEFT/gasket", True)
    ]
    answer = booked.client("jonah").send(f"jobs/{JOB}/holds", {})
    assert (answer.status_code, answer.json()["code"]) == (422, "list-not-ready")


def test_a_person_chooses_cork_for_both_banks(booked: Story) -> None:
    cork_on_the_right_bank(booked)
    said = {"choice": "rocker-cover-gasket", "alternative": "part:H-205", "reason": "the right bank keeps its cork"}
    booked.did(booked.client("jonah"), f"jobs/{JOB}/choices", said)
    listed = booked.list_of(JOB)
    cork = {part: amount for part, amount in LEFT_HEAD.items() if part != "H-206"} | {"H-205": 1}
    assert (totals(listed["lines"]), listed["conflicts"]) == (cork, [])
    held = booked.did(booked.client("jonah"), f"jobs/{JOB}/holds", {})
    assert (totals(held["held"]), held["shorts"]) == (cork | {"G-701": 1, "G-711": 1}, [])


def test_a_new_rubber_gasket_on_the_other_bank_settles_it_too(booked: Story) -> None:
    cork_on_the_right_bank(booked)
    removal = {"removals": [{"position": RIGHT, "to": "scrap", "reason": "renewed with the other one"}]}
    booked.did(booked.client("jonah"), f"jobs/{JOB}/removals", removal)
    listed = booked.list_of(JOB)
    assert (listed["conflicts"], totals(listed["lines"])) == ([], LEFT_HEAD)
