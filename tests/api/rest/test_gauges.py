"""The register of gauges over HTTP."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories.measuring import gauge, gauge_in
from tests.factories.stores import site

GAUGE = {
    "number": "G-1", "name": "depth gauge", "kind": "depth gauge", "measures": "length", "low": "0 mm", "high": "150 mm",
    "resolution": "0.001 mm", "uncertainty": "0.003 mm", "site": "TS", "expansion_ppm": "11.5",
}  # fmt: skip
CALIBRATION = {"done_on": "2024-07-01", "next_due": "2999-06-30", "master": "M-1", "done_by": "the laboratory"}


@pytest.fixture
def inspector(client_of):
    site()
    return client_of("inspector")


def made(client, path, body):
    answer = client.send(path, body)
    assert answer.status_code == 201, answer.content
    return answer.json()


def study(values):
    cells = [(p, o, n) for p in ("1", "2") for o in ("a", "b") for n in (1, 2)]
    return [
        {"part": p, "operator": o, "repeat": n, "value": value} for (p, o, n), value in zip(cells, values, strict=True)
    ]


def test_a_gauge_from_its_entry_to_its_end(inspector):
    assert made(inspector, "gauges", GAUGE) == {"gauge": "G-1", "state": "never calibrated"}
    read = inspector.read("gauges/G-1").json()
    assert (read["state"], read["next_due"], read["calibrations"], read["study"], read["withdrawn"]) == (
        "never calibrated", None, [], None, None,
    )  # fmt: skip
    assert (read["base"], read["low"], read["high"], read["uncertainty"], read["typed"]["uncertainty"]) == (
        "nanometre", 0, 150_000_000, 3_000, "0.003 mm",
    )  # fmt: skip
    body = made(inspector, "gauges/G-1/calibrations", CALIBRATION | {"uncertainty": "0.0025 mm", "certificate": "C 17"})
    assert (body["done_on"], body["next_due"], body["passed"]) == ("2024-07-01", "2999-06-30", True)
    read = inspector.read("gauges/G-1").json()
    assert (read["state"], read["next_due"], read["uncertainty"]) == ("in date", "2999-06-30", 2_500)
    assert [(one["certificate"], one["master"], one["entered_by"]) for one in read["calibrations"]] == [
        ("C 17", "M-1", inspector.person.username)
    ]
    assert made(inspector, "gauges/G-1/withdrawals", {"reason": "dropped"}) == {"gauge": "G-1", "reason": "dropped"}
    read = inspector.read("gauges/G-1").json()
    assert (read["state"], read["withdrawn"]["reason"]) == ("withdrawn", "dropped")
    assert [one["state"] for one in inspector.rows("gauges")] == ["withdrawn"]


def test_the_day_itself_counts(inspector):
    made(inspector, "gauges", GAUGE)
    today = timezone.now().date()
    for due, state in ((today, "in date"), (today - timedelta(days=1), "out of date")):
        made(inspector, "gauges/G-1/calibrations", CALIBRATION | {"next_due": due.isoformat()})
        assert inspector.read("gauges/G-1").json()["state"] == state


def test_a_study_and_the_newest_of_them(inspector):
    gauge("G-1")
    first = study(["0 um", "2 um", "2 um", "0 um", "10 um", "12 um", "12 um", "10 um"])
    body = made(inspector, "gauges/G-1/studies", {"readings": first, "tolerance": "0.1 mm"})
    # repeatability 2 µm², parts 50 µm²: 6 √2 µm of 0.1 mm is 8.49 %, floor(1.41 √25) = 7
    assert (body["verdict"], body["percent_of_tolerance"], body["categories"], body["below_zero"]) == (
        "good", "8.49", 7, ["interaction"],
    )  # fmt: skip
    second = made(inspector, "gauges/G-1/studies", {"readings": first})
    assert second["percent_of_tolerance"] is None
    assert inspector.read("gauges/G-1").json()["study"]["id"] == second["study"]
    answer = inspector.send("gauges/G-1/studies", {"readings": first[:-1]})
    assert (answer.status_code, answer.json()["code"]) == (422, "study-unbalanced")
    assert answer.json()["values"] == {"missing": [["2", "b", 2]], "twice": []}


def test_the_list_is_filtered(inspector):
    gauge("G-1")
    gauge("G-2", kind="bore gauge")
    gauge("W-1", measures="mass", kind="scales", low="0 g", high="3 kg", resolution="0.1 g", uncertainty="0.1 g")

    def numbers(**more):
        return [one["number"] for one in inspector.rows("gauges", **more)]

    assert numbers() == ["G-1", "G-2", "W-1"]
    assert (numbers(kind="bore gauge"), numbers(measures="mass"), numbers(site="XX")) == (["G-2"], ["W-1"], [])
    assert inspector.read("gauges", measures="colour").status_code == 400


@pytest.mark.parametrize(
    ("path", "body", "status", "code"),
    [
        ("gauges", GAUGE, 409, "gauge-known"),
        ("gauges", GAUGE | {"number": "G-2", "high": "0 mm"}, 422, "gauge-unusable"),
        ("gauges", GAUGE | {"number": "G-2", "high": "150"}, 422, "quantity-unreadable"),
        ("gauges", GAUGE | {"number": "G-2", "site": "XX"}, 404, "not-found"),
        ("gauges", GAUGE | {"number": "G-2", "measures": "colour"}, 400, "fields-wrong"),
        ("gauges", GAUGE | {"number": "G-2", "uncertainty": 3}, 400, "fields-wrong"),
        ("gauges/G-404/calibrations", CALIBRATION, 404, "not-found"),
        ("gauges/G-1/calibrations", CALIBRATION | {"done_on": "2999-01-01"}, 422, "from-the-future"),
        ("gauges/G-1/calibrations", CALIBRATION | {"next_due": "2024-06-30"}, 422, "dates-turned"),
        ("gauges/G-1/withdrawals", {"reason": " "}, 400, "fields-wrong"),
        ("gauges/G-1/studies", {"readings": []}, 422, "study-unusable"),
        ("gauges/G-1/studies", {"readings": study(["1"] * 8)}, 422, "quantity-unreadable"),
    ],
)
def test_what_cannot_be_is_refused_by_name(inspector, path, body, status, code):
    gauge("G-1")
    answer = inspector.send(path, body)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.content
    assert [one["number"] for one in inspector.rows("gauges")] == ["G-1"]
    assert len(inspector.read("gauges/G-1").json()["calibrations"]) == 1


def test_an_unknown_gauge_and_who_may(inspector, client_of):
    gauge("G-101")
    answer = inspector.read("gauges/G-1O1")
    assert (answer.status_code, answer.json()["values"]["near"]) == (404, ["G-101"])
    technician = client_of("technician")
    for path in ("gauges", "gauges/G-101/calibrations", "gauges/G-101/withdrawals", "gauges/G-101/studies"):
        assert technician.send(path, {}).json()["code"] == "not-allowed"
    assert [one["number"] for one in technician.rows("gauges")] == [gauge_in("G-101").number]
