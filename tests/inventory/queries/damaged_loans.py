"""Damages of what was lent between jobs: each returns what the audit has to find."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from inventory.models import Hold, HoldEnd, LentHold, Loan, LoanAnswer, LoanRequest
from inventory.services import holding, things
from inventory.services.run import run
from tests.factories.acts import held, item
from tests.factories.damage import execute, lift_guards
from tests.factories.stores import PartFactory, PersonFactory, cart, stamp, stock

Finding = tuple[str, str, int | str]
TABLES = (
    "inventory_loanrequest",
    "inventory_loananswer",
    "inventory_loan",
    "inventory_lenthold",
)


def _lent() -> Loan:
    """Ten held for one cart, three of them lent to another with the word of who was asked."""
    stock(PartFactory(number="L-1"), 10, lot="L")
    of, technician = item("L-1", "lot=L"), PersonFactory()
    donor, borrower = cart("LENDS"), cart("BORROWS")
    first = held(of, donor, 10)

    def work(act: Any) -> dict[str, Any]:
        goes = things.spot(borrower)
        asked = LoanRequest.objects.create(
            act=first.act, hold=first, to_spot=goes, amount=3, asked_of=technician, minutes=120, reason="low"
        )
        LoanAnswer.objects.create(request=asked, act=act, agreed=True)
        holding.end(act, [first], HoldEnd.How.RELEASED, "lent")
        rest, lent = (
            holding.hold(act, spot, [holding.Promise(of.pk, first.from_spot_id, amount, first.needed_on)])[0]
            for spot, amount in ((first.to_spot, 7), (goes, 3))
        )
        loan = Loan.objects.create(request=asked, act=act, rest=rest)
        LentHold.objects.create(hold=lent, loan=loan)
        return {}

    run("lend", work, actor=technician, stamp=stamp(), request={})
    return Loan.objects.get()


def _lent_hold_lost(shop: Any) -> list[Finding]:
    loan = _lent()
    lift_guards(*TABLES)
    execute("DELETE FROM inventory_lenthold WHERE loan_id = %s", [loan.pk])
    return [("lent-adds-up", "loan", loan.pk)]


def _less_stays(shop: Any) -> list[Finding]:
    loan = _lent()
    lift_guards(*TABLES)
    rest = Hold.objects.get(pk=loan.rest_id)
    execute("UPDATE inventory_hold SET amount = 6 WHERE id = %s", [rest.pk])
    execute("UPDATE inventory_balance SET held = 9 WHERE item_id = %s AND held = 10", [rest.item_id])
    return [("lent-adds-up", "loan", loan.pk)]


def _nobody_agreed(shop: Any) -> list[Finding]:
    loan = _lent()
    lift_guards(*TABLES)
    execute("UPDATE inventory_loananswer SET agreed = %s", [False])
    return [("lent-by-consent", "loan", loan.pk)]


def _another_agreed(shop: Any) -> list[Finding]:
    loan = _lent()
    lift_guards(*TABLES)
    execute("UPDATE inventory_loanrequest SET asked_of_id = %s", [PersonFactory().pk])
    return [("lent-by-consent", "loan", loan.pk)]


LOAN_DAMAGES: list[tuple[str, Callable[[Any], list[Finding]]]] = [
    ("lent-adds-up", _less_stays),
    ("lent-adds-up", _lent_hold_lost),
    ("lent-by-consent", _nobody_agreed),
    ("lent-by-consent", _another_agreed),
]
