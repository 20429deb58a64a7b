"""S11: a ring without a label: 108.3 across, flattened to 3.55 x 3.41. Two sizes are near; it stays unknown, on every way in.

Worked example of the demo shop (independent script) for the two sizes; the job and its engine are made up beside it.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from inventory.models import Balance, Lot
from tests.api.contract.shops import UNLABELLED
from tests.journeys.shop import Story

RING, JOB, NOW = "A-111", "J2111", datetime(2025, 3, 1, 8, tzinfo=UTC)


@pytest.fixture
def booked(story: Story) -> Story:
    """A job that renews the liners of two cylinders."""
    body = {
        "number": JOB,
        "engine": "A4-020751",
        "site": "TB",
        "operations": ["P1"],
        "strip_on": "2025-03-03",
        "fit_on": "2025-03-20",
        "findings": [{"code": "liner-lifted", "place": f"CYL-{n}"} for n in (1, 2)],
        "new_engine": True,
    }
    story.did(story.client("maren"), "jobs", body)
    return story


def refused(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json()["code"]


def found(story: Story) -> int:
    """The ring lies in its groove when the liner is lifted, and nothing can be read on it; it is put on the bench."""
    line = {"position": "CYL-1/base-ring", "part": RING, "size": "108.3, 3.55 x 3.41", "condition": "swollen, no label"}
    said = story.did(story.client("jonah"), f"jobs/{JOB}/finds", {"finds": [line]})["found"]
    assert [(one["part"], one["known"]) for one in said] == [(RING, False)]
    return int(said[0]["item"])


def test_two_sizes_are_near_and_neither_is_said_to_be_it(story: Story) -> None:
    body = story.client("jonah").read("ring-identifications", **UNLABELLED).json()
    assert body["answer"] == "cannot tell apart"
    assert [one["size"]["words"] for one in body["candidates"]] == [
        "metric 108 x 3.5",
        "inch 107.54 x 3.53 (AS568-244)",
    ]
    assert body["sentence"] == (
        "Metric 108 x 3.5 or inch 107.54 x 3.53 (AS568-244); cannot tell apart on a used ring; measure the groove or use the "
        "parts book; it stays unknown."
    )
    # The groove does not decide it either: both would seal.
    groove = {"groove_diameter": "108.6 mm", "bore": "114.5 mm", "width": "4.8 mm"}
    for one in body["candidates"]:
        check = story.client("jonah").read("groove-checks", size=one["size"]["size"], **groove).json()
        assert (check["suits"], check["reasons"]) == ("yes", [])


def test_asking_writes_nothing(story: Story) -> None:
    before = story.client("maren").rows("acts", ordering="-recorded_at")
    story.client("jonah").read("ring-identifications", **UNLABELLED)
    assert story.client("maren").rows("acts", ordering="-recorded_at") == before


def test_it_is_not_received_as_a_known_ring(booked: Story) -> None:
    maren = booked.client("maren")
    shelf = {"supplier": "Saltby", "place": "TB-R01"}
    line = {"part": RING, "amount": 1}
    assert refused(maren.send("receipts", shelf | {"lines": [line]})) == (422, "lot-missing")
    assert refused(maren.send("receipts", shelf | {"lines": [line | {"lot": "NO LABEL"}]})) == (422, "undated")
    # Into quarantine it may go, and stays there: an inspector cannot give it the date that nobody can read.
    aside = booked.did(
        maren, "receipts", shelf | {"lines": [line | {"lot": "NO LABEL"}], "quarantine": "TB-QUARANTINE"}
    )
    item = aside["lines"][0]["item"]
    out = {"item": item, "amount": 1, "from_place": "TB-QUARANTINE", "to_place": "TB-R01"}
    assert refused(booked.client("edda").send("quarantine-releases", {"lines": [out]})) == (422, "undated")
    assert Lot.objects.get(code="NO LABEL").expires_on is None
    # Nor does a count bring it onto a shelf: the books never had such a thing.
    count = {"place": "TB-R01", "lines": [{"part": RING, "counted": 1}], "reason": "found in a drawer"}
    assert refused(booked.client("piet").send("counts", count)) == (404, "not-found")


def test_a_record_of_its_own_is_to_be_sorted_and_is_not_issued(booked: Story) -> None:
    ring = {"size": "unknown", "id_mm": "108.3", "section_mm": "3.479", "shape": "round"}
    record = {
        "number": "RING-NO-LABEL-1",
        "name": "ring without a label",
        "unit": "EA",
        "ring": ring,
        "compound": "HNBR",
    }
    booked.did(booked.client("maren"), "parts", record)
    shelf = {"supplier": "Saltby", "place": "TB-R01"}
    booked.did(booked.client("maren"), "receipts", shelf | {"lines": [{"part": "RING-NO-LABEL-1", "amount": 1}]})
    more = {"part": "RING-NO-LABEL-1", "amount": 1, "reason": "found after strip"}
    assert refused(booked.client("jonah").send(f"jobs/{JOB}/extras", more)) == (422, "part-to-be-sorted")
    judged = booked.client("jonah").read(f"parts/{RING}/ring-substitutes", side="both").json()["substitutes"]
    assert [one for one in judged if one["part"] == "RING-NO-LABEL-1"] == []


def test_the_ring_that_was_found_is_fitted_nowhere_and_never_becomes_stock(booked: Story) -> None:
    jonah, item = booked.client("jonah"), found(booked)
    booked.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": "CYL-1/base-ring", "to": "bench"}]})
    for place in ("CYL-1/base-ring", "CYL-2/base-ring"):
        answer = jonah.send(f"jobs/{JOB}/fittings", {"fittings": [{"position": place, "item": item}]})
        assert refused(answer) == (422, "always-new")
    back = {"returns": [{"item": item, "amount": 1, "bag_sealed": True, "lot_readable": True, "opened": False}]}
    assert refused(jonah.send(f"jobs/{JOB}/returns", back)) == (422, "not-unused")
    assert Balance.objects.filter(item=item, place__kind="shelf", amount__gt=0).count() == 0


def test_from_quarantine_it_is_not_released_either(booked: Story) -> None:
    item = found(booked)
    removal = {"position": "CYL-1/base-ring", "to": "TB-QUARANTINE", "reason": "to be looked at"}
    booked.did(booked.client("jonah"), f"jobs/{JOB}/removals", {"removals": [removal]})
    out = {"item": item, "amount": 1, "from_place": "TB-QUARANTINE", "to_place": "TB-R01"}
    answer = booked.client("edda").send("quarantine-releases", {"lines": [out | {"cure_code": "3Q22"}]})
    assert refused(answer) == (422, "lot-unknown")
    assert "never becomes stock" in answer.json()["detail"]


def test_a_new_ring_of_the_listed_number_goes_in_instead(booked: Story) -> None:
    booked.shelve(RING, 2, NOW)
    found(booked)
    jonah, piet = booked.client("jonah"), booked.client("piet")
    booked.did(jonah, f"jobs/{JOB}/removals", {"removals": [{"position": "CYL-1/base-ring", "to": "scrap"}]})
    held = booked.did(jonah, f"jobs/{JOB}/extras", {"part": RING, "amount": 1, "reason": "found after strip"})
    scan = [{"hold": one["hold"], "scanned": one["lot"]} for one in held["held"]]
    booked.did(piet, f"pick-lists/{held['pick_list']}/picks", {"scans": scan})
    booked.did(piet, f"pick-lists/{held['pick_list']}/handovers", {"received_by": "jonah"})
    fitting = {"position": "CYL-1/base-ring", "item": held["held"][0]["item"], "lubricant": "G-708"}
    fitted = booked.did(jonah, f"jobs/{JOB}/fittings", {"fittings": [fitting]})["fitted"]
    assert [(one["part"], one["lubricant"]) for one in fitted] == [(RING, "water-based soap")]
    # Taken out again it is no stock, though its lot and its life are known: rubber that was in an engine never is.
    removal = {"position": "CYL-1/base-ring", "to": "TB-QUARANTINE", "reason": "to be looked at"}
    booked.did(jonah, f"jobs/{JOB}/removals", {"removals": [removal]})
    out = {"item": fitting["item"], "amount": 1, "from_place": "TB-QUARANTINE", "to_place": "TB-R01"}
    assert refused(booked.client("edda").send("quarantine-releases", {"lines": [out]})) == (422, "was-in-engine")
    # A fresh one of the same lot that was set aside is released, and only that one.
    lies = held["held"][0]["place"]
    aside = {"item": fitting["item"], "amount": 1, "from_place": lies, "to_place": "TB-QUARANTINE"}
    booked.did(piet, "transfers", {"lines": [aside], "note": "bag torn"})
    edda = booked.client("edda")
    assert refused(edda.send("quarantine-releases", {"lines": [out | {"amount": 2}]})) == (422, "was-in-engine")
    booked.did(edda, "quarantine-releases", {"lines": [out]})
    assert refused(edda.send("quarantine-releases", {"lines": [out]})) == (422, "was-in-engine")
