"""Notes on a lot from the log of the places where it lay: by hand, on the limits, and beside a walk hour by hour."""

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from inventory.domain.storage import Needs
from inventory.domain.temperature_log import GAP, OUTSIDE, Logged, Stay, notes_on, stays_of

DAY = timedelta(hours=24)
WARM = 298_150


def at(hour):
    return datetime(2025, 1, 1, tzinfo=UTC) + timedelta(hours=hour)


def log(*pairs):
    return [Logged(number, at(hour), value) for number, (hour, value) in enumerate(pairs, 1)]


def notes(stays, pairs, *, high=WARM, now=100):
    found = notes_on(stays, {"R1": log(*pairs)}, Needs(high_mk=high), DAY, at(now))
    return [(one.what, one.readings) for one in found]


HERE = [Stay("R1", at(10), at(50))]


def test_stays_come_from_what_came_and_went():
    moves = [
        (at(5), "R1", 4),
        (at(9), "R1", -1),
        (at(20), "R1", -3),
        (at(30), "R2", 2),
        (at(30), "R2", -2),
        (at(40), "R1", 1),
    ]
    expected = (Stay("R1", at(5), at(20)), Stay("R1", at(40), None))
    assert stays_of(moves) == expected
    assert stays_of(reversed(moves)) == expected
    assert stays_of([]) == ()


def test_a_reading_outside_while_it_lay_there_is_noted_and_none_before_or_after():
    steady = [(hour, WARM) for hour in range(0, 101, 20)]
    assert notes(HERE, steady) == []
    for hour, noted in ((9, False), (10, True), (30, True), (50, True), (51, False)):
        found = notes(HERE, sorted([*steady, (hour, WARM + 1)]))
        assert [what for what, _ in found] == ([OUTSIDE] if noted else [])
    low = notes_on(
        HERE, {"R1": log((20, 272_150), *[(h, WARM) for h in (40, 60, 80, 100)])}, Needs(low_mk=278_150), DAY, at(100)
    )
    assert [one.said for one in low] == ["R1: -1 °C was read, it is stored not below 5 °C"]


def test_a_gap_longer_than_the_interval_is_noted_on_what_lay_there_then():
    # A gap as long as the interval is none; one hour more is; it concerns who lay there for any of it.
    assert notes(HERE, [(0, WARM), (24, WARM), (48, WARM), (72, WARM), (96, WARM)]) == []
    assert notes(HERE, [(0, WARM), (25, WARM), (48, WARM), (72, WARM), (96, WARM)]) == [(GAP, (1, 2))]
    assert notes([Stay("R1", at(25), at(40))], [(0, WARM), (25, WARM), (48, WARM), (72, WARM), (96, WARM)]) == []
    # Nobody reads on: open as long as something lies there. A place whose log has not begun keeps none.
    assert notes([Stay("R1", at(10), None)], [(0, WARM)], now=25) == [(GAP, (1,))]
    assert notes([Stay("R1", at(10), None)], [(0, WARM)], now=24) == []
    assert notes(HERE, []) == []
    assert notes([Stay("R2", at(0), None)], [(0, WARM)]) == []


@pytest.mark.parametrize("seed", range(30))
def test_beside_a_walk_hour_by_hour(seed):
    chance = Random(seed)
    pairs = sorted(
        {hour: chance.choice([WARM - 1, WARM, WARM + 1]) for hour in chance.choices(range(120), k=9)}.items()
    )
    first = chance.randrange(0, 60)
    stay = Stay("R1", at(first), chance.choice([None, at(first + chance.randrange(1, 60))]))
    end = 120 if stay.until is None else min(120, int((stay.until - at(0)) / timedelta(hours=1)))
    found = notes_on([stay], {"R1": log(*pairs)}, Needs(high_mk=WARM), DAY, at(120))
    hours = {hour for hour, _ in pairs}
    outside = {hour for hour, value in pairs if value > WARM and first <= hour <= end}
    assert {int((one.since - at(0)) / timedelta(hours=1)) for one in found if one.what == OUTSIDE} == outside

    def unread(half):
        """Whether the half hour after `half` lies in more than a day without a reading, in a log that has begun."""
        before = [hour for hour in hours if hour <= half]
        after = [hour for hour in hours if hour > half] or [120]
        return bool(before) and min(after) - max(before) > 24

    dark = {half for half in range(first, end) if unread(half)}
    gaps = [one for one in found if one.what == GAP]
    covered = {
        half
        for one in gaps
        for half in range(
            int((one.since - at(0)) / timedelta(hours=1)),
            120 if one.until is None else int((one.until - at(0)) / timedelta(hours=1)),
        )
        if first <= half < end
    }
    assert covered == dark
    assert len({one.since for one in gaps}) == len(gaps)
