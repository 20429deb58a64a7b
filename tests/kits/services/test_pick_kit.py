"""Picking by scanning, giving holds up, and handing the cart over."""

from datetime import date

import pytest

from inventory.models import Balance, HoldEnd, Part, Spot
from inventory.services.stops import stop_lot
from kits.models import Handover, ToolLoan
from kits.queries.shorts import shorts_of
from kits.services.crib import stock_crib
from kits.services.dates import move_fit_date, recheck_job
from kits.services.left_over import scrap_for_job
from kits.services.pick_kit import Scan, hand_over, pick
from kits.services.release import lapse, release
from kits.services.strip import FindIn, find_in_engine
from tests.factories.acts import done, refused
from tests.factories.rebuilds import (
    book,
    give,
    held,
    hold,
    item_at,
    later,
    listed,
    lying_at,
    missing,
    person,
    shelve,
    shelve_lot,
    shelve_sets,
    take,
)
from tests.factories.stores import stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

TWO = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def two_rings(**more):
    shelve({"A-111": 3})
    job = book(findings=TWO, **more)
    return job, hold(job, steps=["P1/10"])


def test_picking_moves_what_was_scanned_and_says_what_is_left():
    job, body = two_rings()
    row = body["held"][0]
    done_ = done(pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], "a 111/1")])
    assert done_ == {
        "job": "J1",
        "picked": [
            {"hold": row["hold"], "part": "A-111", "lot": "A-111/1", "serial": "", "amount": 2, "from": "TB-R07"}
        ],
        "left": 0,
    }
    assert lying_at(job) == {"A-111": 2}


def test_less_than_held_frees_the_rest_and_more_is_refused():
    job, body = two_rings()
    row = body["held"][0]
    scan = {"pick_list": body["pick_list"]}
    refused("pick-over-hold", pick, **scan, scans=[Scan(row["hold"], row["lot"], 3)])
    refused("pick-over-hold", pick, **scan, scans=[Scan(row["hold"], row["lot"], 0)])
    done(pick, **scan, scans=[Scan(row["hold"], row["lot"], 1)])
    assert Balance.objects.get(place__code="TB-R07", amount__gt=0).held == 0
    assert lying_at(job) == {"A-111": 1}
    error = refused("hold-ended", pick, **scan, scans=[Scan(row["hold"], row["lot"], 1)])
    assert error.values["how"] == "picked"


def test_a_bin_is_its_place_and_where_there_is_one_its_spot():
    _, body = two_rings()
    (row,) = body["held"]
    Spot.objects.filter(place__code="TB-R07", name="-").update(name="3")
    scan = {"pick_list": body["pick_list"]}
    for wrong in ("TB-R08", "TB-R07 4", "3", row["lot"]):
        ((_, error),) = refused("wrong-scan", pick, **scan, scans=[Scan(row["hold"], row["lot"], bin=wrong)]).errors
        assert (error.values["bin"], error.values["wanted"], error.values["part"]) == (wrong, "TB-R07 3", "A-111")
    # The right bin does not make another lot right.
    ((_, error),) = refused("wrong-scan", pick, **scan, scans=[Scan(row["hold"], "another", bin="TB-R07 3")]).errors
    assert error.values["wanted"] == row["lot"]
    done(pick, **scan, scans=[Scan(row["hold"], row["lot"], 1, bin="tb-r07  3")])
    body = hold(book("J2", engine="A4-020544", findings=TWO), steps=["P1/10"])
    done(pick, pick_list=body["pick_list"], scans=[Scan(body["held"][0]["hold"], row["lot"], bin="TB-R07")])


def test_every_wrong_scan_is_named_and_nothing_is_picked():
    shelve({"A-111": 2})
    shelve_sets("A-101", "S-1", "S-2")
    job = book(findings=[("cylinder-chosen", "CYL-1"), ("cylinder-chosen", "CYL-2")])
    body = hold(job, steps=["P1/10"])
    rows = {(row["part"], row["serial"]): row for row in body["held"]}
    scans = [
        Scan(rows["A-101", "S-1"]["hold"], "S-2"),
        Scan(rows["A-101", "S-2"]["hold"], "S-2"),
        Scan(rows["A-111", ""]["hold"], "  "),
    ]
    error = refused("wrong-scan", pick, pick_list=body["pick_list"], scans=scans)
    assert [(number, one.code) for number, one in error.errors] == [(1, "wrong-scan"), (3, "wrong-scan")]
    assert lying_at(job) == {}
    refused("nothing-given", pick, pick_list=body["pick_list"], scans=[])
    refused("scanned-twice", pick, pick_list=body["pick_list"], scans=[scans[1], scans[1]])
    refused("not-found", pick, pick_list=999_999, scans=scans)


def test_a_scan_of_the_part_alone_asks_for_the_lot():
    _, body = two_rings()
    (row,) = [one for one in body["held"] if one["part"] == "A-111"]
    scans = [Scan(row["hold"], "a 111")]
    ((_, error),) = refused("wrong-scan", pick, pick_list=body["pick_list"], scans=scans).errors
    assert error.message == f"a 111 is the part; this line is {row['lot']} of it."
    assert error.ways_out == ("Scan the lot, serial or tube on the label.",)
    done(pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], row["lot"])])


def test_the_old_gasket_is_not_picked_for_an_engine_above_the_change():
    # Story S3 of the demo shop.
    shelve({"A-201": 6, "A-501": 10, "A-203": 1, "A-502": 10})
    job = book("J1028", engine="A4-020454", findings=[("head-off", "ENGINE")])
    body = hold(job, steps=["P1/50"])
    row = next(row for row in body["held"] if row["part"] == "A-203")
    error = refused("wrong-scan", pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], "A-201/1")])
    assert "A-203" in error.message
    assert lying_at(job) == {}


def test_a_line_of_another_list_is_not_found():
    _, body = two_rings()
    shelve({"A-204": 1})
    other = hold(book("J2", engine="A4-020544", findings=[("head-off", "ENGINE")]), steps=["P1/50"])
    row = body["held"][0]
    refused("not-found", pick, pick_list=other["pick_list"], scans=[Scan(row["hold"], row["lot"])])


def test_stopped_after_it_was_held_ends_the_hold():
    _, body = two_rings()
    row = body["held"][0]
    done(stop_lot, lot_id=Part.objects.get(number="A-111").lots.get().pk, reason="maker's notice")
    refused("hold-ended", pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], row["lot"])])


def test_what_expires_before_the_fitting_is_not_picked():
    shelve_lot("A-111", 2, "L-1", cure="2Q18")
    lots = Part.objects.get(number="A-111").lots
    lots.update(expires_on=date(2025, 3, 1))
    job = book(findings=TWO, fit_on=date(2025, 1, 20))
    body = hold(job, steps=["P1/10"])
    # A shorter life than was thought when it was held: a corrected date on the lot.
    lots.update(expires_on=date(2025, 1, 19))
    row = body["held"][0]
    refused("expired", pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], row["lot"])])
    lots.update(expires_on=date(2025, 1, 20))
    done(pick, pick_list=body["pick_list"], scans=[Scan(row["hold"], row["lot"])])
    assert lying_at(job) == {"A-111": 2}


def test_a_date_that_slipped_names_what_was_picked_already():
    shelve_lot("A-111", 2, "L-1", cure="2Q18")
    Part.objects.get(number="A-111").lots.update(expires_on=date(2025, 3, 1))
    job = book(findings=TWO, fit_on=date(2025, 1, 20))
    take(hold(job, steps=["P1/10"]))
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 3, 2), reason="crank late")
    assert [(row["part"], row["amount"], row["use_by"], row["place"]) for row in moved["too_old"]] == [
        ("A-111", 2, "2025-03-01", "cart J1")
    ]
    # It is short by name in the same act, once: a check does not say it again, another slip after a good day does.
    (short,) = moved["shorts"]
    assert (short["part"], short["amount"]) == ("A-111", 2)
    assert short["why"] == "A-111 L-1 was usable through 2025-03-01, fitting is on 2025-03-02 at the earliest"
    assert done(recheck_job, job="J1")["shorts"] == []
    assert done(move_fit_date, job="J1", fit_on=date(2025, 3, 1), reason="crank sooner")["shorts"] == []
    assert len(done(move_fit_date, job="J1", fit_on=date(2025, 3, 3), reason="crank late again")["shorts"]) == 1
    assert [row["amount"] for row in shorts_of(job, date(2025, 1, 15))["raised"]] == [2, 2]


def test_what_was_lost_off_the_cart_does_not_hide_that_the_rest_is_too_old():
    shelve_lot("A-111", 2, "L-1", cure="2Q18")
    Part.objects.get(number="A-111").lots.update(expires_on=date(2025, 3, 1))
    job = book(findings=TWO, fit_on=date(2025, 1, 20))
    body = hold(job, steps=["P1/10"])
    take(body, only=["A-111"])
    done(
        scrap_for_job, job="J1", item_id=item_at(body, "CYL-1/base-ring"), amount=1, origin="cart", reason="cut",
        who_pays="shop",
    )  # fmt: skip
    moved = done(move_fit_date, job="J1", fit_on=date(2025, 3, 2), reason="crank late")
    assert [(row["part"], row["amount"]) for row in moved["shorts"]] == [("A-111", 1)]
    assert [row["amount"] for row in shorts_of(job, date(2025, 1, 15))["raised"]] == [1, 1]


def test_a_release_needs_a_reason_and_frees_what_it_held():
    _, body = two_rings()
    row = body["held"][0]
    refused("reason-missing", release, hold=row["hold"], reason=" ")
    assert done(release, hold=row["hold"], reason="needed elsewhere") == {
        "hold": row["hold"],
        "part": "A-111",
        "freed": 2,
    }
    assert HoldEnd.objects.get().why == "needed elsewhere"
    refused("hold-ended", release, hold=row["hold"], reason="again")
    refused("not-found", release, hold=999_999, reason="none")


def test_only_what_is_past_its_day_lapses():
    shelve({"A-111": 3})
    job = book(findings=TWO)
    body = hold(job, steps=["P1/10"], until=date(2025, 1, 16))
    holds = [row["hold"] for row in body["held"]]
    refused("not-lapsed", lapse, stamp=stamp(later(1)), holds=holds, reason="past its day")
    assert done(lapse, stamp=stamp(later(2)), holds=holds, reason="past its day") == {"lapsed": holds}
    assert HoldEnd.objects.get().how == "lapsed"
    body = hold(job, steps=["P1/10"])
    refused("not-lapsed", lapse, holds=[body["held"][0]["hold"]], reason="no day was said")


def test_a_cart_is_signed_over_by_two_with_the_missing_lines_named():
    job, body = two_rings()
    listed = {"pick_list": body["pick_list"]}
    keeper = person("keeper")
    refused("same-person", hand_over, actor=keeper, **listed, received_by=keeper)
    error = refused("may-not-take-over", hand_over, **listed, received_by=keeper)
    assert error.values["person"] == "keeper"
    fitter = person("fitter", "act_fit")
    error = refused("missing-not-named", hand_over, **listed, received_by=fitter)
    assert error.values["parts"] == ["A-111", "G-708"]
    refused("nothing-there", hand_over, **listed, received_by=fitter, missing=["A-111", "G-708"])
    take(body)
    moved = give(body, missing=["G-708", "A-111"]).body
    assert (moved["moved"], moved["missing"], moved["not_missing"], moved["job"]) == (
        [{"part": "A-111", "lot": "A-111/1", "serial": "", "tube": "", "amount": 2}],
        ["G-708"],
        ["A-111"],
        "J1",
    )
    assert Handover.objects.get().missing == ["G-708"]
    assert dict(Balance.objects.filter(part__number="A-111", amount__gt=0).values_list("place__code", "amount")) == {
        "TB-R07": 1,
        "bench J1": 2,
    }
    refused("nothing-there", hand_over, **listed, received_by=fitter, missing=["G-708"])
    (signed,) = Handover.objects.select_related("act__actor", "received_by")
    assert (signed.act.actor.username, signed.received_by.username) == ("keeper", "fitter")


def test_special_tools_ride_along_once_and_what_the_crib_lacks_is_named_with_who_has_it():
    done(stock_crib, site="TB", tools={"height gauge": 1, "liner hold-down clamp": 2})
    shelve({"A-111": 8})
    shelve_sets("A-101", "S-1", "S-2")
    chosen = [("cylinder-chosen", "CYL-1")]
    one, two = book("J1", findings=chosen), book("J2", engine="A4-020544", findings=chosen)
    body = hold(one, steps=["P1/10"])
    take(body)
    handed = give(body).body
    assert {"height gauge", "liner hold-down clamp"} <= set(handed["tools"])
    assert {"tool": "height gauge", "with": [], "crib": 1} not in handed["tools_short"]
    body = hold(two, steps=["P1/10"])
    take(body)
    handed = give(body).body
    assert "liner hold-down clamp" in handed["tools"]
    assert {"tool": "height gauge", "with": ["J1"], "crib": 1} in handed["tools_short"]
    assert ToolLoan.objects.filter(tool="height gauge").count() == 1


def test_what_may_not_be_mixed_is_refused_at_the_hand_over():
    # Demo shop: cork or rubber rocker cover gaskets, the same kind on both banks.
    shelve({"H-206": 2})
    job = book("J1179", engine="H8-03412", operations=["P5"], findings=[("head-off", "BANK-LEFT")])
    body = hold(job)
    take(body)
    assert held(body) == {"H-206": 1}
    found = [FindIn("ROCKER-COVER-RIGHT/gasket", "H-205"), FindIn("ROCKER-COVER-LEFT/gasket", "H-205")]
    done(find_in_engine, job="J1179", finds=found)
    named = [*sorted(missing(body)), "rocker-cover-gasket"]
    error = refused(
        "mixed", hand_over, pick_list=body["pick_list"], received_by=person("fitter", "act_fit"), missing=named
    )
    assert [(row["scope"], row["parts"]) for row in error.values["conflicts"]] == [("engine", {"H-205": 1, "H-206": 1})]
    # The list says so too, and asks a person.
    assert [one.kind for one in listed(job).conflicts if one.needs_person] == ["not-alike"]


def test_old_ones_that_come_out_are_no_mixture():
    shelve({"A-502": 6, "A-203": 1})
    job = book("J1", engine="A4-020443", findings=[("head-off", "ENGINE")])
    old = [FindIn(f"HEAD/bolt-{number:02d}", "A-501") for number in range(1, 11)]
    done(find_in_engine, job="J1", finds=old)
    body = hold(job, steps=["P1/50"])
    take(body)
    handed = give(body, missing=sorted(missing(body))).body
    assert {row["part"]: row["amount"] for row in handed["moved"]} == {"A-203": 1, "A-502": 6}


def test_a_rubber_that_its_position_forbids_is_not_picked():
    _, body = two_rings()
    Part.objects.filter(number="A-111").update(compound="EPDM")
    (row,) = [one for one in body["held"] if one["part"] == "A-111"]
    scan = Scan(row["hold"], row["lot"] or row["part"])
    error = refused("wrong-rubber", pick, actor=person("keeper"), pick_list=body["pick_list"], scans=[scan])
    assert "A-111 is EPDM: EPDM never goes on the oil side" in error.message
    Part.objects.filter(number="A-111").update(compound="HNBR")
    done(pick, actor=person("keeper"), pick_list=body["pick_list"], scans=[scan])
