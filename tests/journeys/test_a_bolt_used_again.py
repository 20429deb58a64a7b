"""A head bolt that was used once: whether it goes back, by its length, its gauge and its history; over HTTP.

Worked example of the demo shop (invented): R-501, one use on record, limit 191.5 mm with the limit included, two uses at most.
A use is one final tightening; unknown history counts as used up (common practice).
"""

from __future__ import annotations

from typing import Any

import pytest

from kits.models import Inspection
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient
from tests.factories.measuring import PAST, gauge
from tests.factories.rebuilds import at_bench, book, item_at, put_in, shelve
from tests.factories.shop import load_catalogue
from tests.factories.stores import NOON

pytestmark = pytest.mark.django_db

BOLT, OTHER, ROD = "HEAD/bolt-01", "HEAD/bolt-02", "ROD-1/bolt-1"
AT = {"occurred_at": NOON.isoformat()}


@pytest.fixture
def technician() -> DescribedClient:
    """The shop with its gauges in date and out of date; job J2 on an engine whose first bolt went in new on J1."""
    load_catalogue(families=("Rowan-6",))
    gauge("B-1", high="300 mm")
    gauge("B-OLD", high="300 mm", due=PAST)
    first = book(engine="R6-7309", operations=["P4"], findings=[("head-bolt-rejected", BOLT)])
    shelve({"R-501": 1})
    put_in(first, (BOLT, item_at(at_bench(first, steps=["P4/30"]), BOLT)))
    found = [("head-bolt-rejected", BOLT), ("head-bolt-rejected", OTHER), ("rod-parted", "CYL-1")]
    book("J2", engine="R6-7309", operations=["P4"], findings=found)
    return DescribedClient(somebody("technician"))


def out(technician: DescribedClient, position: str) -> int:
    """Take it out to the bench; its item."""
    answer = technician.send("jobs/J2/removals", {"removals": [{"position": position}]} | AT)
    assert answer.status_code == 201, answer.content
    return int(answer.json()["removed"][0]["item"])


def looked(technician: DescribedClient, item: int, result: str, position: str = BOLT, **more: Any) -> tuple[int, str]:
    """The status, and why not: empty where it may go back."""
    said = {
        "position": position,
        "limit": "191.5 mm",
        "result": result,
        "good": True,
        "item": item,
        "gauge": "B-1",
    } | more
    answer = technician.send("jobs/J2/inspections", {"inspections": [said]} | AT)
    return answer.status_code, "" if answer.status_code == 201 else answer.json()["lines"][0]["code"]


def test_the_length_decides_and_a_length_on_the_limit_is_good(technician: DescribedClient) -> None:
    item = out(technician, BOLT)
    assert looked(technician, item, "191.6 mm") == (422, "not-reusable")
    assert looked(technician, item, "looks good") == (422, "not-reusable")
    assert looked(technician, item, "191.2 mm") == (201, "")
    assert looked(technician, item, "191.5 mm") == (201, "")
    assert [row.result for row in Inspection.objects.order_by("pk")] == ["191.2 mm", "191.5 mm"]
    answer = technician.send("jobs/J2/fittings", {"fittings": [{"position": BOLT, "item": item}]} | AT)
    assert (answer.status_code, answer.json()["fitted"][0]["reused"]) == (201, True)


def test_without_a_gauge_that_is_in_date_the_length_is_missing(technician: DescribedClient) -> None:
    item = out(technician, BOLT)
    assert looked(technician, item, "191.2 mm", gauge="B-OLD") == (422, "not-reusable")
    assert looked(technician, item, "191.2 mm", gauge="") == (422, "not-reusable")
    assert looked(technician, item, "191.2 mm", gauge="B-9")[1] == "not-found"
    assert Inspection.objects.count() == 0
    refused = technician.send("jobs/J2/fittings", {"fittings": [{"position": BOLT, "item": item}]} | AT)
    assert (refused.status_code, refused.json()["code"]) == (422, "not-inspected")


def test_a_bolt_that_came_with_the_engine_is_used_up(technician: DescribedClient) -> None:
    found = {"finds": [{"position": OTHER, "part": "R-501"}]} | AT
    assert technician.send("jobs/J2/finds", found).status_code == 201
    item = out(technician, OTHER)
    assert looked(technician, item, "191.2 mm", OTHER) == (422, "not-reusable")


def test_what_is_always_new_never_goes_back(technician: DescribedClient) -> None:
    found = {"finds": [{"position": ROD, "part": "R-503"}]} | AT
    assert technician.send("jobs/J2/finds", found).status_code == 201
    item = out(technician, ROD)
    assert looked(technician, item, "50.0 mm", ROD) == (422, "not-reusable")
    refused = technician.send("jobs/J2/fittings", {"fittings": [{"position": ROD, "item": item}]} | AT)
    assert (refused.status_code, refused.json()["code"]) == (422, "always-new")
