"""Reminders over HTTP."""

import pytest

from kits.models import Job, ToolLoan
from tests.api.rest.clients import ShopClient

pytestmark = pytest.mark.django_db


def test_what_is_late_in_the_shop_and_in_a_job(rebuild):
    rebuild.booked()
    body = {"findings": [{"code": "noise"}], "extra_work": True}
    found = rebuild.did(rebuild.technician, "jobs/J-1/findings", body)["findings"][0]["id"]
    other = {"number": "J-2", "engine": "T4-00212", "operations": ["T3"]}
    rebuild.booked(**other)
    job = Job.objects.get(number="J-2")
    loan = ToolLoan.objects.create(job=job, act=job.booked_by, site=job.site, tool="bead gun")
    shop = rebuild.inspector.read("reminders", on="2099-01-01").json()
    assert shop["on"] == "2099-01-01"
    assert sorted((row["job"], row["kind"], row["number"]) for row in shop["reminders"]) == [
        ("J-1", "owner's word awaited", found), ("J-2", "tool not back", loan.pk),
    ]  # fmt: skip
    mine = rebuild.inspector.read("jobs/J-2/reminders", on="2025-01-21").json()
    assert mine["reminders"] == [
        {
            "job": "J-2",
            "kind": "tool not back",
            "what": "bead gun",
            "late_from": "2025-01-21",
            "days": 1,
            "number": loan.pk,
            "told": "",
        }
    ]
    assert rebuild.inspector.read("jobs/J-2/reminders", on="2025-01-20").json()["reminders"] == []


def test_the_day_is_a_day_and_the_job_is_there(rebuild):
    rebuild.booked()
    for path, asked, status, code in (
        ("reminders", {"on": "2025-13-01"}, 400, "parameter-wrong"),
        ("reminders", {"on": "2025-01-01", "job": "J-1"}, 400, "parameter-unknown"),
        ("jobs/J-9/reminders", {"on": "2025-01-01"}, 404, "not-found"),
    ):
        answer = rebuild.manager.read(path, **asked)
        assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert ShopClient().read("reminders", on="2025-01-01").json()["code"] == "not-logged-in"
