"""`manage.py recheck`: the holds of every open job, checked by night in somebody's name."""

from datetime import date

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from inventory.models import Act, HoldEnd, Part, Refusal
from inventory.services.stops import stop_lot
from kits.models import Job
from tests.factories.acts import done
from tests.factories.rebuilds import book, hold, person, shelve_lot, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]
FAR = date(2999, 1, 1)
#: Checks by the command.
CHECKED = {"kind": "check holds", "actor__username": "night"}


def lot(code, until, count=2):
    shelve_lot("A-111", count, code, cure="1Q22")
    expire(code, until)


def expire(code, until):
    Part.objects.get(number="A-111").lots.filter(code=code).update(expires_on=until)


def job(number="J1", engine="A4-020543"):
    return book(number, engine=engine, findings=TWO)


def run(capsys, login="night"):
    """(Exit code, lines) of a run in the name of somebody who may hold."""
    person("night", "act_hold")
    capsys.readouterr()
    try:
        call_command("recheck", login=login)
    except CommandError as error:
        return error.returncode, [*capsys.readouterr().out.splitlines(), str(error)]
    return 0, capsys.readouterr().out.splitlines()


def today():
    return timezone.now().date()


def test_good_holds_are_said_to_be_good_by_one_act_for_each_open_job(capsys):
    lot("LONG", FAR, 8)
    for one in (job("J1"), job("J2", "A4-020544"), job("J3", "A4-020545")):
        hold(one, steps=["P1/10"])
    Job.objects.filter(number="J3").update(state=Job.State.CANCELLED)
    assert run(capsys) == (0, [f"the holds of 2 open jobs are good on {today()}"])
    assert list(Act.objects.filter(**CHECKED).order_by("subject").values_list("subject", flat=True)) == ["J1", "J2"]


def test_what_ran_out_since_its_planned_day_is_named_and_a_second_run_says_the_same_by_no_new_act(capsys):
    # The job was planned for January 2025 and nobody moved it; what was good then ran out long ago.
    lot("SOON", date(2025, 3, 1))
    hold(job(), steps=["P1/10"])
    code, lines = run(capsys)
    why = f"usable through 2025-03-01, not on {today()} with 14 days left"
    assert (code, lines) == (
        1,
        [f"J1: SHORT of 2 of A-111: {why}", f"1 of 1 open jobs need a person on {today()}"],
    )
    assert HoldEnd.objects.get().how == "made impossible"
    acts = Act.objects.count()
    assert run(capsys) == (code, lines)
    assert Act.objects.count() == acts


def test_what_is_replaced_is_named_too(capsys):
    lot("SOON", date(2025, 3, 1))
    lot("LONG", FAR)
    hold(job(), steps=["P1/10"])
    code, (said, _) = run(capsys)
    assert code == 1
    assert said.startswith("J1: REPLACED 2 of A-111: lot SOON by LONG; usable through 2025-03-01, not on ")


def test_what_was_picked_and_ran_out_or_was_stopped_is_named(capsys):
    lot("A", date(2025, 3, 1))
    take(hold(job("J1"), steps=["P1/10"]))
    lot("B", FAR)
    take(hold(job("J2", "A4-020544"), steps=["P1/10"]))
    done(stop_lot, lot_id=Part.objects.get(number="A-111").lots.get(code="B").pk, reason="recall")
    code, lines = run(capsys)
    assert (code, lines[:-1]) == (
        1,
        [
            f"J1: SHORT of 2 of A-111: A-111 A was usable through 2025-03-01, fitting is on {today()} at the earliest",
            "J1: NOT TO BE FITTED: 2 of A-111 A at cart J1; usable through 2025-03-01",
            "J2: NOT TO BE FITTED: 2 of A-111 B at cart J2; it is stopped",
        ],
    )


def test_a_job_that_cannot_be_checked_is_named_and_the_others_are_checked(capsys, monkeypatch):
    lot("LONG", FAR, 4)
    for one in (job("J1"), job("J2", "A4-020544")):
        hold(one, steps=["P1/10"])
    # Closed between the list of open jobs and its check.
    monkeypatch.setattr("api.management.commands.recheck.open_numbers", lambda: ["J1", "J2"])
    Job.objects.filter(number="J1").update(state=Job.State.CLOSED)
    code, lines = run(capsys)
    assert (code, lines) == (
        1,
        ["J1: NOT CHECKED: Job J1 is closed. (job-ended)", f"1 of 2 open jobs need a person on {today()}"],
    )
    assert Refusal.objects.get().code == "job-ended"
    assert Act.objects.get(**CHECKED).subject == "J2"


def test_it_is_done_by_somebody_who_may(capsys):
    person("clerk")
    person("left", "act_hold")
    type(person("left")).objects.filter(username="left").update(is_active=False)
    assert run(capsys, "clerk") == (2, ["clerk may not hold for jobs, nor check holds"])
    assert run(capsys, "nobody") == (2, ["nobody may log in as 'nobody'"])
    assert run(capsys, "left") == (2, ["nobody may log in as 'left'"])
    with pytest.raises(CommandError, match="--as"):
        call_command("recheck")


def test_a_shop_without_jobs_has_good_holds(capsys):
    assert run(capsys) == (0, [f"the holds of 0 open jobs are good on {today()}"])
