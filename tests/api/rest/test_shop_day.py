"""`?on=` left out is today in the shop, which two hours east of Greenwich is the next day from ten in the evening by UTC on."""

from datetime import date

import pytest
from django.template import loader
from django.utils import timezone

from tests.api.rest.described import description
from tests.api.rest.rebuilds import job_body
from tests.factories.stores import NOON

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("zone", "today"), [("UTC", date(2025, 1, 15)), ("Africa/Johannesburg", date(2025, 1, 16))])
def test_today_is_that_of_the_shop(rebuild, settings, monkeypatch, zone, today):
    rebuild.booked(fit_on="2025-01-15")
    settings.TIME_ZONE = zone
    monkeypatch.setattr(timezone, "now", lambda: NOON.replace(hour=23, minute=30))
    assert rebuild.manager.read("write-offs").json()["on"] == today.isoformat()
    # The day of fitting has passed in the one and not in the other.
    start = rebuild.manager.read("jobs/J-1/startable").json()
    assert start["hand_over"]["planned"] == today.isoformat()


LISTED = ("list", "cover", "shorts", "startable", "open-lines", "to-return", "approvals", "used-again", "revisions")


def test_whatever_rests_on_a_list_is_asked_for_a_day(rebuild):
    rebuild.booked()
    for path in LISTED:
        assert rebuild.manager.read(f"jobs/J-1/{path}", on="2025-01-20").status_code == 200, path
        refused = rebuild.manager.read(f"jobs/J-1/{path}", on="tomorrow").json()
        assert (path, refused["code"], refused["values"]["parameter"]) == (path, "parameter-wrong", "on")


@pytest.mark.parametrize("last", ["9999-12-31", "3000-01-01", "1899-12-31", "0001-01-01"])
def test_a_day_that_leaves_no_room_to_count_from_is_refused_and_no_server_error(rebuild, last):
    rebuild.booked()
    asked = {path for path, operation in description()["paths"].items() if "{" not in path and takes_a_day(operation)}
    assert "/api/v1/write-offs" in asked
    own = {f"/api/v1/jobs/J-1/{name}" for name in LISTED}
    own |= {"/api/v1/sites/TS/checkers", "/api/v1/engines/T4-00211/contents"}
    for path in sorted(asked | own):
        site = {"site": "TS"} if path.endswith("/bins-due") else {}
        refused = rebuild.manager.get(path, {"on": last} | site).json()
        assert (path, refused["code"], refused["values"]["parameter"]) == (path, "parameter-wrong", "on")
    body = job_body(number="J-2", strip_on=last, fit_on=last)
    assert rebuild.manager.send("jobs", body).json()["code"] == "fields-wrong"


def takes_a_day(operation):
    return any(one["name"] == "on" for one in operation.get("get", {}).get("parameters", ()))


@pytest.mark.parametrize(
    ("zone", "made"), [("UTC", "2025-01-15 23:30 UTC"), ("Africa/Johannesburg", "2025-01-16 01:30 SAST")]
)
def test_a_printed_page_shows_the_shop_s_time(settings, zone, made):
    settings.TIME_ZONE = zone
    page = loader.render_to_string("pick_list.html", {"page": {"made_at": NOON.replace(hour=23, minute=30)}})
    assert f"Made {made} by" in page
