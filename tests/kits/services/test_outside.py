"""A piece goes from the bench to an outside machinist and comes back: every way of it moves the item."""

from datetime import date, timedelta

import pytest

from inventory.models import Balance
from inventory.services.correct import correct
from kits.models import Job, JobDate, OutsideDue, OutsideReturn, OutsideWork
from kits.queries.at_positions import fresh_at_bench, old_at_bench
from kits.queries.belongings import finds_of
from kits.queries.outside import latest_due, outside_of, still_out
from kits.services.dates import move_fit_date
from kits.services.finish import cancel_job, close_job
from kits.services.fit import FitIn, fit
from kits.services.give_back import GiveIn, give_back
from kits.services.outside import back_from_outside, promise_back, send_outside
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done, refused
from tests.factories.outside import AT, CAMSHAFT, machinist, out_to_bench, rowan, sent
from tests.factories.rebuilds import at_bench, book, hold, person, shelve, shelve_lot
from tests.factories.stores import NOON, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

SOON = date(2025, 1, 18)


def lies(item):
    """Place and spot → amount of an item, where there is any."""
    rows = Balance.objects.filter(item=item, real=True, amount__gt=0)
    return {(row.spot.place.code, row.spot.name): row.amount for row in rows.select_related("spot__place")}


def test_it_goes_from_the_bench_to_the_machinist_and_back():
    job = rowan()
    item = out_to_bench(job, serial="CAM-7")
    body = sent(job, SOON, item, work="grind the lobes")
    out = OutsideWork.objects.get()
    assert body == {
        "outside_work": out.pk, "item": item, "part": CAMSHAFT, "amount": 1, "positions": [AT], "from": "bench J1", "to": "GRINDER",
        "due_on": "2025-01-18", "fit_on": "2025-01-20",
    }  # fmt: skip
    assert lies(item) == {("GRINDER", "J1"): 1}
    (shown,) = outside_of(job)
    assert shown == {
        "id": out.pk, "machinist": "GRINDER", "item": item, "part": CAMSHAFT, "identity": "serial=CAM-7", "amount": 1, "positions": [AT],
        "needed_by": [], "work": "grind the lobes", "sent_by": out.act.actor.username, "sent_on": NOON.date(), "due_on": SOON,
        "back_on": None, "losses": [],
    }  # fmt: skip
    assert [(row["outside"], row["adds_up"]) for row in finds_of(job)] == [(1, True)]
    back = done(back_from_outside, job="J1", outside_work=out.pk)
    assert back == {
        "outside_work": out.pk, "item": item, "amount": 1, "from": "GRINDER", "to": "bench J1", "back_on": "2025-01-15",
        "due_on": "2025-01-18",
    }  # fmt: skip
    assert lies(item) == {("bench J1", "-"): 1}
    assert (outside_of(job)[0]["back_on"], list(still_out([job]))) == (NOON.date(), [])
    assert refused("back-already", back_from_outside, job="J1", outside_work=out.pk).values == {"outside_work": out.pk}
    # And out again: every way is a row of its own.
    again = sent(job, SOON, item)
    assert again["outside_work"] != out.pk
    assert [row["back_on"] for row in outside_of(job)] == [NOON.date(), None]


def test_only_what_lies_at_the_bench_of_this_job_goes():
    job, other = rowan(), rowan("J2", "R6-7310")
    where = machinist().code
    facts = {"job": "J1", "machinist": where, "due_on": SOON}
    there = done(find_in_engine, job="J1", finds=[FindIn(AT, CAMSHAFT)])["found"][0]["item"]
    error = refused("not-there", send_outside, **facts, item=there)
    assert (error.values["place"], error.values["there"], error.ways_out) == (
        "bench J1", 0, ("Remove it from the engine to the bench first.",),
    )  # fmt: skip
    others = out_to_bench(other)
    refused("not-there", send_outside, **facts, item=others)
    refused("not-found", send_outside, **facts, item=999_999)
    done(remove, job="J1", removals=[RemoveIn(AT)])
    refused(
        "serial-is-one",
        send_outside,
        **facts,
        item=out_to_bench(job, "PUSHROD-01/pushrod", CAMSHAFT, serial="S"),
        amount=2,
    )
    done(send_outside, **facts, item=there)
    # It is not at the bench any more, and not at another machinist either.
    refused("not-there", send_outside, **facts, item=there)
    refused("not-found", back_from_outside, job="J2", outside_work=OutsideWork.objects.get().pk)
    refused("not-found", back_from_outside, job="J1", outside_work=999_999)


def test_a_place_is_a_machinists_or_it_is_refused():
    item = out_to_bench(rowan())
    facts = {"job": "J1", "item": item, "due_on": SOON}
    error = refused("wrong-place", send_outside, **facts, machinist="bench J1")
    assert "outside work" in error.ways_out[0]
    refused("not-found", send_outside, **facts, machinist="NOBODY")
    machinist()
    early = NOON.date() - timedelta(days=1)
    refused("dates-turned", send_outside, **(facts | {"due_on": early}), machinist="GRINDER")
    named = refused("step-not-on-job", send_outside, **facts, machinist="GRINDER", needed_by=["P4/15", "P4/999"])
    assert (named.values["step"], "P4/18" in named.values["steps"]) == ("P4/999", True)
    assert not OutsideWork.objects.exists()
    assert lies(item) == {("bench J1", "-"): 1}


def test_there_is_no_other_way_there_or_back():
    job = rowan()
    done(find_in_engine, job="J1", finds=[FindIn(AT, CAMSHAFT)])
    machinist()
    error = refused("wrong-place", remove, job="J1", removals=[RemoveIn(AT, to="GRINDER")])
    assert error.ways_out == ("Remove it to the bench, then send it outside.",)
    done(remove, job="J1", removals=[RemoveIn(AT)])
    item = Balance.objects.get(place=job.bench, amount__gt=0).item_id
    sent(job, SOON, item)
    refused_line = refused(
        "wrong-place", give_back, job="J1", given=[GiveIn(item, place="GRINDER")], signed_by="R. Alder"
    )
    assert "comes back to the bench first" in refused_line.errors[0][1].ways_out[0]
    refused("not-there", give_back, job="J1", given=[GiveIn(item)], signed_by="R. Alder")
    refused("not-inspected", fit, job="J1", fittings=[FitIn(AT, item)])


def test_what_is_new_at_the_bench_does_not_go():
    shelve({"R-405": 1})
    job = rowan(findings=[("crank-out", "ENGINE")])
    body = at_bench(job, steps=["P4/15"])
    washers = next(row["item"] for row in body["held"] if row["part"] == "R-405")
    error = refused("not-out-of-engine", send_outside, job="J1", machinist=machinist().code, item=washers, due_on=SOON)
    assert error.values == {"item": washers, "part": "R-405", "old": 0, "asked": 1}


def test_old_and_new_of_one_lot_stay_told_apart_while_some_are_out():
    shelve_lot("A-504", 4, "B-1")
    job = book(findings=[("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")])
    body = at_bench(job)
    bolt = body["held"][0]["item"]
    for position in ("MAIN-2/bolt-1", "MAIN-2/bolt-2"):
        done(find_in_engine, job="J1", finds=[FindIn(position, "A-504", lot="B-1")])
        done(remove, job="J1", removals=[RemoveIn(position)])
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({bolt: 2}, {bolt: 2})
    refused("not-out-of-engine", send_outside, job="J1", machinist=machinist().code, item=bolt, amount=3, due_on=SOON)
    body = sent(job, SOON, bolt, amount="2 EA")
    assert (body["amount"], body["positions"]) == (2, ["MAIN-2/bolt-1", "MAIN-2/bolt-2"])
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({}, {bolt: 2})
    refused("not-out-of-engine", send_outside, job="J1", machinist="GRINDER", item=bolt, due_on=SOON)
    done(back_from_outside, job="J1", outside_work=body["outside_work"])
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({bolt: 2}, {bolt: 2})
    # One by one, each with a day of its own.
    ways = [sent(job, SOON, bolt)["outside_work"], sent(job, SOON, bolt)["outside_work"]]
    done(promise_back, job="J1", outside_work=ways[0], due_on=date(2025, 1, 19), reason="the wheel broke")
    assert [row.due for row in still_out([job])] == [date(2025, 1, 19), SOON]
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({}, {bolt: 2})
    done(back_from_outside, job="J1", outside_work=ways[0])
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({bolt: 1}, {bolt: 2})


def test_a_piece_due_after_the_day_of_fitting_moves_that_day_and_its_holds():
    shelve_lot("A-504", 1, "SOON", cure="1Q22")
    job = book(findings=[("main-bolt-rejected", "MAIN-1/bolt-1")])
    hold(job)
    item = out_to_bench(job, "MAIN-2/bolt-1", "A-504")
    early = sent(job, SOON, item)
    assert (early["fit_on"], "kept" in early) == ("2025-01-20", False)
    other = out_to_bench(job, "MAIN-2/bolt-2", "A-504")
    late = sent(job, date(2025, 1, 30), other)
    assert (late["fit_on"], late["kept"], late["shorts"]) == ("2025-01-30", 1, [])
    assert Job.objects.get().fit_on == date(2025, 1, 30)
    assert JobDate.objects.order_by("-pk")[0].reason.endswith("is at GRINDER until 2025-01-30")
    assert latest_due(job) == date(2025, 1, 30)
    refused("outside-work-due", move_fit_date, job="J1", fit_on=date(2025, 1, 29), reason="sooner")
    done(back_from_outside, job="J1", outside_work=late["outside_work"])
    assert latest_due(job) == SOON
    done(move_fit_date, job="J1", fit_on=date(2025, 1, 19), reason="sooner")


def test_a_sending_that_was_wrong_is_taken_back_and_so_is_a_return():
    job = rowan()
    item = out_to_bench(job)
    out = OutsideWork.objects.get(pk=sent(job, SOON, item)["outside_work"])
    done(back_from_outside, job="J1", outside_work=out.pk)
    returned = OutsideReturn.objects.get()
    refused("not-there", correct, act_id=out.act_id, reason="it never went")
    done(correct, act_id=returned.act_id, reason="another piece came")
    assert lies(item) == {("GRINDER", "J1"): 1}
    assert [row["back_on"] for row in outside_of(job)] == [None]
    assert [row.pk for row in still_out([job])] == [out.pk]
    # It comes back once more; then nothing is out, and the first sending can be taken back no more than before.
    done(back_from_outside, job="J1", outside_work=out.pk)
    assert list(still_out([job])) == []
    second = OutsideWork.objects.get(pk=sent(job, SOON, item)["outside_work"])
    done(correct, act_id=second.act_id, reason="it never went")
    assert (lies(item), list(still_out([job]))) == ({("bench J1", "-"): 1}, [])
    assert [row["id"] for row in outside_of(job)] == [out.pk]
    refused("not-found", back_from_outside, job="J1", outside_work=second.pk)


def test_it_does_not_come_back_before_it_went():
    job = rowan()
    out = sent(job, SOON)["outside_work"]
    earlier = stamp(NOON - timedelta(hours=1))
    refused("backdated-below-zero", back_from_outside, job="J1", outside_work=out, stamp=earlier)


def test_nothing_ends_while_a_piece_is_out():
    job = rowan()
    out = sent(job, SOON)["outside_work"]
    checker = person("checker", "act_check")
    error = refused("job-not-done", close_job, job="J1", checker=checker)
    assert [row for row in error.values["open"] if row["what"] == "still outside"] == [
        {
            "what": "still outside",
            "piece": f"{CAMSHAFT}, found {_where(job)}",
            "with": "GRINDER",
            "due_on": "2025-01-18",
        }
    ]
    error = refused("job-not-empty", cancel_job, job="J1", reason="sold", signed_by="R. Alder")
    assert [(row["with"], row["outside_work"]) for row in error.values["outside"]] == [("GRINDER", out)]
    done(back_from_outside, job="J1", outside_work=out)
    given = done(cancel_job, job="J1", reason="sold", signed_by="R. Alder")["given_back"]
    assert [(row["part"], row["from"]) for row in given] == [(CAMSHAFT, "bench J1")]
    refused("job-ended", send_outside, job="J1", machinist="GRINDER", item=given[0]["item"], due_on=SOON)


def _where(job):
    return Balance.objects.get(place__code="GRINDER", amount__gt=0).item.called.partition("found ")[2]


def test_another_day_has_its_reason_and_is_not_taken_back_but_said_anew():
    job = rowan()
    out = sent(job, SOON)["outside_work"]
    facts = {"job": "J1", "outside_work": out, "due_on": date(2025, 1, 28)}
    refused("reason-missing", promise_back, **facts, reason=" ")
    late = done(promise_back, **facts, reason="the wheel broke")
    assert (late["was_due_on"], late["fit_on"], late["shorts"]) == ("2025-01-18", "2025-01-28", [])
    refused("outside-work-due", move_fit_date, job="J1", fit_on=date(2025, 1, 27), reason="sooner")
    error = refused("not-correctable", correct, act_id=OutsideDue.objects.get().act_id, reason="wrong day")
    assert error.values["kind"] == "promise back from outside"
    done(promise_back, **(facts | {"due_on": SOON}), reason="the other wheel")
    assert (latest_due(job), Job.objects.get().fit_on) == (SOON, date(2025, 1, 28))


def test_the_same_key_sends_it_once():
    job = rowan()
    item = out_to_bench(job)
    once = stamp()
    facts = {
        "actor": person("clerk"),
        "stamp": once,
        "job": "J1",
        "machinist": machinist().code,
        "item": item,
        "due_on": SOON,
    }
    assert send_outside(**facts).body == send_outside(**facts).body
    assert OutsideWork.objects.count() == 1
