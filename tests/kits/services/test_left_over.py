"""Unused parts back by the returns table, scrap for a job, and what the list asks for again afterwards."""

from datetime import date

import pytest

from inventory.models import Balance, Item
from inventory.services.break_set import break_set
from inventory.services.replacements import NewPart, ReplacementIn, add_replacement
from inventory.services.stops import stop_lot
from kits.queries.to_return import to_return
from kits.services.finish import cancel_job
from kits.services.fit import FitIn, fit
from kits.services.jobs import withdraw_finding
from kits.services.left_over import ReturnIn, return_unused, scrap_for_job
from kits.services.strip import FindIn, RemoveIn, find_in_engine, remove
from tests.factories.acts import done, gone, refused
from tests.factories.rebuilds import (
    TODAY,
    at_bench,
    book,
    give,
    held,
    hold,
    item_at,
    later,
    lying_at,
    opened,
    person,
    put_in,
    shelve,
    shelve_sets,
    take,
)
from tests.factories.sealing import sealed
from tests.factories.stores import PartFactory, stamp

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("demo_shop")]

LIFTED = [("liner-lifted", "CYL-1"), ("liner-lifted", "CYL-2")]


def rings_at_bench():
    """Two base rings and nothing else at the bench of J1, liners 1 and 2 lifted."""
    shelve({"A-111": 6})
    job = book(findings=LIFTED)
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body)
    return job, body


def where(part):
    rows = Balance.objects.filter(part__number=part, amount__gt=0, real=True)
    return dict(rows.values_list("place__code", "amount"))


def test_sealed_and_readable_goes_back_to_its_own_shelf_with_its_lot_and_the_list_asks_again():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    back = done(return_unused, job=job.number, returns=[ReturnIn(item, "1 EA", bag_sealed=True)])
    assert back["returned"] == [
        {
            "item": item,
            "part": "A-111",
            "identity": "lot=A-111/1",
            "amount": 1,
            "base": "piece",
            "typed": "1 EA",
            "from": "bench J1",
            "to": "stock",
            "place": "TB-R07",
            "spot": "-",
            "why": "Never fitted and its lot can be read: back under its own lot and use-by.",
            "overruled": False,
        }
    ]
    assert where("A-111") == {"TB-R07": 5, "bench J1": 1}
    # Oldest position first stays served: the second one is asked for again.
    again = hold(job, steps=["P1/10"])
    assert [row["positions"] for row in again["held"]] == [[["CYL-2/base-ring", 1, 1]]]


def test_what_lies_on_the_cart_and_is_looked_for_at_the_bench_says_so():
    shelve({"A-111": 6})
    job = book(findings=LIFTED)
    body = hold(job, steps=["P1/10"])
    take(body)
    item = item_at(body, "CYL-1/base-ring")
    (line,) = refused("not-there", return_unused, job="J1", returns=[ReturnIn(item, 1, bag_sealed=True)]).errors
    assert line[1].ways_out == ('2 lie on the cart: say origin "cart".',)
    (line,) = refused("not-there", return_unused, job="J1", returns=[ReturnIn(item, 3, bag_sealed=True)]).errors
    assert line[1].ways_out == ()
    done(return_unused, job="J1", returns=[ReturnIn(item, 1, origin="cart", bag_sealed=True)])


def test_from_an_open_bag_it_is_scrapped():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    back = done(return_unused, job=job.number, returns=[ReturnIn(item, 2)])
    assert [(row["to"], row["place"], row["amount"]) for row in back["returned"]] == [("scrap", "", 2)]
    assert gone("scrap") == [("A-111", "lot=A-111/1", 2)]
    assert held(hold(job, steps=["P1/10"])) == {"A-111": 2}


def test_an_unreadable_lot_and_a_stopped_one_go_to_quarantine():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    unreadable = ReturnIn(item, 1, bag_sealed=True, lot_readable=False)
    back = done(return_unused, job=job.number, returns=[unreadable])
    assert [(row["to"], row["place"]) for row in back["returned"]] == [("quarantine", "TB-QUARANTINE")]
    done(stop_lot, lot_id=Item.objects.get(pk=item).lot_id, reason="maker's notice")
    named = ReturnIn(item, 1, bag_sealed=True, to_place="FG-CAGE")
    back = done(return_unused, job=job.number, returns=[named])
    assert [(row["to"], row["place"]) for row in back["returned"]] == [("quarantine", "FG-CAGE")]


def test_what_was_withdrawn_meanwhile_is_not_fitted_and_comes_back_to_quarantine():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    PartFactory(number="A-111N", kind="O-ring")
    done(add_replacement, line=ReplacementIn("A-111", [NewPart("A-111N")], fate="withdrawn"))
    refused("lot-stopped", fit, job=job.number, fittings=[FitIn("CYL-1/base-ring", item)])
    back = done(return_unused, job=job.number, returns=[ReturnIn(item, 2, bag_sealed=True)])
    assert [(row["to"], row["place"]) for row in back["returned"]] == [("quarantine", "TB-QUARANTINE")]
    assert {one["part"]: one["why"] for one in hold(job)["shorts"]}["A-111"]


def test_what_the_records_say_was_fitted_is_not_stock_whatever_is_said():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    put_in(job, ("CYL-1/base-ring", item))
    done(remove, job=job.number, removals=[RemoveIn("CYL-1/base-ring")])
    # One of two at the bench was in the engine: one is new, two are not.
    back = done(return_unused, job=job.number, returns=[ReturnIn(item, 1, bag_sealed=True)])
    assert [row["to"] for row in back["returned"]] == ["stock"]
    back = done(return_unused, job=job.number, returns=[ReturnIn(item, 1, bag_sealed=True)])
    assert [row["to"] for row in back["returned"]] == ["scrap"]


def test_old_parts_of_the_engine_are_not_left_over():
    job = book(findings=LIFTED)
    found = done(find_in_engine, job="J1", finds=[FindIn("CYL-1/base-ring", "A-111")])["found"][0]["item"]
    done(remove, job="J1", removals=[RemoveIn("CYL-1/base-ring")])
    error = refused("not-unused", return_unused, job=job.number, returns=[ReturnIn(found, 1, bag_sealed=True)])
    assert [number for number, _ in error.errors] == [1]


def test_a_tube_that_is_closed_by_the_records_is_opened_first_then_goes_back_open():
    shelve({"G-701": 1, "A-212": 1, "G-710": 1})
    job = book(findings=[("sump-off", "ENGINE")])
    body = at_bench(job, steps=["P1/40"])
    closed = item_at(body, "SUMP/bead")
    refused("tube-not-opened", return_unused, job="J1", returns=[ReturnIn(closed, 1, opened=True)])
    tube = opened(job, closed, "T-1")
    (bead,) = sealed(job, {"SUMP/bead": tube}, person("fitter"))
    put_in(job, bead)
    content = Balance.objects.get(item=tube, place=job.bench).amount
    back = done(return_unused, job="J1", returns=[ReturnIn(tube, content)])
    assert [(row["to"], row["place"], row["base"]) for row in back["returned"]] == [
        ("open-tube bin", "TB-COLD", "microlitre")
    ]
    assert where("G-701") == {"A4-020543": bead.amount, "TB-COLD": content}


def test_a_tube_past_its_use_by_is_scrapped():
    shelve({"G-701": 1})
    job = book(findings=[("sump-off", "ENGINE")])
    body = hold(job, steps=["P1/40"])
    take(body, only=["G-701"])
    give(body, missing=["A-212", "G-710"])
    tube = opened(job, item_at(body, "SUMP/bead"), "T-1")
    content = Balance.objects.get(item=tube, place=job.bench).amount
    back = done(return_unused, stamp=stamp(later(4000)), job="J1", returns=[ReturnIn(tube, content)])
    assert [(row["to"], row["why"]) for row in back["returned"]] == [("scrap", "It is past its use-by.")]


def test_overruling_takes_the_right_a_reason_and_what_is_not_firm():
    shelve({"A-203": 1, "A-502": 10, "A-204": 1, "A-205": 1})
    job = book(findings=[("head-off", "ENGINE")])
    body = hold(job, steps=["P1/50"])
    take(body)
    give(body)
    gasket = item_at(body, "HEAD/gasket")
    over = {"override_to": "stock", "override_reason": "flat, no scratch"}
    refused("return-override-refused", return_unused, job="J1", returns=[ReturnIn(gasket, 1, **over)])
    manager = person("manager", "act_overrule_return")
    silent = ReturnIn(gasket, 1, override_to="stock")
    refused("reason-missing", return_unused, actor=manager, job="J1", returns=[silent])
    fitted = ReturnIn(gasket, 1, was_fitted=True, **over)
    refused("return-override-refused", return_unused, actor=manager, job="J1", returns=[fitted])
    nowhere = ReturnIn(gasket, 1, override_to="van", override_reason="so it is")
    refused("wrong-place", return_unused, actor=manager, job="J1", returns=[nowhere])
    back = done(return_unused, actor=manager, job="J1", returns=[ReturnIn(gasket, 1, **over)])
    assert [(row["to"], row["place"], row["overruled"]) for row in back["returned"]] == [("stock", "TB-R04", True)]


def test_every_refused_line_is_named_and_nothing_is_moved():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-1/base-ring")
    good = ReturnIn(item, 1, bag_sealed=True)
    error = refused(
        "not-found",
        return_unused,
        job=job.number,
        returns=[
            good,
            ReturnIn(999_999, 1),
            ReturnIn(item, 1, origin="shelf"),
            ReturnIn(item, 2, bag_sealed=True),
            ReturnIn(item, 1, origin="cart"),
            ReturnIn(item, "1 L"),
            ReturnIn(item, 1, bag_sealed=True, to_place="VAN"),
            ReturnIn(item, 1, bag_sealed=True, to_place="nowhere"),
            ReturnIn(item, 1, bag_sealed=True, to_place="QY-STORE"),
        ],
    )
    assert [(number, one.code) for number, one in error.errors] == [
        (2, "not-found"),
        (3, "wrong-place"),
        (4, "not-there"),
        (5, "not-there"),
        (6, "quantity-wrong-dimension"),
        (7, "wrong-place"),
        (8, "not-found"),
        (9, "other-site"),
    ]
    assert lying_at(job) == {"A-111": 2}
    refused("nothing-given", return_unused, job=job.number, returns=[])


def test_from_the_cart_before_the_hand_over():
    shelve({"A-111": 2})
    job = book(findings=LIFTED)
    body = hold(job, steps=["P1/10"])
    take(body)
    item = item_at(body, "CYL-1/base-ring")
    back = done(return_unused, job="J1", returns=[ReturnIn(item, 2, origin="cart", bag_sealed=True)])
    assert [(row["from"], row["to"], row["amount"]) for row in back["returned"]] == [("cart J1", "stock", 2)]
    assert lying_at(job) == {}


def test_a_withdrawn_finding_makes_what_was_issued_for_it_to_be_returned():
    job, body = rings_at_bench()
    findings = list(job.findings.values_list("pk", flat=True))
    done(withdraw_finding, job=job.number, finding_id=findings[1], reason="liner 2 stays in")
    answer = to_return(job, TODAY)
    assert [(row["part"], row["amount"], row["place"]) for row in answer["lying"]] == [("A-111", 1, "bench J1")]
    assert answer["held"] == []
    item = item_at(body, "CYL-1/base-ring")
    done(return_unused, job=job.number, returns=[ReturnIn(item, 1, bag_sealed=True)])
    assert to_return(job, TODAY)["lying"] == []
    assert held(hold(job, steps=["P1/10"])) == {}


def test_scrap_for_a_job_says_why_and_who_pays_and_the_position_is_asked_for_again():
    job, body = rings_at_bench()
    item = item_at(body, "CYL-2/base-ring")
    said = {"job": job.number, "item_id": item, "amount": 1}
    refused("reason-missing", scrap_for_job, **said, reason=" ", who_pays="job")
    refused("who-pays-unknown", scrap_for_job, **said, reason="cut in fitting", who_pays="nobody")
    refused("wrong-place", scrap_for_job, **said, origin="shelf", reason="cut in fitting", who_pays="job")
    refused("not-there", scrap_for_job, **{**said, "amount": 3}, reason="cut in fitting", who_pays="job")
    body = done(scrap_for_job, **said, reason="cut in fitting", who_pays="job", destroyed=True)
    assert {name: body[name] for name in ("part", "amount", "from", "reason", "who_pays", "destroyed")} == {
        "part": "A-111",
        "amount": 1,
        "from": "bench J1",
        "reason": "cut in fitting",
        "who_pays": "job",
        "destroyed": True,
    }
    assert held(hold(job, steps=["P1/10"])) == {"A-111": 1}


def test_a_whole_set_is_scrapped_with_a_reason_and_the_photo_is_asked_for():
    shelve_sets("A-101", "S-1")
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    body = hold(job, steps=["P1/10"])
    take(body)
    give(body, missing=["A-111", "G-708"])
    item = item_at(body, "CYL-1/set")
    words = {"job": "J1", "item_id": item, "amount": 1, "reason": "dropped", "who_pays": "shop"}
    asked = refused("photo-asked", scrap_for_job, **words)
    assert (asked.message, gone("scrap")) == ("Where is the photo of A-101, serial S-1 kept?", [])
    body = done(scrap_for_job, **words, no_photo="the camera is at the marine store")
    assert (body["photo"], body["no_photo"]) == ("", "the camera is at the marine store")
    assert gone("scrap") == [("A-101", "serial=S-1", 1)]


def test_half_a_set_is_never_scrapped_by_itself():
    shelve_sets("A-101", "S-1")
    job = book(findings=[("cylinder-chosen", "CYL-1")])
    take(hold(job, steps=["P1/10"]))
    broken = {
        "part": "A-101",
        "serial": "S-1",
        "damaged": "piston",
        "reason": "ring land chipped",
        "no_photo": "hands full",
    }
    body = done(break_set, **broken, orphan_place="TB-QUARANTINE", subject="J1")
    half = body["orphans"][0]["item"]
    refused("half-a-set", scrap_for_job, job="J1", item_id=half, amount=1, reason="left over", who_pays="shop")
    # The set is gone from the cart, so its bore is asked for again.
    shelve_sets("A-101", "S-2")
    assert [row["serial"] for row in hold(job, steps=["P1/10"])["held"]] == ["S-2"]


def test_a_closed_job_takes_nothing_back():
    job = book(findings=LIFTED, fit_on=date(2025, 1, 20))
    done(cancel_job, job="J1", reason="owner sold it")
    refused("job-ended", return_unused, job=job.number, returns=[ReturnIn(1, 1)])
