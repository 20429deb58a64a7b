"""Claims on suppliers: rejected, sent back, credited or refused, and what is taken back of it."""

from datetime import timedelta

import pytest

from inventory.domain.errors import ManyErrors
from inventory.models import Act
from inventory.queries.deliveries import credits_awaited, rejects, rendered_rejects, rendered_returns, return_lines
from inventory.services.claims import ReturnLine, enter_credit, reject, return_to_supplier
from inventory.services.count import CountLine, count
from inventory.services.orders import OrderLineIn
from inventory.services.receive import ReceiveLine, receive
from inventory.services.scrap import scrap
from inventory.services.transfer import ReleaseLine, TransferLine, release_quarantine, transfer
from tests.factories.acts import done, gone, held, item, refused, standing
from tests.factories.orders import came, numbers, ordered, rejected, sent_back, stands
from tests.factories.stores import NOON, PartFactory, PersonFactory, SupplierFactory, cart, quarantine, stamp
from tests.inventory.services.test_orders import undo

pytestmark = pytest.mark.django_db


def delivered(amount: int = 20, **more) -> dict:
    """A delivery of rings for an order of twenty; its only line."""
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=20))
    return came(ReceiveLine("O-1", amount, lot="A", **more), order="PO-1")[0]


def test_what_lies_on_a_shelf_is_rejected_into_quarantine():
    line = delivered()
    given = {"line": line["line"], "amount": "3 EA", "place": "R1", "reason": "torn"}
    refused("quarantine-needed", reject, **given)
    body = done(reject, quarantine="Q1", **given)
    assert (body["supplier"], body["order"], body["photo_missing"], body["place"]) == ("maker", "PO-1", True, "Q1")
    assert standing() == [("O-1", "lot=A", "Q1", 3), ("O-1", "lot=A", "R1", 17)]
    assert numbers(stands()) == [(20, 20, 17, 3, 0, 0, 0, 3)]
    (claim,) = rendered_rejects(rejects())
    assert (claim.amount, claim.reason, claim.returned, claim.order_line) == (3, "torn", 0, 1)
    refused("rejected", release_quarantine, lines=[ReleaseLine(line["item"], 1, "Q1", "R1")])
    undo("reject")
    assert standing() == [("O-1", "lot=A", "R1", 20)]
    assert numbers(stands()) == [(20, 20, 20, 0, 0, 0, 0, 0)]


def test_what_is_held_for_a_job_and_what_was_not_delivered_is_not_rejected():
    line = delivered()
    held(item("O-1", "lot=A"), cart("cart J1"), 18)
    given = {"line": line["line"], "place": "R1", "reason": "torn", "quarantine": "Q1"}
    refused("not-there", reject, amount=3, **given)
    refused("more-than-delivered", reject, amount=21, **given)
    refused("reason-missing", reject, amount=1, **(given | {"reason": " "}))
    refused("not-found", reject, amount=1, **(given | {"line": 999_999}))
    refused("wrong-place", reject, amount=1, **(given | {"quarantine": "R1"}))
    refused("wrong-place", reject, amount=1, **(given | {"place": "cart J1"}))
    assert numbers(stands()) == [(20, 20, 20, 0, 0, 0, 0, 0)]


def test_out_of_inspection_the_rest_is_released_and_the_rejected_ones_are_not():
    PartFactory(number="O-1")
    ordered(OrderLineIn("O-1", amount=15))
    _, over = came(ReceiveLine("O-1", 20, lot="A"), order="PO-1")
    rejected(over["line"], 2)
    assert numbers(stands()) == [(15, 20, 15, 2, 3, 3, 0, 0)]
    release = [ReleaseLine(over["item"], 4, "Q1", "R1")]
    assert refused("rejected", release_quarantine, lines=release).errors[0][1].values == {
        "item": "O-1, lot A", "there": 5, "rejected": 2, "asked": 4,
    }  # fmt: skip
    done(release_quarantine, lines=[ReleaseLine(over["item"], 3, "Q1", "R1")])
    assert numbers(stands()) == [(15, 20, 18, 2, 0, 3, 0, 0)]


def test_rejected_ones_that_were_scrapped_keep_no_others_in_quarantine():
    PartFactory(number="O-1")
    line = came(ReceiveLine("O-1", 20, lot="A", rejected="wet"))[0]
    undo("receive")
    (line,) = came(ReceiveLine("O-1", 20, lot="A"), reason="")
    done(reject, line=line["line"], amount=5, place="R1", quarantine="Q1", reason="torn")
    done(scrap, item_id=line["item"], amount=5, place="Q1", reason="the maker asks for it", who_pays="supplier")
    done(transfer, lines=[TransferLine(line["item"], 4, "R1", "Q1")], note="looked at")
    done(release_quarantine, lines=[ReleaseLine(line["item"], 4, "Q1", "R1")])
    assert standing() == [("O-1", "lot=A", "R1", 15)]


def test_a_claim_goes_back_and_its_credit_is_awaited_until_it_is_settled():
    line = delivered(rejected="wrong rubber", photos=["1.jpg"])
    (back,) = sent_back([line["reject"]], coins=9_000)
    assert (standing(), gone("supplier")) == ([], [])
    assert rendered_rejects(rejects())[0].returned == 20
    day = NOON.date()
    (row,) = credits_awaited(day)
    assert (row.coins, row.credited_coins, row.refused_coins, row.awaited_coins) == (9_000, 0, 0, 9_000)
    assert [credits_awaited(day + timedelta(days=days))[0].late for days in (60, 61)] == [False, True]
    undo("receive", "not-correctable")
    body = done(enter_credit, line=back, what="credited", coins=5_000)
    assert body["awaited_coins"] == 4_000
    refused("reason-missing", enter_credit, line=back, what="refused", coins=4_000)
    refused("more-than-outstanding", enter_credit, line=back, what="refused", coins=4_001, reason="used")
    refused("not-found", enter_credit, line=back + 99, what="credited", coins=1)
    refused("amount-not-positive", enter_credit, line=back, what="credited", coins=0)
    done(enter_credit, line=back, what="refused", coins=4_000, reason="used")
    (row,) = rendered_returns(return_lines(), day)
    assert row.coins == row.credited_coins + row.refused_coins + row.awaited_coins
    assert (row.credited_coins, row.refused_coins, credits_awaited(day)) == (5_000, 4_000, [])
    undo("return to supplier", "not-correctable")
    undo("enter credit")
    undo("enter credit", "corrected-already")
    assert credits_awaited(day)[0].awaited_coins == 4_000


def test_out_of_quarantine_the_rejected_ones_go_back_first_and_their_claim_is_named():
    line = delivered(20)
    claim = rejected(line["line"], 5, place="R1", quarantine="Q1")
    its = line["item"]

    def returned(*lines: ReturnLine):
        return {"supplier": "maker", "note": "RN-1", "lines": list(lines)}

    with pytest.raises(ManyErrors) as caught:
        return_to_supplier(actor=PersonFactory(), stamp=stamp(), **returned(ReturnLine(its, "Q1", 3, 300)))
    ((_, error),) = caught.value.errors
    assert (error.code, error.values["claims"]) == ("claim-unnamed", [claim])
    # What lies on a shelf goes back without one; so does what lies beside them, once theirs is named.
    done(transfer, lines=[TransferLine(its, 2, "R1", "Q1")], note="to be looked at")
    named, beside = ReturnLine(its, "Q1", 5, 500, reject=claim), ReturnLine(its, "Q1", 2, 200)
    done(return_to_supplier, **returned(ReturnLine(its, "R1", 1, 100), beside, named))
    assert rendered_rejects(rejects())[0].returned == 5
    assert standing() == [("O-1", "lot=A", "R1", 12)]


def test_what_was_rejected_and_scrapped_keeps_nothing_else_from_going_back():
    line = delivered(20)
    rejected(line["line"], 5, place="R1", quarantine="Q1")
    done(transfer, lines=[TransferLine(line["item"], 2, "R1", "Q1")], note="to be looked at")
    done(scrap, item_id=line["item"], amount=5, place="Q1", reason="torn", who_pays="supplier", no_photo="none")
    done(return_to_supplier, supplier="maker", note="RN-1", lines=[ReturnLine(line["item"], "Q1", 2, 200)])
    assert standing() == [("O-1", "lot=A", "R1", 13)]


def test_a_return_is_taken_back_while_nothing_is_settled():
    line = delivered(rejected="wrong rubber")
    sent_back([line["reject"]])
    undo("return to supplier")
    assert standing() == [("O-1", "lot=A", "Q1", 20)]
    assert (credits_awaited(NOON.date()), rendered_rejects(rejects())[0].returned) == ([], 0)
    undo("receive")
    assert (standing(), list(rejects())) == ([], [])


def test_what_is_wrong_with_a_return_is_named_line_by_line():
    line = delivered(rejected="wrong rubber")
    PartFactory(number="O-2")
    (other,) = came(ReceiveLine("O-2", 5, lot="B"))
    held(item("O-2", "lot=B"), cart("cart J1"), 4)
    given = {"supplier": "maker", "note": "RN-1"}
    lines = [
        ReturnLine(line["item"], "Q1", 21, 100),
        ReturnLine(other["item"], "R1", 1, 100, reject=line["reject"]),
        ReturnLine(other["item"], "R1", 2, 100),
        ReturnLine(other["item"], "cart J1", 1, 100),
        ReturnLine(other["item"], "R1", 1, 0),
        ReturnLine(999_999, "R1", 1, 100),
        ReturnLine(other["item"], "R1", 1, 100, reject=999_999),
    ]
    error = refused("not-there", return_to_supplier, lines=lines, **given)
    assert [(number, one.code) for number, one in error.errors] == [
        (1, "not-there"), (2, "wrong-part"), (3, "not-there"), (4, "wrong-place"), (5, "amount-not-positive"),
        (6, "not-found"), (7, "not-there"),
    ]  # fmt: skip
    unknown = [ReturnLine(line["item"], "Q1", 1, 100, reject=999_999)]
    refused("not-found", return_to_supplier, lines=unknown, **given)
    claims = [ReturnLine(line["item"], "Q1", 15, 100, reject=line["reject"])] * 2
    refused("not-there", return_to_supplier, lines=claims, **given)
    SupplierFactory(code="other", name="Another")
    refused("wrong-supplier", return_to_supplier, lines=claims[:1], supplier="other", note="RN-1")
    refused("not-found", return_to_supplier, lines=claims[:1], supplier="nobody", note="RN-1")
    refused("nothing-given", return_to_supplier, lines=claims[:1], supplier="maker", note=" ")
    refused("nothing-given", return_to_supplier, lines=[], **given)
    assert not Act.objects.filter(kind="return to supplier").exists()


def test_no_more_of_a_claim_goes_back_than_was_rejected():
    line = delivered()
    done(reject, line=line["line"], amount=3, place="R1", quarantine="Q1", reason="torn")
    claim = rejects().get().pk
    done(transfer, lines=[TransferLine(line["item"], 4, "R1", "Q1")], note="looked at")
    lines = [ReturnLine(line["item"], "Q1", 2, 100, reject=claim)] * 2
    error = refused("more-than-outstanding", return_to_supplier, supplier="maker", note="RN-1", lines=lines)
    assert [number for number, _ in error.errors] == [2]
    done(return_to_supplier, supplier="maker", note="RN-1", lines=lines[:1], actor=PersonFactory(), stamp=stamp())
    # What did no wrong goes back too, without a claim.
    done(return_to_supplier, supplier="maker", note="RN-2", lines=[ReturnLine(line["item"], "R1", 5, 700)])
    assert gone("supplier") == [("O-1", "lot=A", -13)]


def test_no_claim_lies_before_the_day_of_what_it_rests_on():
    """Delivered on the 10th, rejected on the 12th, back on the 14th, settled on the 15th."""
    PartFactory(number="O-1")
    quarantine("Q1")
    look = {
        "supplier": SupplierFactory().code,
        "place": "Q1",
        "lines": [ReceiveLine("O-1", 5, lot="A")],
        "reason": "look",
    }
    done(receive, stamp=stamp(NOON.replace(day=5)), **look)
    (line,) = done(receive, stamp=stamp(NOON.replace(day=10)), **look)["lines"]
    about = {"line": line["line"], "amount": 2, "place": "Q1", "reason": "torn"}
    refused("dates-turned", reject, stamp=stamp(NOON.replace(day=9)), **about)
    claim = done(reject, stamp=stamp(NOON.replace(day=12)), **about)["rejects"][0]
    back = {"supplier": "maker", "note": "RN-1", "lines": [ReturnLine(line["item"], "Q1", 2, 900, reject=claim)]}
    error = refused("dates-turned", return_to_supplier, stamp=stamp(NOON.replace(day=11)), **back)
    assert [one.code for _, one in error.errors] == ["dates-turned"]
    row = done(return_to_supplier, stamp=stamp(NOON.replace(day=14)), **back)["lines"][0]["line"]
    settled = {"line": row, "what": "credited", "coins": 900}
    refused("dates-turned", enter_credit, stamp=stamp(NOON.replace(day=13)), **settled)
    done(enter_credit, stamp=stamp(NOON.replace(day=15)), **settled)


def test_without_a_claim_goods_go_back_to_a_supplier_that_delivered_them_only():
    line = delivered()
    PartFactory(number="O-2")
    (second,) = came(ReceiveLine("O-2", 5, lot="B"))
    SupplierFactory(code="other", name="Another")
    done(receive, supplier="other", place="R1", lines=[ReceiveLine("O-2", 5, lot="B")])
    done(transfer, lines=[TransferLine(line["item"], 4, "R1", "Q1")], note="looked at")
    goes = [ReturnLine(line["item"], "R1", 1, 50), ReturnLine(second["item"], "R1", 1, 50)]
    error = refused(
        "wrong-supplier",
        return_to_supplier,
        supplier="other",
        note="RN-1",
        lines=[*goes, ReturnLine(line["item"], "Q1", 1, 50)],
    )
    assert [(number, one.code) for number, one in error.errors] == [(1, "wrong-supplier"), (3, "wrong-supplier")]
    assert error.errors[0][1].values == {"item": "O-1, lot A", "supplier": "other", "delivered_by": ["maker"]}
    assert error.errors[0][1].ways_out[0] == "Send it back to maker."
    # What both delivered goes to either.
    done(return_to_supplier, supplier="other", note="RN-1", lines=goes[1:])
    done(return_to_supplier, supplier="maker", note="RN-2", lines=goes)
    assert gone("supplier") == [("O-1", "lot=A", -19), ("O-2", "lot=B", -8)]


def test_what_nobody_on_record_delivered_goes_back_to_whom_it_came_from():
    line = delivered()
    undo("receive")
    done(count, place="R1", lines=[CountLine(3, line["item"])], reason="found")
    SupplierFactory(code="other", name="Another")
    done(return_to_supplier, supplier="other", note="RN-1", lines=[ReturnLine(line["item"], "R1", 3, 50)])
    assert standing() == []
