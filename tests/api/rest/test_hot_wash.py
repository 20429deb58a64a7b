"""A hot wash over HTTP, and the question about what is read of light alloy while it is warm."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from kits.models import HotWash, Reading
from tests.factories.measuring import gauge

pytestmark = pytest.mark.django_db

#: Of a piston, which is of light alloy where its family states nothing else.
READ = {"what": "piston-diameter", "value": "85.905 mm", "gauge": "G-1", "place": "CYL-1", "clean": True}


@pytest.fixture
def job(rebuild):
    rebuild.booked()
    gauge("G-1", due=None)
    return rebuild


def washed(job, ago, pieces=("piston",)):
    body = {"pieces": list(pieces), "occurred_at": (timezone.now() - ago).isoformat()}
    return job.did(job.technician, "jobs/J-1/hot-washes", body)


def send(job, **more):
    return job.technician.send("jobs/J-1/readings", {"readings": [READ | more]})


def test_a_warm_piston_is_read_with_temperatures_or_confirmed(job):
    assert washed(job, timedelta(hours=3), ("piston", "block"))["pieces"] == ["block", "piston"]
    answer = send(job)
    (line,) = answer.json()["lines"]
    assert (answer.status_code, line["code"], line["values"]["piece"]) == (422, "temperature-missing", "piston")
    assert send(job, part_temperature="41 °C").json()["lines"][0]["code"] == "temperature-missing"
    assert send(job, part_temperature="41 °C", gauge_temperature="21 °C").status_code == 201
    assert send(job, confirmed=True).json()["lines"][0]["code"] == "reason-missing"
    assert send(job, confirmed=True, reason="stood in cold water").status_code == 201
    assert list(Reading.objects.order_by("pk").values_list("confirmed", "reason")) == [
        (False, ""),
        (True, "stood in cold water"),
    ]
    (wash, _) = job.technician.read("jobs/J-1/washed-out").json()["hot_washes"]
    assert (wash["piece"], wash["by"]) == ("block", job.technician.person.username)


def test_after_four_hours_and_of_another_piece_nothing_is_asked(job):
    washed(job, timedelta(hours=5))
    washed(job, timedelta(hours=1), ("block",))
    assert send(job).status_code == 201


def test_what_is_no_piece_and_who_may_not(job):
    for pieces, code in (([], "fields-wrong"), (["bucket"], "piece-unknown")):
        answer = job.technician.send("jobs/J-1/hot-washes", {"pieces": pieces})
        found = answer.json()
        assert code in (found["code"], *(line["code"] for line in found["lines"]))
    assert job.storekeeper.send("jobs/J-1/hot-washes", {"pieces": ["block"]}).status_code == 403
    assert HotWash.objects.count() == 0
