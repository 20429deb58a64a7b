"""What is lost at an outside machinist is said where it is lost, by whom, and what it was taken out of stays open."""

from datetime import date

import pytest

from inventory.models import Balance, Short
from inventory.services.correct import correct
from kits.models import OutsideLoss, OutsideReturn
from kits.queries.at_positions import fresh_at_bench, old_at_bench
from kits.queries.belongings import finds_of
from kits.queries.open_lines import open_lines
from kits.queries.outside import outside_of, still_out
from kits.queries.reminders import reminders_on
from kits.queries.shorts import shorts_of
from kits.services.finish import cancel_job
from kits.services.outside import back_from_outside, lose_outside, promise_back, send_outside
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done, refused
from tests.factories.outside import AT, CAMSHAFT, out_to_bench, rowan, sent
from tests.factories.rebuilds import TODAY, at_bench, book, shelve_lot
from tests.factories.stores import NOON

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

SOON = date(2025, 1, 18)
LOST = {"job": "J1", "said_by": "the foreman", "reason": "it fell in the pit"}


def open_at(job):
    """What is open of the job, without what has nothing to do with the piece."""
    kinds = ("taken out, nothing is back", "still outside", "not fitted")
    return [line["what"] for line in open_lines(job, TODAY) if line["what"] in kinds and line.get("position", AT) == AT]


def test_it_is_counted_short_there_and_the_job_is_short_of_it_by_name():
    job = rowan()
    item = out_to_bench(job, serial="CAM-7")
    out = sent(job, SOON, item)["outside_work"]
    refused("reason-missing", lose_outside, **(LOST | {"reason": " "}), outside_work=out)
    refused("reason-missing", lose_outside, **(LOST | {"said_by": ""}), outside_work=out)
    refused("not-found", lose_outside, **LOST, outside_work=999_999)
    body = done(lose_outside, **LOST, outside_work=out)
    why = "lost at GRINDER, said by the foreman: it fell in the pit"
    assert body == {
        "outside_work": out, "item": item, "part": CAMSHAFT, "amount": 1, "still_out": 0, "at": "GRINDER", "positions": [AT],
        "said_by": "the foreman", "short": {"part": CAMSHAFT, "amount": 1, "why": why},
    }  # fmt: skip
    assert not Balance.objects.filter(item=item, real=True, amount__gt=0).exists()
    assert [(one["part"], one["amount"], one["why"]) for one in shorts_of(job, TODAY)["raised"]] == [(CAMSHAFT, 1, why)]
    # It is awaited no more, by nobody: the place that it came out of is what stays open.
    assert list(still_out([job])) == []
    assert [one for one in reminders_on(date(2025, 3, 1)) if one["kind"] == "outside"] == []
    assert open_at(job) == ["taken out, nothing is back"]
    (shown,) = outside_of(job)
    assert (shown["back_on"], shown["losses"]) == (
        None,
        [
            {
                "act": OutsideLoss.objects.get().act_id,
                "amount": 1,
                "said_by": "the foreman",
                "reason": "it fell in the pit",
                "on": NOON.date(),
            }
        ],
    )
    (found,) = finds_of(job)
    assert (found["found"], found["elsewhere"], found["outside"], found["adds_up"]) == (1, 1, 0, True)


def test_what_is_lost_neither_comes_back_nor_is_lost_again():
    job = rowan()
    out = sent(job, SOON)["outside_work"]
    done(lose_outside, **LOST, outside_work=out)
    for call, more in (
        (lose_outside, LOST),
        (back_from_outside, {"job": "J1"}),
        (promise_back, {"job": "J1", "due_on": SOON, "reason": "later"}),
    ):
        error = refused("lost-outside", call, **more, outside_work=out)
        assert error.ways_out == ("It was found after all: correct the act that says it is lost.",)
    other = rowan("J2", "R6-7310")
    back = sent_by(other)
    done(back_from_outside, job="J2", outside_work=back)
    refused("back-already", lose_outside, **(LOST | {"job": "J2"}), outside_work=back)


def sent_by(job):
    """Another camshaft at the same machinist's."""
    body = done(send_outside, job=job.number, machinist="GRINDER", item=out_to_bench(job), due_on=SOON)
    return body["outside_work"]


def test_one_of_several_is_lost_and_the_others_come_back():
    shelve_lot("A-504", 4, "B-1")
    job = book(findings=[("main-bolt-rejected", "MAIN-1/bolt-1"), ("main-bolt-rejected", "MAIN-1/bolt-2")])
    bolt = at_bench(job)["held"][0]["item"]
    for position in ("MAIN-2/bolt-1", "MAIN-2/bolt-2", "MAIN-3/bolt-1"):
        done(find_in_engine, job="J1", finds=[FindIn(position, "A-504", lot="B-1")])
        done(remove, job="J1", removals=[RemoveIn(position)])
    out = sent(job, SOON, bolt, amount=3)["outside_work"]
    error = refused("not-there", lose_outside, **LOST, outside_work=out, amount=4)
    assert (error.values["there"], error.values["asked"]) == (3, 4)
    assert done(lose_outside, **LOST, outside_work=out, amount="1 EA")["still_out"] == 2
    assert [row.left for row in still_out([job])] == [2]
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({}, {bolt: 2})
    assert done(back_from_outside, job="J1", outside_work=out)["amount"] == 2
    assert (old_at_bench(job), fresh_at_bench(job, [bolt])) == ({bolt: 2}, {bolt: 2})
    # What was lost is put right only while the rest of it is out.
    error = refused("not-correctable", correct, act_id=OutsideLoss.objects.get().act_id, reason="it was found")
    assert error.ways_out == (f"Take act {OutsideReturn.objects.get().act_id} back first.",)


def test_found_after_all_it_is_out_again_and_the_job_is_not_short_of_it():
    job = rowan()
    item = out_to_bench(job)
    out = sent(job, SOON, item)["outside_work"]
    done(lose_outside, **LOST, outside_work=out)
    done(correct, act_id=OutsideLoss.objects.get().act_id, reason="it lay behind the mill")
    assert [row.left for row in still_out([job])] == [1]
    assert outside_of(job)[0]["losses"] == []
    assert Short.objects.count() == 1
    assert shorts_of(job, TODAY)["raised"] == []
    assert done(back_from_outside, job="J1", outside_work=out)["to"] == "bench J1"


def test_a_job_is_cancelled_without_what_was_lost():
    job = rowan()
    out = sent(job, SOON)["outside_work"]
    refused("job-not-empty", cancel_job, job="J1", reason="sold")
    done(lose_outside, **LOST, outside_work=out)
    assert done(cancel_job, job="J1", reason="sold")["given_back"] == []
