"""The day of fitting moves."""

from datetime import date, timedelta

import pytest

from inventory.models import Balance, Hold, HoldEnd, Part, Short, Supplier, SupplierPart
from kits.models import Job, JobDate, JobHold
from kits.services.dates import move_fit_date, recheck_job
from kits.services.hold_kit import hold_kit
from kits.services.left_over import ReturnIn, return_unused
from tests.factories.acts import done, refused
from tests.factories.rebuilds import book, give, hold, item_at, opened, shelve, shelve_lot, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]
ONE_STEP = ["P1/10"]


def lot(code, count, until):
    shelve_lot("A-111", count, code, cure="1Q22")
    Part.objects.get(number="A-111").lots.filter(code=code).update(expires_on=until)


def test_a_day_that_moves_later_replaces_what_would_be_too_old():
    lot("SOON", 2, date(2025, 2, 10))
    lot("LATE", 2, date(2026, 1, 1))
    job = book(findings=TWO)
    body = hold(job, steps=ONE_STEP)
    assert [row["lot"] for row in body["held"]] == ["SOON"]
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 1, 28), reason="crank late")
    assert {name: moved[name] for name in ("fit_on", "kept", "shorts", "too_old")} == {
        "fit_on": "2025-01-28",
        "kept": 0,
        "shorts": [],
        "too_old": [],
    }
    assert [(row["part"], row["from_lot"], row["to_lot"], row["amount"]) for row in moved["replaced"]] == [
        ("A-111", "SOON", "LATE", 2)
    ]
    open_hold = JobHold.objects.get(hold__end__isnull=True)
    assert open_hold.positions == [["CYL-1/base-ring", 1, 1], ["CYL-2/base-ring", 1, 1]]
    assert HoldEnd.objects.get().how == "made impossible"
    assert Job.objects.get().fit_on == date(2025, 1, 28)
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/20"])


def test_the_day_before_the_margin_still_keeps():
    # Margin of the demo shop: 14 days. Usable through 10 February: fitting on 27 January is the last day.
    lot("SOON", 2, date(2025, 2, 10))
    job = book(findings=TWO)
    hold(job, steps=ONE_STEP)
    assert done(move_fit_date, job="J1", fit_on=date(2025, 1, 27), reason="crank late")["kept"] == 1
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 1, 28), reason="crank later")
    assert [(row["part"], row["amount"]) for row in moved["shorts"]] == [("A-111", 2)]
    short = Short.objects.get()
    assert (short.part.number, short.amount, short.hold_id) == ("A-111", 2, Hold.objects.get().pk)


def test_what_one_lot_cannot_replace_two_do_position_by_position():
    lot("SOON", 2, date(2025, 2, 10))
    lot("B", 1, date(2026, 1, 1))
    lot("C", 1, date(2026, 2, 1))
    job = book(findings=TWO)
    hold(job, steps=ONE_STEP)
    done(move_fit_date, job="J1", fit_on=date(2025, 1, 28), reason="crank late")
    rows = JobHold.objects.filter(hold__end__isnull=True).order_by("hold_id")
    assert [(row.hold.item.lot.code, row.positions) for row in rows] == [
        ("B", [["CYL-1/base-ring", 1, 1]]),
        ("C", [["CYL-2/base-ring", 1, 1]]),
    ]


def test_what_was_held_in_two_rows_is_replaced_by_one_lot_where_one_covers():
    """One lot to an engine: each row by itself would take the first to expire, and the engine would have two again."""
    lot("SOON", 1, date(2025, 2, 10))
    lot("NEXT", 1, date(2025, 2, 11))
    job = book(findings=TWO)
    assert [row["lot"] for row in hold(job, steps=ONE_STEP)["held"]] == ["SOON", "NEXT"]
    lot("B", 1, date(2026, 1, 1))
    lot("C", 2, date(2026, 2, 1))
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 1, 29), reason="crank late")
    assert [(row["from_lot"], row["to_lot"], row["amount"]) for row in moved["replaced"]] == [
        ("SOON", "C", 1),
        ("NEXT", "C", 1),
    ]
    rows = JobHold.objects.filter(hold__end__isnull=True).order_by("hold_id")
    assert [row.positions for row in rows] == [[["CYL-1/base-ring", 1, 1]], [["CYL-2/base-ring", 1, 1]]]


def test_a_tube_that_is_replaced_serves_its_joint_whole():
    shelve({"A-212": 1, "G-710": 1})
    shelve_lot("G-701", 1, "SOON", printed_on=date(2025, 2, 10))
    shelve_lot("G-701", 1, "LATE", printed_on=date(2026, 2, 10))
    job = book(findings=[("sump-off", "ENGINE")])
    body = hold(job, steps=["P1/40"])
    tube = next(row for row in body["held"] if row["part"] == "G-701")
    assert tube["lot"] == "SOON"
    done(move_fit_date, job="J1", fit_on=date(2025, 2, 20), reason="crank late")
    row = JobHold.objects.get(hold__end__isnull=True, hold__item__part__number="G-701")
    assert (row.hold.item.lot.code, row.positions) == ("LATE", tube["positions"])
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/40"])


def open_tube_held_for_the_sump(closed=0):
    """A tube opened on another job, full but for nothing, held as a whole for J1's sump; `closed` ones beside it on the shelf."""
    shelve({"G-701": 1, "A-212": 2, "G-710": 2})
    donor = book("J0", engine="A4-020999", findings=[("sump-off", "ENGINE")])
    body = hold(donor, steps=["P1/40"])
    take(body)
    give(body)
    tube = opened(donor, item_at(body, "SUMP/bead"), "T-1")
    done(return_unused, job="J0", returns=[ReturnIn(tube, Balance.objects.get(item=tube, place=donor.bench).amount)])
    if closed:
        shelve_lot("G-701", closed, "NEW", printed_on=date(2026, 2, 10))
    job = book("J1", findings=[("sump-off", "ENGINE")], fit_on=date(2025, 1, 17))
    (row,) = [row for row in hold(job, steps=["P1/40"])["held"] if row["part"] == "G-701"]
    assert row["tube"] == "T-1"
    return job, row


def test_an_opened_tube_is_good_to_its_last_day_without_a_margin():
    _, row = open_tube_held_for_the_sump()
    last = date.fromisoformat(row["use_by"])
    assert done(move_fit_date, job="J1", fit_on=last, reason="crank late")["shorts"] == []
    moved = done(move_fit_date, job="J1", fit_on=last + timedelta(days=1), reason="crank later")
    assert [(short["part"], short["amount"]) for short in moved["shorts"]] == [("G-701", 1)]


def test_the_joint_of_an_opened_tube_that_will_be_too_old_gets_a_closed_one():
    _, row = open_tube_held_for_the_sump(closed=2)
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 6, 1), reason="crank late")
    assert [(one["part"], one["to_lot"], one["amount"]) for one in moved["replaced"]] == [("G-701", "NEW", 1)]
    assert moved["shorts"] == []
    new = JobHold.objects.get(job__number="J1", hold__end__isnull=True, hold__item__part__number="G-701")
    assert (new.hold.item.lot.code, new.positions, new.tray) == ("NEW", row["positions"], row["tray"])
    refused("nothing-to-hold", hold_kit, job="J1", steps=["P1/40"])


def test_a_short_of_a_moved_day_has_its_ways_out_a_tube_too():
    _, row = open_tube_held_for_the_sump()
    part = Part.objects.get(number="G-701")
    SupplierPart.objects.create(supplier=Supplier.objects.get(code="Saltby"), part=part, lead_days=30, pack=12)
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 6, 1), reason="crank late")
    (short,) = moved["shorts"]
    assert (short["part"], short["amount"]) == ("G-701", 1)
    # asked on 15 January 2025: thirty days on it is here, long before the fitting
    assert [(one["way"], one["arrives_on"], one["in_time"]) for one in short["ways"]] == [("buy", "2025-02-14", True)]
    assert (Short.objects.get().amount, Short.objects.get().part) == (1, part)


def test_a_date_that_cannot_be():
    book(findings=TWO)
    refused("reason-missing", move_fit_date, job="J1", fit_on=date(2025, 2, 1), reason="")
    refused("dates-turned", move_fit_date, job="J1", fit_on=date(2025, 1, 9), reason="earlier")
    assert JobDate.objects.count() == 1


def test_a_check_replaces_what_ran_out_since():
    lot("A", 2, date(2026, 1, 1))
    lot("B", 2, date(2026, 2, 1))
    job = book(findings=TWO)
    hold(job, steps=ONE_STEP)
    assert done(recheck_job, job="J1") == {"kept": 1, "replaced": [], "shorts": [], "too_old": []}
    Part.objects.get(number="A-111").lots.filter(code="A").update(expires_on=date(2025, 1, 31))
    checked = done(recheck_job, job="J1")
    assert [(row["from_lot"], row["to_lot"]) for row in checked["replaced"]] == [("A", "B")]


def test_what_was_picked_is_not_replaced_but_named():
    lot("A", 2, date(2026, 1, 1))
    job = book(findings=TWO)
    take(hold(job, steps=ONE_STEP))
    Part.objects.get(number="A-111").lots.update(expires_on=date(2025, 1, 19))
    checked = done(recheck_job, job="J1")
    assert [(row["part"], row["use_by"], row["stopped"], row["place"]) for row in checked["too_old"]] == [
        ("A-111", "2025-01-19", False, "cart J1")
    ]
