"""Engines handed over, meters read and changed, and whether a day lies inside the term."""

from datetime import date
from decimal import Decimal

import pytest

from inventory.domain.errors import DomainError
from inventory.models import Refusal
from kits.models import Engine, EngineHandover, Job, MeterReading
from kits.queries.terms import readings_record, term_record
from kits.services.finish import cancel_job, close_job, mark_not_needed
from kits.services.terms import change_meter, hand_engine_over, read_meter
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, later, listed, person
from tests.factories.stores import NOON, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TRUCK = "R6-7309"


def built(number="J1", engine=TRUCK, **more):
    """A job that is closed: its one line gets nothing."""
    findings = [("pushrod-rejected", "VALVE-01")] if engine == TRUCK else []
    job = book(
        number=number, engine=engine, operations=["P4"] if engine == TRUCK else ["P5"], findings=findings, **more
    )
    rest = {name for line in listed(job).lines for name, _ in line.keys}
    if rest:
        done(mark_not_needed, job=number, positions=dict.fromkeys(rest, "it is good"))
    done(close_job, actor=person("fitter"), job=number, checker=person("checker", "act_check"))
    return job


def at(day, hour=12):
    return stamp(NOON.replace(year=day.year, month=day.month, day=day.day, hour=hour))


def read(shows, on, moment="claim", **more):
    facts = {"engine": TRUCK, "meter": "hours", "moment": moment, "read_on": on, "shows": Decimal(shows)}
    return facts | {"photo_ref": "photo 1", "stamp": at(date(2026, 1, 1))} | more


def term(on, engine=TRUCK):
    return term_record(Engine.objects.get(number=engine), on)


def test_a_term_runs_from_the_hand_over():
    built()
    before = term(date(2025, 2, 1))
    assert (before["begun"], before["within"], before["why"]) == (
        False, None, "no hand-over is on record: the term has not begun",
    )  # fmt: skip
    handed = done(hand_engine_over, job="J1", handed_over_on=date(2025, 1, 31), stamp=at(date(2025, 2, 3)))
    assert handed == {"job": "J1", "engine": TRUCK, "handed_over_on": "2025-01-31", "new_term": True, "stopped": []}
    done(read_meter, **read("0", date(2025, 1, 31), "hand-over"))
    done(read_meter, **read("1089.5", date(2025, 6, 1)))
    found = term(date(2025, 6, 1))
    assert (found["within"], found["job"], found["handed_over_on"], found["ends_on"]) == (
        True, "J1", date(2025, 1, 31), date(2026, 7, 31),
    )  # fmt: skip
    assert [(one["limit"], one["within"]) for one in found["limits"]] == [
        ("months", True), ("hours", True), ("kilometres", True),
    ]  # fmt: skip
    assert found["limits"][1]["why"] == "1,089.5 h since hand-over on 2025-06-01, limit 3,000 h"
    assert term(date(2026, 8, 1))["within"] is False


def test_over_a_changed_meter_it_is_out_by_hours():
    # Worked example of the demo shop: old meter out at 1,240 h, the new one begins at 0 and shows 1,790: 3,030 h of 3,000.
    built()
    done(hand_engine_over, job="J1", handed_over_on=date(2025, 1, 31), stamp=at(date(2025, 2, 3)))
    done(read_meter, **read("0", date(2025, 1, 31), "hand-over"))
    changed = {"engine": TRUCK, "meter": "hours", "changed_on": date(2025, 9, 1), "photo_ref": "photo 2"}
    body = done(change_meter, **changed, old_shows=Decimal(1240), new_begins_at=Decimal(0), stamp=at(date(2025, 9, 2)))
    assert body == {"engine": TRUCK, "meter": "hours", "on": "2025-09-01", "shows": "1,240 h", "asked": []}
    done(read_meter, **read("1790", date(2025, 12, 1)))
    found = term(date(2025, 12, 1))
    assert (found["within"], found["why"]) == (False, "3,030 h since hand-over on 2025-12-01, limit 3,000 h")
    record = readings_record(Engine.objects.get(number=TRUCK))
    assert record["ran"] == {"hours": "3,030 h"}
    assert [(row["moment"], row["shows"], row["new_begins_at"]) for row in record["readings"]] == [
        ("hand-over", "0 h", ""), ("meter change", "1,240 h", "0 h"), ("claim", "1,790 h", ""),
    ]  # fmt: skip


def test_a_lower_reading_or_none_photographed_is_asked_and_both_are_kept():
    built(hours=Decimal("1240.0"), photo_ref="photo 0")
    error = refused("reading-asked", read_meter, **read("1239.9", date(2025, 6, 1), photo_ref=" "))
    assert error.values["questions"] == [
        f"1,239.9 h is lower than 1,240 h on {NOON.date()} (arrival)",
        "the meter was not photographed",
    ]
    refused("reason-missing", read_meter, **read("1239.9", date(2025, 6, 1), confirmed=True, reason=" "))
    assert MeterReading.objects.count() == 1  # the one at arrival
    kept = read("1239.9", date(2025, 6, 1), confirmed=True, reason="1,240 was misread at arrival")
    body = done(read_meter, **kept)
    assert body["asked"] == [error.values["questions"][0]]
    record = readings_record(Engine.objects.get(number=TRUCK))
    assert record["at_booking"] == [{"job": "J1", "hours": "1240.0", "kilometres": None}]
    assert [(row["shows"], row["asked"], row["reason"]) for row in record["readings"]] == [
        ("1,240 h", "", ""),
        ("1,239.9 h", error.values["questions"][0], "1,240 was misread at arrival"),
    ]
    # What is asked for nothing needs no confirming.
    assert done(read_meter, **read("1300", date(2025, 7, 1)))["asked"] == []


def test_what_the_meters_show_at_arrival_is_asked_about_as_other_readings_are():
    engine = {"engine": TRUCK, "operations": ["P4"]}
    with pytest.raises(DomainError) as asked:
        book(**engine, hours=Decimal(1240))
    assert (asked.value.code, asked.value.values["questions"]) == ("reading-asked", ["the meter was not photographed"])
    # Nothing of the booking stayed, the engine neither; the refusal is on record.
    assert (Job.objects.count(), Engine.objects.count(), MeterReading.objects.count()) == (0, 0, 0)
    assert Refusal.objects.get().code == "reading-asked"
    book(**engine, hours=Decimal(1240), kilometres=80_000, photo_ref="photo 1")
    lower = {
        "number": "J2",
        **engine,
        "hours": Decimal(1300),
        "kilometres": 79_999,
        "photo_ref": "photo 2",
        "at": later(1),
    }
    for more, code in (({}, "reading-asked"), ({"confirmed": True, "reason": " "}, "reason-missing")):
        with pytest.raises(DomainError) as asked:
            book(**lower, **more)
        assert (asked.value.code, asked.value.values["questions"]) == (
            code, [f"79,999 km is lower than 80,000 km on {NOON.date()} (arrival)"],
        )  # fmt: skip
    book(**lower, confirmed=True, reason="the tens of thousands were misread before")
    record = readings_record(Engine.objects.get(number=TRUCK))
    # Both are kept, each with its photograph, what was asked and why it stands.
    assert [(row["moment"], row["shows"], row["photo"], bool(row["asked"])) for row in record["readings"]] == [
        ("arrival", "1,240 h", "photo 1", False), ("arrival", "80,000 km", "photo 1", False),
        ("arrival", "1,300 h", "photo 2", False), ("arrival", "79,999 km", "photo 2", True),
    ]  # fmt: skip
    assert record["readings"][3]["reason"] == "the tens of thousands were misread before"
    assert record["ran"]["hours"] == "1,300 h"


def test_who_is_refused():
    book(engine=TRUCK, operations=["P4"])

    def late(job, on=date(2025, 1, 31)):
        return {"job": job, "handed_over_on": on, "stamp": at(date(2025, 2, 3))}

    refused("not-found", hand_engine_over, **late("J9"))
    refused("job-not-closed", hand_engine_over, **late("J1"))
    done(cancel_job, job="J1", reason="sold")
    refused("job-not-closed", hand_engine_over, **late("J1"))
    built("J2")
    for wrong in (date(2025, 2, 4), date(2025, 1, 9)):
        refused("dates-turned", hand_engine_over, **late("J2", wrong))
    done(hand_engine_over, **late("J2"))
    refused("handed-over-already", hand_engine_over, **late("J2"))
    refused("not-found", read_meter, **read("1", date(2025, 6, 1), engine="R6-9999"))
    refused("dates-turned", read_meter, **read("1", date(2026, 1, 2)))
    refused("meter-unknown", read_meter, **read("1", date(2025, 6, 1), meter="miles"))
    refused("meter-unknown", read_meter, **read("1", date(2025, 6, 1), "lunch"))
    refused("amount-negative", read_meter, **read("-1", date(2025, 6, 1)))
    assert (EngineHandover.objects.count(), MeterReading.objects.count()) == (1, 0)


def test_the_same_key_is_the_same_reading():
    built()
    once, who = at(date(2025, 6, 2)), person("hester")
    facts = read("5", date(2025, 6, 1)) | {"actor": who, "stamp": once}
    first, again = read_meter(**facts), read_meter(**facts)
    assert (again.replayed, again.body, MeterReading.objects.count()) == (True, first.body, 1)
    refused("key-reused", read_meter, **facts | {"shows": Decimal(6)})
    handed = {"actor": who, "stamp": at(date(2025, 2, 3)), "job": "J1", "handed_over_on": date(2025, 1, 31)}
    assert (hand_engine_over(**handed).replayed, hand_engine_over(**handed).replayed) == (False, True)


def test_a_rework_inside_the_term_goes_on_with_it():
    built()
    done(hand_engine_over, job="J1", handed_over_on=date(2025, 1, 31), stamp=at(date(2025, 2, 3)))
    built("J2")
    rework = {"job": "J2", "handed_over_on": date(2025, 5, 1), "new_term": False, "stamp": at(date(2025, 5, 2))}
    done(hand_engine_over, **rework)
    assert (term(date(2025, 6, 1))["job"], term(date(2025, 6, 1))["ends_on"]) == ("J1", date(2026, 7, 31))
    built("J3")
    done(hand_engine_over, job="J3", handed_over_on=date(2025, 9, 1), stamp=at(date(2025, 9, 2)))
    assert (term(date(2025, 9, 1))["job"], term(date(2025, 8, 31))["job"]) == ("J3", "J1")
