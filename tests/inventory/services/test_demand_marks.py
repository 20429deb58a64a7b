"""Exceptional months are marked and taken back by entries; a month in which none was there is told from one in which nobody wanted any."""

from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Movement
from inventory.queries.off_job import demand
from inventory.services.correct import correct
from inventory.services.demand_marks import mark_demand
from inventory.services.off_job import LeavingLine, use_in_workshop
from inventory.services.transfer import TransferLine, transfer
from kits.services.kept import release_kept
from tests.factories.acts import done, item, refused
from tests.factories.keeping import switch_on
from tests.factories.stores import PartFactory, PersonFactory, quarantine, shelf, stamp, stock

pytestmark = pytest.mark.django_db
WINDOW = date(2025, 1, 1), date(2025, 3, 31)
NOW = datetime(2025, 4, 1, 12, tzinfo=UTC)


def at(day, month=1, hour=12):
    return datetime(2025, month, day, hour, tzinfo=UTC)


def used(amount, moment, part="P-1", lot="A", place="R1"):
    line = LeavingLine(item(part, f"lot={lot}").pk, amount, place)
    return use_in_workshop(actor=PersonFactory(), stamp=stamp(moment), lines=[line], reason="rig", demand=True)


def ran_out():
    """Five come on 10 January and the last goes on the 20th; three more come on 5 March."""
    part = PartFactory(number="P-1")
    stock(part, 5, lot="A", place=shelf("R1"), at=at(10))
    used(5, at(20))
    stock(part, 3, lot="A", place=shelf("R1"), at=at(5, 3))
    return part


def told(part=None, window=WINDOW):
    return [(row.month, row.amount, row.stocked_days, row.days_without_stock) for row in demand(*window, part)]


def test_a_month_in_which_none_was_there_is_told_from_one_in_which_nobody_wanted_any():
    part = ran_out()
    # From the tenth on it was stocked; it was missing from 21 January to 4 March: 11 days, all of February, 4 days.
    assert told(part) == [("2025-01", 5, 22, 11), ("2025-02", 0, 28, 28), ("2025-03", 0, 31, 4)]
    # Of all parts: those with demand, in the months in which they had some or were missing.
    PartFactory(number="P-2")
    stock(PartFactory(number="P-3"), 5, lot="C", place=shelf("R1"), at=at(10))
    assert told() == told(part)
    assert told(part, (date(2024, 12, 1), date(2025, 1, 31))) == [("2024-12", 0, 0, 0), ("2025-01", 5, 22, 11)]
    assert told(part, (date(2025, 2, 10), date(2025, 2, 20))) == [("2025-02", 0, 11, 11)]


def test_what_lies_in_quarantine_is_not_there_and_what_was_taken_back_never_came():
    part = PartFactory(number="P-1")
    stock(part, 2, lot="A", place=shelf("R1"), at=at(1))
    quarantine("Q1")
    lines = [TransferLine(item("P-1", "lot=A").pk, 2, "R1", "Q1")]
    done(transfer, lines=lines, note="looks wrong", stamp=stamp(at(10)))
    stock(part, 2, lot="B", place=shelf("R2"), at=at(20))
    january = (date(2025, 1, 1), date(2025, 1, 31))
    assert told(part, january) == [("2025-01", 0, 31, 9)]
    delivery = Movement.objects.get(item__lot__code="B").act_id
    done(correct, act_id=delivery, reason="another shop's box", stamp=stamp(NOW))
    assert told(part, january) == [("2025-01", 0, 31, 21)]


def test_carrying_between_shelves_is_no_coming_and_a_day_on_which_some_came_and_went_had_stock():
    part = PartFactory(number="P-1")
    stock(part, 1, lot="A", place=shelf("R1"), at=at(1))
    shelf("R2")
    done(transfer, lines=[TransferLine(item("P-1", "lot=A").pk, 1, "R1", "R2")], stamp=stamp(at(3)))
    used(1, at(5), place="R2")
    stock(part, 1, lot="A", place=shelf("R1"), at=at(10))
    used(1, at(10, hour=13))
    assert told(part, (date(2025, 1, 1), date(2025, 1, 15))) == [("2025-01", 2, 15, 9)]


def test_the_kept_ring_of_a_lot_is_not_there_until_it_is_released():
    switch_on()
    part = PartFactory(number="P-1", kind="O-ring")
    stock(part, 2, lot="A", place=shelf("R1"), at=at(1))
    lines = [TransferLine(item("P-1", "lot=A").pk, 1, "R1", shelf("R2").code, kept=True)]
    done(transfer, lines=lines, stamp=stamp(at(2)))
    used(1, at(5))
    done(release_kept, lot_id=item("P-1", "lot=A").lot_id, reason="the last one is needed", stamp=stamp(at(20)))
    # Missing from the sixth to the nineteenth, though the kept one lay there all the time.
    assert told(part, (date(2025, 1, 1), date(2025, 1, 31))) == [("2025-01", 1, 31, 14)]


def test_days_are_those_of_the_shop(settings):
    """Noumea's clocks are eleven hours before those of Greenwich (IANA time zone database)."""
    settings.TIME_ZONE = "Pacific/Noumea"
    part = PartFactory(number="P-1")
    stock(part, 1, lot="A", place=shelf("R1"), at=at(1))
    used(1, at(31, hour=20))  # the first of February there
    assert told(part, (date(2025, 1, 1), date(2025, 2, 3))) == [("2025-01", 0, 31, 0), ("2025-02", 1, 3, 2)]


def words(part="P-1"):
    """(month, exceptional now, every word) of the rows that somebody said something of."""
    rows = demand(*WINDOW)
    return [
        (row.month, row.exceptional, [(one.exceptional, one.reason) for one in row.marks])
        for row in rows
        if row.part == part and row.marks
    ]


def test_a_month_is_marked_and_taken_back_by_entries_and_what_was_used_stays():
    ran_out()
    asked = {"part": "P-1", "month": date(2025, 1, 15), "stamp": stamp(NOW)}
    body = done(mark_demand, reason="a recall", **asked)
    assert body == {"part": "P-1", "month": "2025-01", "exceptional": True, "reason": "a recall"}
    assert words() == [("2025-01", True, [(True, "a recall")])]
    asked["stamp"] = stamp(NOW)
    error = refused("month-marked-so", mark_demand, reason="a recall", **asked)
    assert str(error).endswith("a recall.")
    done(mark_demand, reason="it was two customers", exceptional=False, **asked)
    assert words() == [("2025-01", False, [(True, "a recall"), (False, "it was two customers")])]
    assert demand(*WINDOW)[0].amount == 5
    refused("month-marked-so", mark_demand, reason="x", exceptional=False, **asked | {"stamp": stamp(NOW)})
    done(mark_demand, reason="it was a recall", **asked | {"stamp": stamp(NOW)})
    assert words()[0][1] is True


def test_a_mark_says_why_and_of_what_and_not_of_a_month_to_come():
    PartFactory(number="P-1")
    month = date(2025, 1, 1)
    refused("reason-missing", mark_demand, part="P-1", month=month, reason=" ")
    refused("not-found", mark_demand, part="P-9", month=month, reason="a recall")
    refused("month-marked-so", mark_demand, part="P-1", month=month, reason="why not", exceptional=False)
    refused("from-the-future", mark_demand, part="P-1", month=date(2025, 2, 1), reason="a fair")
    marked = mark_demand(actor=PersonFactory(), stamp=stamp(), part="P-1", month=month, reason="a recall")
    error = refused("not-correctable", correct, act_id=marked.act_id, reason="typed wrongly")
    assert "Enter the other word on the month, and why." in error.ways_out
    # A month in which nothing was used, and which somebody spoke of, is in the history.
    assert [(row.month, row.amount, row.exceptional) for row in demand(*WINDOW)] == [("2025-01", 0, True)]


def test_as_many_queries_at_three_parts_as_at_one():
    met = []
    for number in range(3):
        part = PartFactory(number=f"P-{number}")
        stock(part, 5, lot="A", place=shelf("R1"), at=at(10))
        used(1, at(11), part=part.number)
        mark_demand(
            actor=PersonFactory(), stamp=stamp(NOW), part=part.number, month=date(2025, 1, 1), reason="a recall"
        )
        with CaptureQueriesContext(connection) as seen:
            demand(*WINDOW)
        met.append(len(seen))
    assert met == [15, 15, 15]
