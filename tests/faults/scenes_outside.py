"""Stages for what goes outside and comes back, for hours of extra work, and for extra work that is not wanted."""

from __future__ import annotations

from datetime import date
from typing import Any

from inventory.domain.places import PlaceKind
from inventory.services.things import make_place
from kits.services.extra_hours import enter_hours, reverse_hours
from kits.services.jobs import record_approval
from kits.services.outside import back_from_outside, lose_outside, promise_back, send_outside
from tests.factories import workshop
from tests.factories.stores import NOON, PersonFactory, stamp
from tests.faults.scenes import fresh, scene
from tests.faults.scenes_jobs import out_of_its_bore, work_that_waits


def _at_the_bench() -> dict[str, Any]:
    """A set that came out to the bench, and the place of a machinist."""
    place = make_place(fresh("GRINDER"), PlaceKind.OUTSIDE, site=None)
    return {**out_of_its_bore(), "machinist": place.code}


@scene(send_outside)
def later_than_planned() -> dict[str, Any]:
    given = _at_the_bench()
    workshop.held_for(given["job"])
    return {**given, "due_on": date(2025, 3, 1)}


@scene(back_from_outside)
def a_set_that_was_honed() -> dict[str, Any]:
    given = _at_the_bench()
    sent = send_outside(actor=PersonFactory(), stamp=stamp(), **given, due_on=date(2025, 1, 20))
    return {"job": given["job"], "outside_work": sent.body["outside_work"]}


@scene(lose_outside)
def a_set_that_fell_in_the_pit() -> dict[str, Any]:
    return {**a_set_that_was_honed(), "said_by": "the foreman", "reason": "it fell in the pit"}


@scene(promise_back)
def another_month() -> dict[str, Any]:
    given = a_set_that_was_honed()
    workshop.held_for(given["job"])
    return {**given, "due_on": date(2025, 3, 1), "reason": "the wheel broke"}


def _agreed() -> dict[str, Any]:
    """A finding of extra work for which the owner agreed to two hours."""
    word = work_that_waits() | {"limit_hours": "2 h"}
    record_approval(actor=PersonFactory(), stamp=stamp(), **word)
    return {"job": word["job"], "finding": word["findings"][0]}


@scene(record_approval)
def held_work_that_is_not_wanted() -> dict[str, Any]:
    asked = work_that_waits()
    record_approval(actor=PersonFactory(), stamp=stamp(), **asked)
    workshop.sets("S-91", "S-92")
    workshop.held_for(asked["job"])
    return asked | {"approved": False}


@scene(enter_hours)
def an_hour_of_extra_work() -> dict[str, Any]:
    return {**_agreed(), "person": PersonFactory(), "day": NOON.date(), "time": "1 h"}


@scene(reverse_hours)
def an_hour_too_much() -> dict[str, Any]:
    given = an_hour_of_extra_work()
    entry = enter_hours(actor=PersonFactory(), stamp=stamp(), **given).body["entry"]
    return {"job": given["job"], "entry": entry, "reason": "it was booked twice"}
