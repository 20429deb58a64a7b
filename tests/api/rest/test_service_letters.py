"""Work after the first run past its day: reminders, and letters to owners, over HTTP."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Act
from inventory.services.correct import correct
from inventory.services.owners import OwnerIn, add_owner
from kits.models import Engine, Job
from kits.queries.service_due import service_letters
from kits.services.build import record_after_run, record_first_run
from kits.services.engine_owners import change_hands
from kits.services.families import enter_family
from tests.api.rest.clients import somebody
from tests.api.rest.described import DescribedClient
from tests.factories import workshop
from tests.factories.acts import done
from tests.factories.stores import NOON, PersonFactory, stamp

pytestmark = pytest.mark.django_db
TODAY = NOON.date()
#: The small engine's oil change is due 30 days after the first run.
LAST = TODAY + timedelta(days=30)


@pytest.fixture
def ran():
    """An engine with its owner that ran today."""
    workshop.workshop()
    job = workshop.job("J1", "RINGS")
    owner = done(add_owner, owner=OwnerIn("A. Nyholm", address="Quay 3", telephone="0123"))["owner"]
    for engine in Engine.objects.all():
        done(change_hands, engine=engine.number, owner_id=owner, since=NOON.date())
    done(record_first_run, job="J1", run_on=TODAY, values={"oil pressure": "3 bar"})
    return job


@pytest.fixture
def clerk():
    return DescribedClient(somebody("warranty clerk"))


def letters(clerk, on):
    return clerk.read("service-letters", on=on.isoformat()).json()["letters"]


def late(clerk, on, path="reminders"):
    rows = clerk.read(path, on=on.isoformat()).json()["reminders"]
    return [
        (row["job"], row["what"], row["days"]) for row in rows if row["kind"] == "work after first run past its day"
    ]


def test_the_last_day_is_still_in_time_and_the_next_is_not(ran, clerk):
    assert (letters(clerk, LAST), late(clerk, LAST)) == ([], [])
    after = LAST + timedelta(days=1)
    said = ("J1", f"oil change, due {LAST}; the engine is not back: letter to the owner", 1)
    assert late(clerk, after) == late(clerk, after, "jobs/J1/reminders") == [said]
    (letter,) = letters(clerk, after)
    assert (letter["due"], letter["done"], letter["open"]) == (1, 0, 1)
    assert letter["lines"] == [{"what": "oil change", "due_on": LAST.isoformat(), "days": 1, "parts": []}]
    assert (letter["owner"]["name"], letter["owner"]["telephone"]) == ("A. Nyholm", "0123")
    assert letter["text"].startswith("A. Nyholm\nQuay 3\n")
    assert letter["caution"] in letter["text"]


def test_a_closed_job_is_reminded_of_and_what_was_done_is_not(ran, clerk):
    after = LAST + timedelta(days=9)
    type(ran).objects.filter(pk=ran.pk).update(state="closed")
    assert [days for *_, days in late(clerk, after)] == [9]
    done(record_after_run, job="J1", what="oil change", done_on=TODAY)
    assert (letters(clerk, after), late(clerk, after)) == ([], [])


def test_an_engine_that_is_here_again_gets_no_letter(ran, clerk):
    after = LAST + timedelta(days=1)
    workshop.job("J2", "RINGS", engine=ran.engine.number)
    Job.objects.filter(number="J2").update(strip_on=after + timedelta(days=1), fit_on=after + timedelta(days=1))
    assert [letter["job"] for letter in letters(clerk, after)] == ["J1"]
    Job.objects.filter(number="J2").update(strip_on=after)
    assert letters(clerk, after) == []
    assert late(clerk, after) == [("J1", f"oil change, due {LAST}; the engine is here on J2", 1)]
    Job.objects.filter(number="J2").update(strip_on=TODAY)
    # It ran again: from then on that run counts.
    done(record_first_run, job="J2", run_on=TODAY, values={"oil pressure": "3 bar"})
    assert [job for job, *_ in late(clerk, after)] == ["J2"]


def test_the_letter_goes_to_the_owner_of_its_day(ran, clerk):
    after = LAST + timedelta(days=1)
    owner = done(add_owner, owner=OwnerIn("B. Uyer"))["owner"]
    sold = after + timedelta(days=1)
    at = stamp(NOON + (sold - NOON.date()))
    change_hands(actor=PersonFactory(), stamp=at, engine=ran.engine.number, owner_id=owner, since=sold)
    assert [letters(clerk, day)[0]["owner"]["name"] for day in (after, sold)] == ["A. Nyholm", "B. Uyer"]


def test_without_an_owner_the_letter_goes_by_the_engine(ran, clerk):
    done(correct, act_id=Act.objects.get(kind="change hands").pk, reason="another engine")
    (letter,) = letters(clerk, LAST + timedelta(days=1))
    assert letter["owner"] is None
    assert letter["text"].startswith(f"To the owner of engine {ran.engine.number}\n")


def test_letters_are_for_those_who_may_see_owners(ran):
    for role, status in (("technician", 403), ("storekeeper", 403), ("parts manager", 200)):
        answer = DescribedClient(somebody(role)).read("service-letters", on="2030-01-01")
        assert answer.status_code == status
    assert answer["Cache-Control"] == "no-store"
    wrong = DescribedClient(somebody("parts manager")).read("service-letters", on="soon")
    assert (wrong.status_code, wrong.json()["code"]) == (400, "parameter-wrong")


@pytest.mark.parametrize("count", [1, 3])
def test_letters_of_three_engines_take_as_many_queries_as_one(ran, count):
    for at in range(1, count):
        workshop.job(f"K{at}", "RINGS")
        done(record_first_run, job=f"K{at}", run_on=TODAY, values={"oil pressure": "3 bar"})
    with CaptureQueriesContext(connection) as seen:
        assert len(service_letters(LAST + timedelta(days=1))) == count
    assert len(seen) == 5  # the fifth: whose each engine is on the day


def test_the_parts_of_the_work_are_held_now_for_the_day_it_is_booked_for(ran, clerk):
    document = workshop.family_document() | {"revision": 2}
    document["facts"]["after_first_run"][0] |= {"parts": [{"part": "N-1", "amount": "2 EA"}]}
    done(enter_family, document=document)
    job = workshop.job("J5", "RINGS")
    done(record_first_run, job="J5", run_on=TODAY, values={"oil pressure": "3 bar"})
    workshop.many(3)
    after = LAST + timedelta(days=1)
    manager = DescribedClient(somebody("parts manager"))

    def parts():
        (line,) = manager.read("jobs/J5/build-sheet").json()["after_first_run"]
        return line["parts"]

    assert parts() == [{"part": "N-1", "amount": "2 EA", "held": "", "held_on": ""}]
    assert late(clerk, after, "jobs/J5/reminders")[0][1].endswith(
        "(2 EA N-1, not held); the engine is not back: letter to the owner"
    )
    workshop.job("J6", "RINGS", engine=job.engine.number, fit_on=LAST)
    Job.objects.filter(number="J6").update(strip_on=LAST)
    asked = {"part": "N-1", "amount": 2, "reason": "due after first run"}
    held = manager.send("jobs/J6/extras", asked)
    assert (held.status_code, held.json()["short"]) == (201, 0), held.content
    assert [row["amount"] for row in held.json()["held"]] == [2]
    assert parts() == [{"part": "N-1", "amount": "2 EA", "held": "2", "held_on": "J6"}]
    assert "J5" not in [row["job"] for row in letters(clerk, after)]
    assert late(clerk, after, "jobs/J5/reminders")[0][1].endswith("(2 EA N-1, 2 held on J6); the engine is here on J6")
