"""Reminders: what is late on a day, the oldest first."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kits.domain.reminders import Kind, Open, Reminder, reminders

DAY = date(2025, 2, 10)


def test_a_thing_is_late_from_its_day_on_and_not_before():
    thing = Open("J1", Kind.TOOL, "bead gun", DAY, 4)
    assert reminders([thing], DAY - timedelta(days=1)) == ()
    assert reminders([thing], DAY) == (Reminder("J1", Kind.TOOL, "bead gun", DAY, 1, 4, ""),)
    assert reminders([thing], DAY + timedelta(days=2))[0].days == 3


def test_the_oldest_comes_first():
    things = [
        Open("J2", Kind.OWNER, "crank", DAY),
        Open("J1", Kind.TOOL, "bead gun", DAY),
        Open("J1", Kind.LAPSED, "bolt", DAY),
        Open("J3", Kind.OUTSIDE, "crank", DAY - timedelta(days=1)),
    ]
    assert [(one.job, one.what) for one in reminders(things, DAY)] == [
        ("J3", "crank"), ("J1", "bolt"), ("J1", "bead gun"), ("J2", "crank"),
    ]  # fmt: skip


@given(st.lists(st.dates(date(2025, 1, 1), date(2025, 3, 1))))
def test_it_is_those_whose_day_has_come(days):
    found = reminders([Open("J1", Kind.OWNER, "x", day) for day in days], DAY)
    assert [one.late_from for one in found] == sorted(day for day in days if day <= DAY)
    assert all(one.days >= 1 for one in found)
