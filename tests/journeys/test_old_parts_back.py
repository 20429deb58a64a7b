"""What came out goes back only as its maker and the procedures allow, whichever procedures the job was booked with."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.rest.described import DescribedClient
from tests.journeys.shop import Story

BOOKED = datetime(2025, 1, 2, 9, tzinfo=UTC)
AT_WORK = datetime(2025, 1, 16, 9, tzinfo=UTC)
JOB = "J1175"


@pytest.fixture
def jonah(story: Story) -> DescribedClient:
    """The technician, at his bench on the day of the work."""
    story.at = AT_WORK
    return story.client("jonah")


def booked(story: Story, *operations: str, findings: tuple[tuple[str, str], ...] = ()) -> None:
    """The job under these procedures and findings."""
    more = {"operations": list(operations), "findings": [{"code": code, "place": place} for code, place in findings]}
    story.book(JOB, BOOKED, "2025-01-15", "2025-01-17", **more)


def taken_out(story: Story, jonah: DescribedClient, **parts: Any) -> dict[str, int]:
    """Find these parts (position → part, its number or a whole find) in the engine and take them out; position → item."""
    finds = [{"position": at} | (part if isinstance(part, dict) else {"part": part}) for at, part in parts.items()]
    found = story.did(jonah, f"jobs/{JOB}/finds", {"finds": finds})["found"]
    story.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": at} for at in parts]})
    return {one["position"]: one["item"] for one in found}


def fit(story: Story, jonah: DescribedClient, position: str, item: int, **more: Any) -> tuple[int, list[str]]:
    """The status of one fitting, and the codes of why not."""
    body = {"fittings": [{"position": position, "item": item}], "checker": "edda", "occurred_at": AT_WORK.isoformat()}
    answer = jonah.send(f"jobs/{JOB}/fittings", body | more)
    return answer.status_code, [] if answer.status_code == 201 else [one["code"] for one in answer.json()["lines"]]


def looked_at(story: Story, jonah: DescribedClient, position: str, good: bool, **more: Any) -> None:
    """An inspection of a part for a position."""
    one = {"position": position, "limit": "by the book", "result": "looked at", "good": good}
    story.did(jonah, f"jobs/{JOB}/inspections", {"inspections": [one | more]})


def open_at(jonah: DescribedClient, position: str) -> list[str]:
    """What is open at a position."""
    return [
        one["what"] for one in jonah.read(f"jobs/{JOB}/open-lines").json()["open"] if one.get("position") == position
    ]


def test_what_no_procedure_of_the_job_speaks_of_goes_back_only_as_the_others_allow(story, jonah):
    """Worked example of the demo shop (invented): its torque-and-angle bolts are never used again; gasket and ring are always new."""
    booked(story, "P3")
    old = taken_out(
        story, jonah,
        **{"HEAD/bolt-01": "A-502", "HEAD/gasket": "A-203", "CYL-1/base-ring": "A-111", "ROCKER-3/rocker": "A-602"},
        **{"CYL-1/set": {"part": "A-101", "serial": "S-OLD"}},
    )  # fmt: skip
    answers = {at: fit(story, jonah, at, item) for at, item in old.items()}
    assert answers == {
        "HEAD/bolt-01": (422, ["always-new"]),
        "HEAD/gasket": (422, ["always-new"]),
        "CYL-1/base-ring": (422, ["always-new"]),
        "ROCKER-3/rocker": (422, ["not-inspected"]),
        "CYL-1/set": (422, ["not-inspected"]),
    }
    for at in ("ROCKER-3/rocker", "CYL-1/set"):
        looked_at(story, jonah, at, True, item=old[at])
        assert fit(story, jonah, at, old[at]) == (201, [])


def test_what_comes_out_puts_its_renewals_on_the_list(story, jonah):
    booked(story, "P1", "P2", findings=())
    before = {position for line in story.list_of(JOB)["lines"] for position in line["positions"]}
    assert not before & {"VALVE-3/stem-seal", "CYL-2/base-ring", "ROD-2/bolt-1"}
    finds = [
        {"position": "VALVE-3/valve", "part": "A-604"},
        {"position": "CYL-2/set", "part": "A-101", "serial": "S-OLD"},
    ]
    story.did(jonah, f"jobs/{JOB}/finds", {"finds": finds})
    out = story.did(
        jonah, f"jobs/{JOB}/removals", {"removals": [{"position": "VALVE-3/valve"}, {"position": "CYL-2/set"}]}
    )
    assert [(one["code"], one["place"]) for one in out["findings"]] == [
        ("liner-lifted", "CYL-2"),
        ("valve-removed", "VALVE-3"),
    ]
    after = {position for line in story.list_of(JOB)["lines"] for position in line["positions"]}
    assert after - before >= {"VALVE-3/stem-seal", "CYL-2/base-ring", "CYL-2/soap", "ROD-2/bolt-1", "ROD-2/bolt-2"}
    assert not {position for position in after if position.startswith(("CYL-1", "CYL-3", "VALVE-2"))}
    again = story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": "CYL-2/base-ring", "part": "A-111"}]})
    assert again["found"][0]["part"] == "A-111"
    out = story.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": "CYL-2/base-ring"}]})
    assert out["findings"] == []  # the liner is known to be lifted


def test_the_removal_taken_back_takes_its_renewals_along(story, jonah):
    booked(story, "P1", "P2", findings=())
    story.did(jonah, f"jobs/{JOB}/finds", {"finds": [{"position": "VALVE-3/valve", "part": "A-604"}]})
    answer = jonah.send(
        f"jobs/{JOB}/removals", {"removals": [{"position": "VALVE-3/valve"}], "occurred_at": AT_WORK.isoformat()}
    )
    act = answer.headers["Location"].rstrip("/").rpartition("/")[2]
    story.did(story.client("maren"), f"acts/{act}/corrections", {"reason": "another valve"})
    assert "VALVE-3/stem-seal" not in {one for line in story.list_of(JOB)["lines"] for one in line["positions"]}


def test_the_part_that_was_passed_goes_in_and_no_other(story, jonah):
    booked(story, "P1", findings=(("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")))
    old = taken_out(story, jonah, **{"MAIN-1/bolt-1": "A-504", "MAIN-1/bolt-2": "A-504"})
    first, second = old["MAIN-1/bolt-1"], old["MAIN-1/bolt-2"]
    looked_at(story, jonah, "MAIN-1/bolt-1", True, item=first)
    looked_at(story, jonah, "MAIN-1/bolt-2", False, item=second)
    assert fit(story, jonah, "MAIN-1/bolt-1", second) == (422, ["not-reusable"])
    assert fit(story, jonah, "MAIN-1/bolt-2", second) == (422, ["not-reusable"])
    assert fit(story, jonah, "MAIN-1/bolt-1", first) == (201, [])


def test_a_word_without_an_item_speaks_of_what_came_out_there(story, jonah):
    booked(story, "P1", findings=(("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")))
    old = taken_out(story, jonah, **{"MAIN-1/bolt-1": "A-504", "MAIN-1/bolt-2": "A-504"})
    looked_at(story, jonah, "MAIN-1/bolt-1", True)
    assert fit(story, jonah, "MAIN-1/bolt-1", old["MAIN-1/bolt-2"]) == (422, ["not-inspected"])
    assert fit(story, jonah, "MAIN-1/bolt-1", old["MAIN-1/bolt-1"]) == (201, [])


def test_an_inspected_part_that_is_scrapped_is_asked_for_again(story, jonah):
    booked(story, "P2", findings=(("rocker-rejected", "VALVE-3"),))
    item = taken_out(story, jonah, **{"ROCKER-3/rocker": "A-602"})["ROCKER-3/rocker"]

    def listed() -> set[str]:
        return {position for line in story.list_of(JOB)["lines"] for position in line["positions"]}

    assert "ROCKER-3/rocker" in listed()
    looked_at(story, jonah, "ROCKER-3/rocker", True, item=item)
    assert "ROCKER-3/rocker" not in listed()
    scrap = {"item": item, "amount": 1, "reason": "dropped", "who_pays": "shop"}
    story.did(jonah, f"jobs/{JOB}/scraps", scrap)
    assert "ROCKER-3/rocker" in listed()
    assert open_at(jonah, "ROCKER-3/rocker") == ["not fitted"]
    shorts = jonah.read(f"jobs/{JOB}/shorts").json()["shorts"]
    assert [(one["part"], one["short"]) for one in shorts if one["part"] == "A-602"] == [("A-602", 1)]


def test_what_was_taken_out_and_never_came_back_is_open(story, jonah):
    booked(story, "P3", findings=())
    item = taken_out(story, jonah, **{"ROCKER-3/rocker": "A-602"})["ROCKER-3/rocker"]
    story.did(jonah, f"jobs/{JOB}/scraps", {"item": item, "amount": 1, "reason": "worn", "who_pays": "job"})
    assert open_at(jonah, "ROCKER-3/rocker") == ["taken out, nothing is back"]
    word = {"position": "ROCKER-3/rocker", "because": "the owner fits his own"}
    story.did(jonah, f"jobs/{JOB}/not-needed", {"positions": [word]})
    assert open_at(jonah, "ROCKER-3/rocker") == []


def test_what_is_back_in_its_place_is_not_open(story, jonah):
    booked(story, "P3", findings=())
    item = taken_out(story, jonah, **{"ROCKER-3/rocker": "A-602"})["ROCKER-3/rocker"]
    looked_at(story, jonah, "ROCKER-3/rocker", True, item=item)
    assert fit(story, jonah, "ROCKER-3/rocker", item) == (201, [])
    assert open_at(jonah, "ROCKER-3/rocker") == []


def test_what_another_job_took_out_is_not_in_the_engine_any_more(story, jonah):
    """Two jobs on one engine: the second one takes out what the first one fitted."""
    booked(story, "P3", findings=())
    story.shelve("A-901", 2, BOOKED)
    rows = story.bring(JOB)
    item = next(row["item"] for row in rows if row["part"] == "A-901")
    assert fit(story, jonah, "OIL/filter", item) == (201, [])
    assert open_at(jonah, "OIL/filter") == []
    body = {
        "number": "J-2", "engine": "A4-020744", "site": "TB", "operations": ["P3"], "findings": [],
        "strip_on": "2025-01-15", "fit_on": "2025-01-17",
    }  # fmt: skip
    story.did(story.client("maren"), "jobs", body | {"occurred_at": BOOKED.isoformat()})
    story.did(jonah, "jobs/J-2/removals", {"removals": [{"position": "OIL/filter", "to": "scrap"}]})
    assert open_at(jonah, "OIL/filter") == ["not fitted"]
    held = story.did(jonah, f"jobs/{JOB}/holds", {})["held"]
    assert [row["amount"] for row in held if row["part"] == "A-901"] == [1]
