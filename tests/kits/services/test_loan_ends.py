"""How a loan ends where what was lent is held no more, or came back by another way; and what nobody lends any more."""

from dataclasses import replace
from datetime import timedelta

import pytest

from inventory.domain.loans import Word
from inventory.models import Hold, HoldEnd, LoanAnswer, LoanEnd, Short
from inventory.queries.audit import audit
from inventory.services.count import CountLine, count
from inventory.services.orders import EndIn, OrderLineIn, close_lines, place_order
from inventory.services.receive import ReceiveLine, receive
from inventory.services.stops import free_lot, stop_lot
from kits.models import Job, JobHold
from kits.queries.job_list import job_list
from kits.queries.loans import loans_of
from kits.queries.scope import job_by_number
from kits.queries.shorts import shorts_of
from kits.queries.to_return import unasked_rows
from kits.services.families import enter_procedure
from kits.services.finish import cancel_job
from kits.services.jobs import withdraw_finding
from kits.services.lending import answer_to_lend, lend
from kits.services.loan_ends import close_loan, give_back_loan
from kits.services.pick_kit import Scan, pick
from kits.services.release import release
from kits.services.release_unasked import release_unasked
from tests.factories import workshop
from tests.factories.acts import done, refused, shorts
from tests.factories.engines import line
from tests.factories.lending import Lending, lending
from tests.factories.stores import NOON, SupplierFactory, stamp

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(minutes=30)


@pytest.fixture
def stage() -> Lending:
    workshop.workshop()
    return lending(borrowers=2)


def lent(stage: Lending, amount: int = 2, **more) -> int:
    """So many of the two rings of D1 are lent to B1; the loan."""
    request = stage.agreed("B1", amount)
    done(lend, request=request, **more)
    return request


def promised(amount: int = 2) -> dict:
    """A line of an order that is here by the day of the donor."""
    line = OrderLineIn("RING", amount=amount, promised_on=NOON.date())
    done(place_order, order="PO-1", supplier=SupplierFactory().code, lines=[line])
    return {"order": "PO-1", "line": 1}


def listed(job: str = "D1") -> list[dict]:
    return loans_of(job_by_number(job), NOON + timedelta(hours=1))


def away(job: str = "D1") -> list[tuple[int, int, int]]:
    """(held, picked, gone) of what a job's shorts still name as lent."""
    return [(one["held"], one["picked"], one["gone"]) for one in shorts_of(job_by_number(job), NOON.date())["lent"]]


def counted_away(stage: Lending, left: int) -> None:
    done(count, place="R1", lines=[CountLine(left, item_id=stage.ring.pk)], reason="a torn bag", looked_at=["O-ring"])


def test_what_a_stop_ended_is_not_given_back_and_the_list_says_how_it_ended(stage):
    loan = lent(stage)
    done(stop_lot, lot_id=stage.ring.lot_id, reason="leaks")
    assert away() == [(0, 0, 2)]
    error = refused("hold-ended", give_back_loan, loan=loan, reason="others came")
    assert error.message.startswith(f"Nothing of loan {loan} is held for job B1 any more: hold ")
    assert "was made impossible: " in error.message and "leaks" in error.message
    assert error.ways_out == (f"Close the loan (loans/{loan}/closings), and say whether job D1 has it again.",)
    (row,) = listed()
    assert [(one["amount"], one["how"]) for one in row["loan"]["holds"]] == [(2, "made impossible")]
    assert (row["loan"]["held"], row["loan"]["gone"], row["loan"]["over"]) == (0, 2, "")
    # nothing paid it back, so D1 was short as it was lent: closing says it no second time
    before = shorts()
    body = done(close_loan, loan=loan, paid_back=False, reason="the lot leaks")
    assert body == {
        "loan": loan, "how": "not coming back", "held": 0, "picked": 0, "gone": 2, "shorts": [],
    }  # fmt: skip
    assert (away(), shorts()) == ([], before)
    (row,) = listed()
    assert (row["loan"]["over"], row["loan"]["over_why"]) == ("not coming back", "the lot leaks")
    assert audit() == []


def test_a_payback_that_was_promised_in_time_is_awaited_until_a_person_closes_the_loan(stage):
    loan = lent(stage, **promised())
    counted_away(stage, 0)
    assert (away(), Short.objects.filter(hold=stage.hold).count()) == ([(0, 0, 2)], 0)
    body = done(close_loan, loan=loan, paid_back=False, reason="the order is cancelled")
    assert [(one["part"], one["amount"]) for one in body["shorts"]] == [("RING", 2)]
    assert Short.objects.get(hold=stage.hold).why == "lent to job B1, not coming back: the order is cancelled"
    refused("done-already", close_loan, loan=loan, paid_back=True, reason="again")
    refused("done-already", give_back_loan, loan=loan, reason="again")


def test_closing_the_line_that_pays_back_names_the_loan_and_the_donor_is_short(stage):
    line = promised(4)
    loan = lent(stage, **line)
    closed = {"order": "PO-1", "lines": [EndIn(1)], "reason": "the maker is out of them"}
    body = done(close_lines, **closed)
    assert [(one["given_up"], one["loans"]) for one in body["lines"]] == [(4, [loan])]
    (row,) = shorts_of(job_by_number("D1"), NOON.date())["lent"]
    assert (row["payback"]["late"], row["in_shorts"]) == (True, 2)
    # An order that pays back nothing that runs names none.
    done(close_loan, loan=loan, paid_back=False, reason="the order is cancelled")
    given = [OrderLineIn("RING", amount=1)]
    done(place_order, order="PO-2", supplier=SupplierFactory().code, lines=given)
    assert done(close_lines, **closed | {"order": "PO-2"})["lines"][0]["loans"] == []


def test_what_was_paid_back_frees_the_line_and_leaves_the_borrower_what_it_holds(stage):
    line = promised()
    loan = lent(stage, **line)
    (held,) = [one["hold"] for one in listed()[0]["loan"]["holds"]]
    assert done(close_loan, loan=loan, paid_back=True, reason="came this morning")["shorts"] == []
    assert (away(), stage.open(), LoanEnd.objects.get().how) == ([], {"B1": 2}, "paid back")
    # it is B1's own now: given up like anything that it asks for no longer
    borrower = job_by_number("B1")
    for finding in borrower.findings.all():
        done(withdraw_finding, job="B1", finding_id=finding.pk, reason="it is good")
    (row,) = unasked_rows(job_list(borrower, NOON.date()))
    body = done(release_unasked, job="B1", reason="the liners stay")
    assert (row["hold"], [one["hold"] for one in body["released"]], body["lent"]) == (held, [held], [])


def test_what_was_lent_is_released_only_when_the_loan_is_over(stage):
    loan = lent(stage, **promised())
    (held,) = [one["hold"] for one in listed()[0]["loan"]["holds"]]
    error = refused("hold-lent", release, hold=held, reason="not now")
    assert [
        f"loans/{loan}/{what}" in out for what, out in zip(("returns", "closings"), error.ways_out, strict=True)
    ] == [
        True,
        True,
    ]
    done(close_loan, loan=loan, paid_back=True, reason="came this morning")
    assert (done(release, hold=held, reason="not now")["freed"], stage.open()) == (2, {})


def test_the_line_of_a_loan_that_is_over_may_pay_back_another(stage):
    line = promised()
    first = lent(stage, **line)
    stop = done(stop_lot, lot_id=stage.ring.lot_id, reason="leaks")["stop"]
    done(free_lot, lot_id=stage.ring.lot_id, stop_id=stop, reason="it was another lot")
    stage.hold = workshop.held_for("D1").body["held"][0]["hold"]
    second = stage.agreed("B2")
    error = refused("more-than-outstanding", lend, request=second, **line)
    assert error.ways_out == (f"Close loan {first}, if it is over (loans/{first}/closings).",)
    done(close_loan, loan=first, paid_back=True, reason="D1 holds them again")
    assert done(lend, request=second, **line)["payback"]["late"] is False


def test_half_of_it_is_gone_and_the_other_half_goes_back(stage):
    other = {**workshop.operations()[1], "code": "LIDRING", "lines": [line("other", 10, "RING", "COVER/part-6")]}
    done(enter_procedure, document=other)
    workshop.job("B3", "RINGS", "LIDRING")
    loan = stage.agreed("B3")
    done(lend, request=loan, **promised())
    holds = [one["hold"] for one in listed()[0]["loan"]["holds"]]
    assert [one["amount"] for one in listed()[0]["loan"]["holds"]] == [1, 1]
    counted_away(stage, 1)
    assert away() == [(1, 0, 1)]
    body = done(give_back_loan, loan=loan, reason="others came")
    assert (body["amount"], body["gone"], len(body["ended"])) == (1, 1, 1)
    assert set(body["ended"]) < set(holds)
    assert [(one["part"], one["amount"]) for one in body["shorts"]] == [("RING", 1)]
    assert (stage.open(), stage.books(), away()) == ({"D1": 1}, (1, 1), [])
    assert JobHold.objects.get(hold=body["hold"]).positions == [["CYL-1/ring", 1, 1]]
    assert audit() == []


def test_what_was_picked_is_not_given_back_and_is_closed_once_it_is_paid_back(stage):
    loan = lent(stage)
    made = listed()[0]["loan"]["holds"][0]["hold"]
    done(pick, pick_list=JobHold.objects.get(hold=made).pick_list_id, scans=[Scan(made, "B1")])
    error = refused("hold-ended", give_back_loan, loan=loan, reason="others came")
    assert error.message == "2 of it were picked for job B1: what was picked is not given back."
    assert (error.ways_out[0], len(error.ways_out)) == ("Return it from job B1 to its bin and hold it for job D1.", 2)
    assert (away(), listed()[0]["loan"]["picked"]) == ([(0, 2, 0)], 2)
    assert done(close_loan, loan=loan, paid_back=True, reason="two came from the sister shop")["picked"] == 2


def test_jobs_that_ended_are_no_obstacle(stage):
    loan = lent(stage)
    done(cancel_job, job="B1", reason="the customer sells it")
    refused("hold-ended", give_back_loan, loan=loan, reason="B1 is cancelled")
    done(cancel_job, job="D1", reason="sold too")
    body = done(close_loan, loan=loan, paid_back=False, reason="both are cancelled")
    assert (body["gone"], body["shorts"], away()) == (2, [], [])
    assert set(Job.objects.filter(number__in=["B1", "D1"]).values_list("state", flat=True)) == {"cancelled"}


def test_nobody_agrees_to_lend_what_is_held_no_more(stage):
    asked, other = stage.asked("B1"), stage.asked("B2")
    done(answer_to_lend, actor=stage.technician, request=other, agreed=True)
    counted_away(stage, 0)
    error = refused("hold-ended", answer_to_lend, actor=stage.technician, request=asked, agreed=True)
    assert error.message.startswith(f"Hold {stage.hold} was made impossible on 2025-01-15 by ")
    assert error.message.endswith(f": counted short: a torn bag. Request {asked} lapsed with it.")
    assert LoanAnswer.objects.count() == 1
    refused("hold-ended", lend, request=other)
    rows = {one["request"]: one for one in listed()}
    assert {one["state"] for one in rows.values()} == {Word.LAPSED.value}
    ended = HoldEnd.objects.get(hold=stage.hold)
    assert rows[asked]["hold_ended"] == {
        "how": "made impossible", "why": "counted short: a torn bag", "act": ended.act_id, "at": NOON,
    }  # fmt: skip
    # who says no may say it still
    done(answer_to_lend, actor=stage.technician, request=asked, agreed=False, reason="there are none")
    assert listed()[0]["state"] == Word.REFUSED.value


def test_what_was_lent_to_one_is_not_agreed_to_for_another(stage):
    other = stage.asked("B2")
    lent(stage)
    error = refused("hold-ended", answer_to_lend, actor=stage.technician, request=other, agreed=True)
    assert "2 of 2 lent to job B1" in error.message


def test_nobody_agrees_to_lend_to_a_job_that_ended(stage):
    asked = stage.asked("B1")
    done(cancel_job, job="B1", reason="the customer sells it")
    refused("job-ended", answer_to_lend, actor=stage.technician, request=asked, agreed=True)
    assert LoanAnswer.objects.count() == 0


def test_two_loans_of_one_part_are_both_in_what_is_to_be_bought_or_replaced(stage, monkeypatch):
    """Both rings that D1 lent are short once, where its list is short, and the ways out are reckoned for both."""
    asked = []
    monkeypatch.setattr("kits.queries.shorts.ways_out", lambda listed, short, day: asked.append(dict(short)) or {})
    lent(stage, 1)
    stage.hold = Hold.objects.get(end__isnull=True, job_hold__job__number="D1").pk
    done(lend, request=stage.agreed("B2", 1))
    told = shorts_of(job_by_number("D1"), NOON.date())
    assert [(one["short"], one["short_as"], one["in_shorts"], one["ways"]) for one in told["lent"]] == [
        (0, "RING", 1, [])
    ] * 2
    assert [(one["part"], one["short"], one["by_loan"]) for one in told["shorts"]] == [("RING", 2, 2)]
    assert not told["complete"]
    assert asked[0] == {"RING": 2}
    # One comes to the shelf: one of the two is short still, by the older loan.
    workshop.rings(1, "N1")
    told = shorts_of(job_by_number("D1"), NOON.date())
    assert [(one["short"], one["by_loan"], one["free"]) for one in told["shorts"]] == [(1, 1, 1)]
    assert [(one["short"], one["in_shorts"]) for one in told["lent"]] == [(0, 1), (0, 0)]
    workshop.rings(1, "N2")
    told = shorts_of(job_by_number("D1"), NOON.date())
    assert (told["shorts"], [one["in_shorts"] for one in told["lent"]]) == ([], [0, 0])


def test_what_comes_of_one_line_is_shared_out_to_who_needs_it_first(stage):
    """Two jobs lent two rings each, and three come: the job that is fitted first has both of its own, the other one of two."""
    other = lending(name="X", lot="B2", fit_on=job_by_number("D1").fit_on - timedelta(days=1))
    line = promised(4)
    first = lent(stage, **line)
    second = other.agreed("BX1", 2)
    body = done(lend, request=second, **line)
    assert (body["payback"]["before"], body["payback"]["late"]) == ([], False)
    delivered = ReceiveLine("RING", amount=3, lot="N-1", cure_code="3Q24")
    done(receive, supplier=SupplierFactory().code, place="R1", order="PO-1", lines=[delivered], stamp=stamp(LATER))
    told = {job: listed(job)[0]["loan"]["payback"] for job in ("D1", "DX1")}
    assert {job: (one["came"], one["before"], one["outstanding"]) for job, one in told.items()} == {
        "DX1": (2, [], 1),
        "D1": (1, [second], 1),
    }
    # its day went by without the fourth
    day = NOON.date() + timedelta(days=1)
    shorts_now = {job: shorts_of(job_by_number(job), day)["lent"][0]["payback"]["late"] for job in ("D1", "DX1")}
    assert shorts_now == {"D1": True, "DX1": False}
    # Closed, the one keeps its two; the other has one still, until the fourth comes.
    done(close_loan, loan=second, paid_back=True, reason="on the shelf", stamp=stamp(LATER))
    assert listed()[0]["loan"]["payback"]["came"] == 1
    done(
        receive,
        supplier=SupplierFactory().code,
        place="R1",
        order="PO-1",
        lines=[replace(delivered, amount=1)],
        stamp=stamp(LATER),
    )
    assert [listed(job)[0]["loan"]["payback"]["came"] for job in ("D1", "DX1")] == [2, 2]
    assert first and audit() == []
