"""An act at half past eleven in the evening by UTC: two hours east of Greenwich it is of the next day, and every day goes by that."""

from datetime import date, timedelta

import pytest

from inventory.models import Lot
from inventory.queries.replay import replay_until
from inventory.services.old_units import record_old_unit
from kits.models import Engine
from kits.queries.contents import engine_contents
from kits.queries.terms import term_record
from kits.services.finish import close_job, mark_not_needed
from kits.services.fit import FitIn, fit
from kits.services.terms import hand_engine_over
from tests.factories.acts import done, refused
from tests.factories.cores import crate, maker, pump
from tests.factories.rebuilds import book, give, hold, item_at, listed, person, put_in, shelve, take
from tests.factories.stores import NOON, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

EVENING = NOON.replace(hour=23, minute=30)
FIFTEENTH, SIXTEENTH = date(2025, 1, 15), date(2025, 1, 16)
RING = "CYL-1/base-ring"


@pytest.fixture(params=[("UTC", FIFTEENTH), ("Africa/Johannesburg", SIXTEENTH)], ids=["greenwich", "two hours east"])
def today(request, settings):
    """The day of the shop in the evening."""
    settings.TIME_ZONE, day = request.param
    return day


def ring_at_bench():
    """A job with a ring at its bench since noon; the job and the item."""
    shelve({"A-111": 2})
    job = book(findings=[("liner-lifted", "CYL-1")])
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body, missing=["G-708"])
    return job, item_at(body, RING)


def test_a_ring_is_fitted_through_its_last_day(today):
    job, item = ring_at_bench()
    Lot.objects.filter(items=item).update(expires_on=FIFTEENTH)
    if today == SIXTEENTH:
        line = {"job": "J1", "fittings": [FitIn(RING, item)], "checker": person("checker", "act_check")}
        error = refused("expired", fit, actor=person("fitter"), stamp=stamp(EVENING), **line)
        assert "2025-01-15" in str(error)
    Lot.objects.filter(items=item).update(expires_on=today)
    assert put_in(job, (RING, item), at=EVENING).body["fitted"][0]["position"] == RING


def test_what_was_in_an_engine_on_a_day_is_what_was_in_it_as_that_day_ended_in_the_shop(today):
    job, item = ring_at_bench()
    put_in(job, (RING, item), at=EVENING)
    before = today - timedelta(days=1)
    assert [row.position for row in engine_contents(job.engine, on=today)] == [RING]
    assert [row.position for row in engine_contents(job.engine, known=today)] == [RING]
    assert engine_contents(job.engine, on=before) == engine_contents(job.engine, known=before) == ()
    moved = replay_until(today).movements
    assert (moved - replay_until(before).movements == 1) is (today == SIXTEENTH)  # the fitting, all else was at noon


def test_a_term_begins_on_the_shop_s_day_and_ends_by_the_month(today):
    engine = "R6-7309"
    job = book(engine=engine, operations=["P4"], findings=[("pushrod-rejected", "VALVE-01")])
    rest = {name for line in listed(job).lines for name, _ in line.keys}
    done(mark_not_needed, job="J1", positions=dict.fromkeys(rest, "it is good"))
    done(close_job, actor=person("fitter"), job="J1", checker=person("checker", "act_check"))
    # The 30th of August by UTC; in the east it is the last of the month already.
    at = stamp(EVENING.replace(month=8, day=30))
    last = date(2025, 8, 31)
    if today == FIFTEENTH:
        error = refused("dates-turned", hand_engine_over, job="J1", handed_over_on=last, stamp=at)
        assert "2025-08-31 lies after 2025-08-30" in str(error)
        last = date(2025, 8, 30)
    done(hand_engine_over, job="J1", handed_over_on=last, stamp=at)
    # Eighteen months from the 30th or the 31st of August: February has neither, so its last day (by hand).
    found = term_record(Engine.objects.get(number=engine), date(2026, 1, 1))
    assert (found["handed_over_on"], found["ends_on"]) == (last, date(2027, 2, 28))


def test_an_old_unit_is_due_so_many_days_from_the_shop_s_day(today):
    crate()
    unit = {"part": pump().number, "to_place": "CRATES", "tag": "T-1", "subject": "J1", "supplier": maker().code}
    body = done(record_old_unit, stamp=stamp(EVENING), **unit)
    assert body["send_back_by"] == (today + timedelta(days=30)).isoformat()
