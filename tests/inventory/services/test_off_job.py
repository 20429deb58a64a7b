"""Sold at the counter and brought back, used in the workshop, bought in an emergency: with a reason, a word on demand, at cost."""

import json
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from inventory.domain.errors import ManyErrors
from inventory.domain.off_job import What
from inventory.models import Act, OffJob, Outcome, Part, Refusal
from inventory.queries.off_job import demand, left, rendered_left
from inventory.queries.valuation import stock_value
from inventory.queries.value_walk import AsOf
from inventory.queries.whereabouts import lot_whereabouts
from inventory.services.break_set import break_set
from inventory.services.correct import correct
from inventory.services.off_job import LeavingLine, sell_at_counter, take_back_sold, use_in_workshop
from inventory.services.receive import ReceiveLine, receive
from inventory.services.stops import stop_lot
from inventory.services.transfer import ReleaseLine, release_quarantine
from tests.factories.acts import done, gone, held, item, picked, refused, standing
from tests.factories.stores import (
    NOON,
    OwnerFactory,
    PartFactory,
    PersonFactory,
    SupplierFactory,
    bench,
    cart,
    quarantine,
    sheets_read,
    stamp,
    stock,
)

pytestmark = pytest.mark.django_db

LATER = NOON + timedelta(days=31)


def sale(**more):
    return {"buyer": OwnerFactory().pk, "reason": "walked in", "demand": True} | more


@pytest.fixture
def ring():
    """Ten rings of a lot for 50.00 on R1; a quarantine."""
    stock(PartFactory(number="R-1"), 10, lot="B1", total_coins=5_000)
    quarantine("Q1")
    return item("R-1", "lot=B1")


def sold(ring, amount=3, **more):
    return done(sell_at_counter, lines=[LeavingLine(ring.pk, amount, "R1")], **sale(**more))["lines"][0]["line"]


def books():
    found = stock_value(AsOf.of(None, None))
    assert found["adds_up"]
    return found["coins"], {one["where"]: one["coins"] for one in found["gone"]}


def test_a_chemical_is_sold_with_a_sheet_on_record_and_used_by_somebody_who_signed_it():
    user = PersonFactory()
    stock(PartFactory(number="T-1", kind="sealant"), 5, lot="B1")
    lines = [LeavingLine(item("T-1", "lot=B1").pk, 1, "R1")]
    use = {"lines": lines, "reason": "bench top", "demand": False}
    refused("safety-sheet-missing", sell_at_counter, lines=lines, **sale())
    refused("safety-sheet-missing", use_in_workshop, actor=user, **use)
    sheets_read()
    refused("safety-sheet-unread", use_in_workshop, actor=user, **use)
    done(sell_at_counter, lines=lines, **sale())
    sheets_read(user)
    done(use_in_workshop, actor=user, **use)
    assert standing() == [("T-1", "lot=B1", "R1", 3)]


def test_a_chemical_is_bought_straight_to_a_bench_with_its_sheet_only():
    PartFactory(number="T-1", kind="sealant")
    bench("bench 1")
    buy = {
        "supplier": SupplierFactory().code,
        "place": "bench 1",
        "emergency": True,
        "demand": True,
        "reason": "ran dry",
    }
    lines = [ReceiveLine("T-1", 1, lot="B1")]
    refused("safety-sheet-missing", receive, lines=lines, **buy)
    sheets_read()
    done(receive, lines=lines, **buy)


def test_what_is_not_issued_loose_leaves_by_whole_packs_over_all_lines():
    """A pack of ten, four asked for: the whole ten (worked example of the demo shop, invented)."""
    stock(PartFactory(number="R-1", pack=10, loose_issue=False), 26, lot="B1")
    ring = item("R-1", "lot=B1").pk

    def lines(*amounts):
        return [LeavingLine(ring, amount, "R1") for amount in amounts]

    refused("pack-not-whole", sell_at_counter, lines=lines(4), **sale())
    refused("pack-not-whole", use_in_workshop, lines=lines(10, 4), reason="rig", demand=False)
    done(sell_at_counter, lines=lines(4, 6), **sale())
    done(use_in_workshop, lines=lines(16), reason="rig", demand=False)
    assert standing() == []


def test_a_sale_goes_out_at_cost_and_comes_back_at_that_cost_to_quarantine_until_another_person_releases_it(ring):
    line = sold(ring)
    assert (gone("sold"), books()) == ([("R-1", "lot=B1", 3)], (3_500, {"sold at the counter": 1_500}))
    back = {"line": line, "amount": 2, "reason": "wrong size"}
    refused("wrong-place", take_back_sold, place="R1", **back)
    refused("reason-missing", take_back_sold, place="Q1", **back | {"reason": " "})
    refused("more-than-outstanding", take_back_sold, place="Q1", **back | {"amount": 4})
    keeper = PersonFactory()
    done(take_back_sold, actor=keeper, place="Q1", **back)
    refused("more-than-outstanding", take_back_sold, place="Q1", **back)
    assert books() == (4_500, {"sold at the counter": 500})
    out = [ReleaseLine(ring.pk, 2, "Q1", "R1")]
    refused("second-person-needed", release_quarantine, actor=keeper, lines=out)
    done(release_quarantine, lines=out)
    assert standing() == [("R-1", "lot=B1", "R1", 9)]
    found = lot_whereabouts(ring.lot_id).sum
    assert (found.sold, found.loose, found.difference) == (1, 9, 0)


def test_what_the_workshop_uses_is_an_expense_and_both_are_taken_back_by_a_correction(ring):
    use = use_in_workshop(
        actor=PersonFactory(), stamp=stamp(), lines=[LeavingLine(ring.pk, 2, "R1")], reason="test rig", demand=False
    )
    assert (gone("workshop use"), books()) == ([("R-1", "lot=B1", 2)], (4_000, {"used in the workshop": 1_000}))
    assert lot_whereabouts(ring.lot_id).sum.used_here == 2
    done(correct, act_id=use.act_id, reason="it was for a job")
    out = sell_at_counter(actor=PersonFactory(), stamp=stamp(), lines=[LeavingLine(ring.pk, 1, "R1")], **sale())
    line = out.body["lines"][0]["line"]
    back = take_back_sold(actor=PersonFactory(), stamp=stamp(), line=line, amount=1, place="Q1", reason="wrong size")
    refused("not-correctable", correct, act_id=out.act_id, reason="never sold")
    done(correct, act_id=back.act_id, reason="it was another buyer")
    done(correct, act_id=out.act_id, reason="never sold")
    assert (standing(), books()) == ([("R-1", "lot=B1", "R1", 10)], (5_000, {}))
    assert lot_whereabouts(ring.lot_id).sum.difference == 0


def test_what_is_held_stopped_too_old_opened_or_half_a_set_is_not_sold_and_every_line_is_named(ring):
    held(ring, cart("cart J1"), 8)
    stock(PartFactory(number="O-1"), 2, lot="OLD", printed_on=date(2025, 1, 14), at=NOON - timedelta(days=1))
    stock(PartFactory(number="X-1"), 2, lot="STOP")
    done(stop_lot, lot_id=item("X-1", "lot=STOP").lot_id, reason="leaks")
    stock(PartFactory(number="S-1", tracked_by="set", unit="SET"), serial="S-1")
    done(break_set, part="S-1", serial="S-1", damaged="pin", reason="bent", orphan_place="Q1", photo_ref="photo 1")
    half = item("S-1", "serial=S-1|member=liner")
    lines = [
        LeavingLine(ring.pk, 3, "R1"),
        LeavingLine(item("O-1", "lot=OLD").pk, 1, "R1"),
        LeavingLine(item("X-1", "lot=STOP").pk, 1, "R1"),
        LeavingLine(half.pk, 1, "Q1"),
        LeavingLine(0, 1, "R1"),
    ]
    error = refused("not-there", sell_at_counter, lines=lines, **sale())
    assert isinstance(error, ManyErrors)
    assert [one.code for _, one in error.errors] == ["not-there", "expired", "stopped", "half-a-set", "not-found"]
    assert error.errors[0][1].values["holders"][0]["for"] == "cart J1"
    one = {"lines": [LeavingLine(ring.pk, 1, "R1")]}
    refused("reason-missing", sell_at_counter, **one, **sale(reason=" "))
    error = refused("not-found", sell_at_counter, **one, **sale(buyer=10**9))
    assert error.values == {"owner": 10**9}
    refused("nothing-given", sell_at_counter, lines=[], **sale())
    refused("reason-missing", use_in_workshop, **one, reason="", demand=True)
    # The workshop may use up what is past its day.
    done(use_in_workshop, lines=[lines[1]], reason="to seal the rig", demand=False)


def emergency(place, *lines, **more):
    given = {"supplier": SupplierFactory().code, "place": place, "lines": list(lines), "reason": "burst on the stand"}
    return {**given, "emergency": True, "demand": True, **more}


def test_what_is_bought_in_an_emergency_has_a_reason_and_without_its_lot_goes_to_a_bench_as_lot_unknown(ring):
    bench("bench J1")
    bought = ReceiveLine("R-1", 2, total_coins=900)
    refused("reason-missing", receive, **emergency("bench J1", bought, reason=" "))
    ((_, error),) = refused("lot-missing", receive, **emergency("R1", bought)).errors
    assert error.ways_out == (
        "Read the lot on the bag or the label.",
        "Bought without a lot, it comes to the bench of the job that needs it, or into quarantine.",
    )
    given = {"supplier": SupplierFactory().code, "place": "Q1", "lines": [bought], "reason": "looked at"}
    ((_, error),) = refused("lot-missing", receive, **given).errors
    assert error.ways_out == ("Read the lot on the bag or the label.",)
    refused("wrong-place", receive, supplier=SupplierFactory().code, place="bench J1", lines=[bought], reason="x")
    done(receive, **emergency("bench J1", bought))
    assert ("R-1", "-", "bench J1", 2) in standing()
    # The job of the bench is charged what it cost.
    assert stock_value(AsOf.of(None, None))["at_jobs_coins"] == 900
    # It counts as any lot: whoever asks for one sees it.
    found = lot_whereabouts(ring.lot_id)
    assert [(one.kit, one.place, one.amount) for one in found.possible] == [("", "bench J1", 2)]
    assert found.sum.difference == 0


def test_the_history_of_demand_is_what_jobs_were_issued_and_what_is_flagged_by_month(ring):
    its_cart = cart("cart J1")
    bench("bench J1")
    picked(held(ring, its_cart, 4), 4)
    line = sold(ring, 2)
    sold(ring, 1, demand=False)
    done(take_back_sold, line=line, amount=1, place="Q1", reason="wrong size", stamp=stamp(LATER))
    done(use_in_workshop, lines=[LeavingLine(ring.pk, 1, "R1")], reason="rig", demand=True, stamp=stamp(LATER))
    done(receive, **emergency("bench J1", ReceiveLine("R-1", 2)), stamp=stamp(LATER))
    # On a shelf it counts when it is issued from there, and not before.
    done(receive, **emergency("R1", ReceiveLine("R-1", 5, lot="B2")), stamp=stamp(LATER))
    mistaken = use_in_workshop(
        actor=PersonFactory(), stamp=stamp(LATER), lines=[LeavingLine(ring.pk, 1, "R1")], reason="rig", demand=True
    )
    done(correct, act_id=mistaken.act_id, reason="it was not", stamp=stamp(NOON + timedelta(days=32)))
    rows = demand(date(2025, 1, 1), date(2025, 2, 28), Part.objects.get(number="R-1"))
    names = ("issued", "returned", "sold", "workshop", "bought", "not_counted")
    assert [(row.month, *(getattr(row.counts, name) for name in names), row.amount) for row in rows] == [
        ("2025-01", 4, 0, 2, 0, 0, 1, 6),
        ("2025-02", 0, 0, -1, 1, 2, 0, 2),
    ]
    assert demand(date(2025, 1, 16), date(2025, 1, 31)) == []
    # Another part has its months too, with nothing in them: it never lay on a shelf.
    other = demand(date(2025, 1, 1), date(2025, 2, 28), PartFactory(number="R-2"))
    assert [(row.month, row.amount, row.stocked_days) for row in other] == [("2025-01", 0, 0), ("2025-02", 0, 0)]


def test_what_was_sold_does_not_come_back_before_it_went(ring):
    """The place that it comes from is the books' own, which no level guards: at the moment itself it may."""
    line = sold(ring, stamp=stamp(LATER))
    back = {"line": line, "amount": 1, "place": "Q1", "reason": "wrong size"}
    refused("dates-turned", take_back_sold, stamp=stamp(LATER - timedelta(seconds=1)), **back)
    done(take_back_sold, stamp=stamp(LATER), **back)
    assert books() == (4_000, {"sold at the counter": 1_000})


def test_who_bought_is_a_number_in_every_row_and_a_name_with_the_owner_alone(ring):
    buyer = OwnerFactory(name="Somebody Invented", telephone="555 0100")
    (line,) = done(sell_at_counter, lines=[LeavingLine(ring.pk, 1, "R1")], **sale(buyer=buyer.pk))["lines"]
    refused("not-there", sell_at_counter, lines=[LeavingLine(ring.pk, 99, "R1")], **sale(buyer=buyer.pk))
    (row,) = rendered_left(left(What.COUNTER))
    assert (row.line, row.buyer) == (line["line"], buyer.pk)
    kept = json.dumps([list(model.objects.values()) for model in (Act, OffJob, Outcome, Refusal)], default=str)
    assert f'"buyer": {buyer.pk}' in kept
    assert [word for word in (buyer.name, buyer.telephone) if word in kept] == []
    done(use_in_workshop, lines=[LeavingLine(ring.pk, 1, "R1")], reason="rig", demand=False)
    assert [one.buyer for one in rendered_left(left(What.WORKSHOP))] == [None]


@pytest.mark.parametrize("what", What)
def test_a_sale_has_a_buyer_and_nothing_else_has_one(ring, what):
    """The table itself says so: a row with a buyer too many or too few is not kept."""
    buyer = None if what is What.COUNTER else OwnerFactory()
    act = Act.objects.latest("pk")
    with pytest.raises(IntegrityError, match="off_job_sale_has_buyer"), transaction.atomic():
        OffJob.objects.create(act=act, what=what.value, demand=True, buyer=buyer)
