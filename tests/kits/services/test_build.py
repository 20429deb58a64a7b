"""Pistons, leak tests, first runs, what follows them, and who checks at a site: outcomes, refusals, what keeps a job open."""

from datetime import timedelta

import pytest

from inventory.models import Balance, Part
from kits.models import AfterRunDone, CheckerDuty, FirstRun, LeakTest, PistonCheck
from kits.queries.build import after_run, checkers_at, unchecked
from kits.queries.build_sheet import build_sheet
from kits.queries.job_list import job_list
from kits.queries.scope import job_by_number
from kits.services.build import (
    DutyIn,
    PistonIn,
    name_checkers,
    record_after_run,
    record_first_run,
    record_leak_test,
    record_piston_checks,
)
from kits.services.finish import close_job, tools_back
from kits.services.fit import FitIn, fit
from kits.services.readings import ReadingIn, record_readings
from kits.services.strip import RemoveIn, remove
from tests.factories import workshop
from tests.factories.acts import done, refused
from tests.factories.measuring import gauge, heights_judged
from tests.factories.stores import NOON, PersonFactory, site

pytestmark = pytest.mark.django_db
TODAY = NOON.date()


GOOD = {"pressure": "1 bar", "held": "10 min", "drop": "0 bar", "temperature": "20 °C"}


@pytest.fixture
def built():
    """A job whose set and ring were fitted by Finn and checked by Edda; tools counted back."""
    workshop.workshop()
    workshop.sets("S-1")
    workshop.rings(1, lot="B-1")
    job = workshop.job("J1", "SETS", "RINGS")
    workshop.handed_over_for("J1")
    items = dict(Balance.objects.filter(place=job.bench, amount__gt=0).values_list("part__number", "item"))
    finn, edda = PersonFactory(username="finn"), workshop.checker("edda")
    fittings = [FitIn("CYL-1/set", items["SET"]), FitIn("CYL-1/ring", items["RING"])]
    done(fit, actor=finn, job="J1", fittings=fittings, checker=edda)
    done(tools_back, job="J1", tools=list(job.tool_loans.values_list("tool", flat=True)))
    return job, finn, edda


def open_checks(job):
    """What of the checks keeps the job open."""
    return [(one["what"], one.get("position", "")) for one in unchecked(job, job_list(job, TODAY))]


def looked(actor, *items, position="CYL-1/set"):
    """One piston looked at."""
    return {"actor": actor, "job": "J1", "checks": [PistonIn(position, items)]}


def test_a_piston_that_nobody_else_saw_keeps_the_job_open(built):
    job, finn, edda = built
    assert open_checks(job) == [("piston not checked", "CYL-1/set")]
    refused("job-not-done", close_job, actor=finn, job="J1", checker=edda)
    assert done(record_piston_checks, **looked(edda)) == {
        "pistons": [{"position": "CYL-1/set", "seen": [], "by": [], "missing": ["crown"]}]
    }
    assert open_checks(job) == [("piston not checked", "CYL-1/set")]
    assert done(record_piston_checks, **looked(edda, "crown")) == {
        "pistons": [{"position": "CYL-1/set", "seen": ["crown"], "by": ["edda"], "missing": []}]
    }
    assert open_checks(job) == []
    assert PistonCheck.objects.count() == 2
    assert heights_judged("J1", {"CYL-1": "S-1"}, gauge=gauge()) == ["pass"]
    assert done(close_job, actor=finn, job="J1", checker=edda) == {"job": "J1", "fitted": 2}


def test_who_fitted_there_does_not_check(built):
    _, finn, edda = built
    finn.user_permissions.set(edda.user_permissions.all())
    finn = type(finn).objects.get(pk=finn.pk)
    refused("same-person", record_piston_checks, **looked(finn, "crown"))
    refused("may-not-check", record_piston_checks, **looked(PersonFactory(), "crown"))
    assert PistonCheck.objects.count() == 0


def test_only_what_the_family_asks_for_where_a_set_went_in(built):
    _, _, edda = built
    refused("check-item-unknown", record_piston_checks, **looked(edda, "colour"))
    refused("position-empty", record_piston_checks, **looked(edda, "crown", position="CYL-2/set"))
    refused("position-unknown", record_piston_checks, **looked(edda, "crown", position="CYL-9/set"))
    refused("nothing-given", record_piston_checks, actor=edda, job="J1", checks=[])


def test_a_set_that_came_out_again_is_looked_at_again(built):
    job, finn, edda = built
    done(record_piston_checks, **looked(edda, "crown"))
    out = done(remove, actor=finn, job="J1", removals=[RemoveIn("CYL-1/set")])["removed"][0]
    assert open_checks(job) == []
    done(fit, actor=finn, job="J1", fittings=[FitIn("CYL-1/set", out["item"])], checker=edda)
    assert open_checks(job) == [("piston not checked", "CYL-1/set")]


def test_after_a_leak_the_rings_there_are_named_with_their_lot(built):
    job, *_ = built
    Part.objects.filter(number="RING").update(kind="O-ring")
    ring = Balance.objects.get(place=job.engine.place, part__number="RING").item_id
    assert done(record_leak_test, job="J1", **GOOD | {"wet": ["CYL-1/set"], "drop": "0.2 bar"}) == {
        "good": False,
        "counts": True,
        "why": ["wet below CYL-1/set", "the pressure dropped by more than the limit"],
        "rings": [
            {
                "position": "CYL-1/ring", "groove": "ring", "part": "RING", "lot": "B-1", "item": ring, "amount": 1,
                "lubricant": "", "leaked": True,
            }
        ],
        "limits_from": "page 1",
    }  # fmt: skip
    assert done(record_leak_test, job="J1", **GOOD | {"pressure": "1.1 bar"})["counts"] is False
    assert done(record_leak_test, job="J1", **GOOD)["good"] is True
    kept = LeakTest.objects.order_by("pk").values_list("pressure_pa", "held_s", "drop_pa", "temperature_mk", "good")
    assert list(kept) == [
        (100_000, 600, 20_000, 293_150, False), (110_000, 600, 0, 293_150, False), (100_000, 600, 0, 293_150, True),
    ]  # fmt: skip
    refused("position-unknown", record_leak_test, job="J1", **GOOD | {"wet": ["CYL-9/set"]})
    refused("quantity-wrong-dimension", record_leak_test, job="J1", **GOOD | {"pressure": "1 mm"})
    refused("quantity-unreadable", record_leak_test, job="J1", **GOOD | {"pressure": "NaN bar"})


RUN = {"job": "J1", "run_on": TODAY}


def test_an_engine_is_released_only_when_its_first_run_was_good(built):
    _, _, edda = built
    low = {"values": {"oil pressure": "0.9 bar"}}
    refused("run-not-good", record_first_run, **RUN, **low, released_by=edda)
    refused("run-not-good", record_first_run, **RUN, values={}, released_by=edda)
    refused("run-not-good", record_first_run, **RUN, values={"oil pressure": "3 bar"}, leaks="sump", released_by=edda)
    assert FirstRun.objects.count() == 0
    said = done(record_first_run, **RUN, **low)
    assert (said["good"], said["released_by"]) == (False, "")
    said = done(record_first_run, **RUN, values={"oil pressure": "1 bar"}, released_by=edda)
    assert said == {
        "good": True,
        "values": [{"name": "oil pressure", "typed": "1 bar", "value": 100_000, "good": True, "why": ""}],
        "early": [],
        "released_by": "edda",
    }
    refused("check-item-unknown", record_first_run, **RUN, values={"noise": "1 bar"})
    refused("may-not-check", record_first_run, **RUN, values={"oil pressure": "3 bar"}, released_by=PersonFactory())
    refused("dates-turned", record_first_run, job="J1", run_on=TODAY - timedelta(days=1), values={})
    refused("dates-turned", record_first_run, job="J1", run_on=TODAY + timedelta(days=1), values={})


def test_what_falls_due_is_done_once(built):
    job, *_ = built
    assert after_run(job, TODAY) == []
    refused("run-missing", record_after_run, job="J1", what="oil change", done_on=TODAY)
    done(record_first_run, **RUN, values={"oil pressure": "3 bar"})
    due = TODAY + timedelta(days=30)
    line = {"what": "oil change", "due_on": due, "due_hours": None, "parts": [], "from": "page 3", "done_on": None}
    assert after_run(job, due) == [line | {"late": False}]
    assert after_run(job, due + timedelta(days=1)) == [line | {"late": True}]
    refused("check-item-unknown", record_after_run, job="J1", what="paint", done_on=TODAY)
    refused("dates-turned", record_after_run, job="J1", what="oil change", done_on=TODAY + timedelta(days=1))
    done(record_after_run, job="J1", what="oil change", done_on=TODAY)
    assert after_run(job, due + timedelta(days=1)) == [line | {"done_on": TODAY, "late": False}]
    refused("done-already", record_after_run, job="J1", what="oil change", done_on=TODAY)
    assert AfterRunDone.objects.count() == 1


def test_a_site_names_its_checker_and_who_stands_in(built):
    _, finn, edda = built
    day, cover = TODAY.strftime("%A"), workshop.checker("rafe")
    other = (TODAY + timedelta(days=1)).strftime("%A")
    where = site().code
    assert checkers_at(where, TODAY) == {"on": TODAY, "named": [], "may_check": [], "next_day": None}
    done(name_checkers, site=where, checkers=[DutyIn(edda, [other])])
    error = refused("not-on-duty", record_piston_checks, **looked(edda, "crown"))
    assert error.values["next_day"] == (TODAY + timedelta(days=1)).isoformat()
    refused("not-on-duty", close_job, actor=finn, job="J1", checker=edda)
    done(name_checkers, site=where, checkers=[DutyIn(edda, [other]), DutyIn(cover, (), True)])
    assert checkers_at(where, TODAY)["may_check"] == ["rafe"]
    done(record_piston_checks, **looked(cover, "crown"))
    done(name_checkers, site=where, checkers=[DutyIn(edda, [day])])
    assert checkers_at(where, TODAY) == {
        "on": TODAY,
        "named": [{"person": "edda", "weekdays": [day], "stands_in": False}],
        "may_check": ["edda"],
        "next_day": TODAY + timedelta(days=7),
    }
    assert CheckerDuty.objects.count() == 4
    done(name_checkers, site=where, checkers=[])


def test_a_duty_is_weekdays_or_standing_in(built):
    _, finn, edda = built
    for wrong in (DutyIn(edda), DutyIn(edda, ["Tuesday"], True), DutyIn(edda, ["Dienstag"])):
        refused("duty-unreadable", name_checkers, site=site().code, checkers=[wrong])
    refused("may-not-check", name_checkers, site=site().code, checkers=[DutyIn(finn, ["Tuesday"])])
    refused("not-found", name_checkers, site="NONE", checkers=[])


def test_the_build_sheet_says_who_and_what(built):
    job, _, edda = built
    done(record_piston_checks, **looked(edda, "crown"))
    done(record_leak_test, job="J1", **GOOD)
    done(record_first_run, **RUN, values={"oil pressure": "3 bar"}, released_by=edda)
    Part.objects.filter(number="RING").update(kind="O-ring")
    number = gauge()
    places = ({"place": "CYL-1"}, {"set": "S-1"}, {"place": "CYL-1/ring"}, {"place": "ENGINE"}, {"place": "CYL-2"})
    lines = [ReadingIn("end-float", "0.10 mm", number, **where) for where in places]
    readings = [one["id"] for one in done(record_readings, job="J1", readings=lines)["readings"]]
    sheet = build_sheet(job_by_number("J1"), TODAY)
    who = [(one["position"], one["part"], one["lot"], one["serial"], one["fitter"], one["checker"], one["there"])
           for one in sheet["positions"]]  # fmt: skip
    assert who == [
        ("CYL-1/set", "SET", "", "S-1", "finn", "edda", True),
        ("CYL-1/ring", "RING", "B-1", "", "finn", "edda", True),
    ]
    assert [(one["lubricant"], one["open"]) for one in sheet["positions"]] == [
        ("", []), ("", ["not said what it was fitted with"]),
    ]  # fmt: skip
    # Of the cylinder both, of the set and of the ring their own; of the whole engine, or of another cylinder, neither.
    bore, own, ring = readings[:3]
    assert [one["readings"] for one in sheet["positions"]] == [[bore, own], [bore, ring]]
    assert [(one.what, one.gauge, one.shown) for one in sheet["readings"]][:1] == [("end-float", "G-1", "0.100 mm")]
    assert len(sheet["readings"]) == 5
    assert ([one["results"] for one in sheet["positions"]], len(sheet["results"])) == ([[], []], 0)
    assert sheet["pistons"] == [{"position": "CYL-1/set", "seen": ["crown"], "by": ["edda"], "missing": []}]
    assert [one["good"] for one in sheet["leak_tests"]] == [True]
    assert sheet["first_run"]["released_by"] == "edda"
    assert [one["what"] for one in sheet["after_first_run"]] == ["oil change"]
