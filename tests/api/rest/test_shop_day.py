"""`?on=` left out is today in the shop, which two hours east of Greenwich is the next day from ten in the evening by UTC on."""

from datetime import date

import pytest
from django.template import loader
from django.utils import timezone

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


@pytest.mark.parametrize(
    ("zone", "made"), [("UTC", "2025-01-15 23:30 UTC"), ("Africa/Johannesburg", "2025-01-16 01:30 SAST")]
)
def test_a_printed_page_shows_the_shop_s_time(settings, zone, made):
    settings.TIME_ZONE = zone
    page = loader.render_to_string("pick_list.html", {"page": {"made_at": NOON.replace(hour=23, minute=30)}})
    assert f"Made {made} by" in page
