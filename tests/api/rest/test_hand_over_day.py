"""A site with one technician: on a day without its checker the step waits, and the hand-over is on another day. Over HTTP."""

import pytest

pytestmark = pytest.mark.django_db

#: J-1 is to be fitted on Monday 20 January 2025; the small site's checker comes on Tuesday and Thursday.
MONDAY, TUESDAY = "2025-01-20", "2025-01-21"


def name_checker(rebuild, **more):
    who = {"person": rebuild.inspector.person.username, "weekdays": ["Tuesday", "Thursday"]} | more
    rebuild.did(rebuild.manager, "sites/TS/checkers", {"checkers": [who]})


def hand_over(rebuild, on):
    return rebuild.technician.read("jobs/J-1/startable", on=on).json()["hand_over"]


def reminded(rebuild, on):
    rows = rebuild.technician.read("jobs/J-1/reminders", on=on).json()["reminders"]
    return [(row["what"], row["days"]) for row in rows if row["kind"] == "no checker that day"]


def test_the_hand_over_is_on_the_first_day_on_which_somebody_checks(rebuild):
    rebuild.booked()
    assert hand_over(rebuild, MONDAY) == {"planned": MONDAY, "checkers": [], "earliest": MONDAY, "why": ""}
    name_checker(rebuild)
    why = f"nobody but the fitter checks at TS on {MONDAY}: the step waits, hand-over on {TUESDAY} at the earliest"
    assert hand_over(rebuild, "2025-01-15") == hand_over(rebuild, MONDAY)
    assert hand_over(rebuild, MONDAY) == {"planned": MONDAY, "checkers": [], "earliest": TUESDAY, "why": why}
    assert (reminded(rebuild, "2025-01-19"), reminded(rebuild, MONDAY)) == ([], [(why, 1)])
    who = rebuild.inspector.person.username
    assert hand_over(rebuild, TUESDAY) == {"planned": TUESDAY, "checkers": [who], "earliest": TUESDAY, "why": ""}
    assert reminded(rebuild, TUESDAY) == []
    # Past its day it goes on from the day asked about: the next one is Thursday.
    assert hand_over(rebuild, "2025-01-22")["earliest"] == "2025-01-23"


def test_who_stands_in_moves_nothing(rebuild):
    rebuild.booked()
    name_checker(rebuild, weekdays=[], stands_in=True)
    assert hand_over(rebuild, MONDAY)["earliest"] == MONDAY
    assert reminded(rebuild, MONDAY) == []


def test_the_only_checker_who_fitted_never_checks(rebuild):
    rebuild.at_bench()
    me = rebuild.technician.person.username
    name_checker(rebuild, person=me, weekdays=["Monday", "Tuesday"])
    assert hand_over(rebuild, MONDAY)["earliest"] == MONDAY
    ring = {"position": "CYL-1/ring", "item": rebuild.item("RING"), "lubricant": "soap"}
    rebuild.did(rebuild.technician, "jobs/J-1/fittings", {"fittings": [ring]})
    why = "nobody but the fitter checks at TS on any day: name a checker, or who stands in"
    assert hand_over(rebuild, MONDAY) == {"planned": MONDAY, "checkers": [], "earliest": None, "why": why}
    assert reminded(rebuild, MONDAY) == [(why, 1)]


def test_the_day_is_a_day(rebuild):
    rebuild.booked()
    wrong = rebuild.technician.read("jobs/J-1/startable", on="monday")
    assert (wrong.status_code, wrong.json()["code"]) == (400, "parameter-wrong")
