"""An engine changed hands: whose it was and is, by day; booking for another owner than on record is asked about."""

from typing import Any

import pytest

from inventory.models import Act, Outcome
from kits.models import Engine

pytestmark = pytest.mark.django_db

ENGINE = "T4-00211"
PATH = f"engines/{ENGINE}/owners"


@pytest.fixture
def owned(rebuild: Any) -> tuple[Any, int, int]:
    """J-1 booked for the first of two owners in January; the shop and the owners."""
    first, second = (rebuild.did(rebuild.manager, "owners", {"name": name})["owner"] for name in ("First", "Second"))
    rebuild.booked(owner=first, occurred_at="2025-01-10T09:00:00+00:00")
    return rebuild, first, second


def now() -> int | None:
    return Engine.objects.get(number=ENGINE).owner_id


def test_who_brings_an_engine_in_is_on_record_from_that_day(owned: tuple[Any, int, int]) -> None:
    rebuild, first, _ = owned
    rows = rebuild.manager.read(PATH).json()
    assert [(row["owner"], row["name"], row["since"]) for row in rows] == [(first, "First", "2025-01-10")]
    assert now() == first


def test_an_engine_changes_hands_by_day_and_the_newest_day_counts(owned: tuple[Any, int, int]) -> None:
    rebuild, first, second = owned
    said = rebuild.did(rebuild.manager, PATH, {"owner": second, "since": "2025-03-01"})
    assert said == {"engine": ENGINE, "owner": second, "since": "2025-03-01", "before": first, "now": second}
    # Entered late: it was somebody else's in between.
    third = rebuild.did(rebuild.manager, "owners", {"name": "Third"})["owner"]
    late = rebuild.did(rebuild.manager, PATH, {"owner": third, "since": "2025-02-01"})
    assert (late["before"], late["now"], now()) == (first, second, second)
    assert [row["owner"] for row in rebuild.manager.read(PATH).json()] == [first, third, second]
    story = rebuild.technician.read(f"engines/{ENGINE}/story").json()["events"]
    assert f"owner {second} from 2025-03-01 on" in [row["said"] for row in story if row["what"] == "changed hands"]
    words = str([*Outcome.objects.values_list("body", flat=True), *Act.objects.values_list("subject", "reason")])
    assert "Second" not in words


def test_a_change_by_a_slip_is_taken_back(owned: tuple[Any, int, int]) -> None:
    rebuild, first, second = owned
    rebuild.did(rebuild.manager, PATH, {"owner": second, "since": "2025-03-01"})
    act = Act.objects.get(kind="change hands")
    said = rebuild.did(rebuild.manager, f"acts/{act.pk}/corrections", {"reason": "another engine"})
    assert said["restored"] == {"engine": ENGINE, "owner": first}
    assert now() == first
    assert len(rebuild.manager.read(PATH).json()) == 1


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"since": "2999-01-01"}, "dates-turned"),
        ({"owner": 99_999}, "not-found"),
        ({"owner": "first"}, "nothing-changed"),
    ],
)
def test_what_cannot_be_is_refused(owned: tuple[Any, int, int], change: dict[str, Any], code: str) -> None:
    rebuild, first, second = owned
    body = {"owner": second, "since": "2025-03-01"} | change
    body["owner"] = first if body["owner"] == "first" else body["owner"]
    assert rebuild.manager.send(PATH, body).json()["code"] == code


def test_an_owner_is_not_read_by_everybody(owned: tuple[Any, int, int]) -> None:
    answer = owned[0].technician.read(PATH)
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")


def booking(number: str, **more: Any) -> dict[str, Any]:
    return {
        "number": number, "engine": ENGINE, "site": "TS", "operations": ["T1"], "strip_on": "2025-04-15",
        "fit_on": "2025-04-20", "occurred_at": "2025-04-10T09:00:00+00:00",
    } | more  # fmt: skip


def test_booking_for_another_owner_asks_and_then_enters_the_change(owned: tuple[Any, int, int]) -> None:
    rebuild, first, second = owned
    asked = rebuild.manager.send("jobs", booking("J-2", owner=second))
    assert (asked.status_code, asked.json()["code"]) == (422, "owner-differs")
    assert (asked.json()["values"]["on_record"], asked.json()["values"]["given"]) == (first, second)
    assert now() == first
    rebuild.did(rebuild.manager, "jobs", booking("J-2", owner=second, new_owner=True))
    assert [(row["owner"], row["since"]) for row in rebuild.manager.read(PATH).json()] == [
        (first, "2025-01-10"), (second, "2025-04-10"),
    ]  # fmt: skip
    rebuild.did(rebuild.manager, "jobs", booking("J-3", owner=second))
    rebuild.did(rebuild.manager, "jobs", booking("J-4"))
    assert now() == second


def test_a_job_number_is_one_however_it_is_written(owned: tuple[Any, int, int]) -> None:
    rebuild, _, _ = owned
    for number in ("j-1", "J1", " J-1"):
        answer = rebuild.manager.send("jobs", booking(number))
        assert (answer.status_code, answer.json()["code"]) == (409, "job-exists"), number
        assert answer.json()["values"]["job"] == "J-1"
    rebuild.did(rebuild.manager, "jobs", booking("J-11"))


def test_a_gauge_with_a_slash_in_its_number_is_calibrated_read_and_withdrawn(rebuild: Any) -> None:
    gauge = {
        "number": "MI/07", "name": "micrometer", "kind": "micrometer", "measures": "length", "low": "0 mm",
        "high": "25 mm", "resolution": "0.001 mm", "uncertainty": "0.002 mm", "site": "TS",
    }  # fmt: skip
    rebuild.did(rebuild.inspector, "gauges", gauge)
    done = {"done_on": "2025-01-02", "next_due": "2026-01-02", "master": "M-1", "done_by": "the lab", "passed": True}
    rebuild.did(rebuild.inspector, "gauges/MI%2F07/calibrations", done)
    assert rebuild.inspector.read("gauges/MI%2F07").json()["number"] == "MI/07"
    rebuild.did(rebuild.inspector, "gauges/MI%2F07/withdrawals", {"reason": "dropped"})
